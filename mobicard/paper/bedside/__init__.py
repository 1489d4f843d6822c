"""The bedside card: all that the hands at the bed must know."""
