"""Brief: how one move is done now, and how it went, by one key each."""
