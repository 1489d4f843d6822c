"""After a fall: one question at a time."""
