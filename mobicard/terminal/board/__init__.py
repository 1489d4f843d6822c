"""The Board: every bed at one look."""
