"""Hands: the shift's moves as a timeline."""
