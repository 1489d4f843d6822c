"""Who is at the station: lock, leaving, saves held, what still runs, the terminal in a browser."""
