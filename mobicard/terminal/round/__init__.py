"""The Round: one bed after the other."""
