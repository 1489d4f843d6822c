"""The derived card: a plan as lines and as a table of its moves, each of which opens its reasons."""
