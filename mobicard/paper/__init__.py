"""paper."""
