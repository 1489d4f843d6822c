"""Commands about the program itself: its label, its keys, its shell, its check."""
