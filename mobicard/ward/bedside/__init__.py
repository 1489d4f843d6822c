"""What is said at the bedside, and what is refused there: the same words for a screen and for a command."""
