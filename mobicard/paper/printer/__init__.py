"""The print queue: hand a PDF over and wait, so long only, for what became of it."""
