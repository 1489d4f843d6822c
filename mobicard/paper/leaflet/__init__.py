"""Pages about the program itself: its label, and the keys to hang beside a station."""
