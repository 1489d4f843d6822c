"""Over time: until when a look holds, what changed since, and what the next shift must know."""
