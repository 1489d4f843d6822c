"""One file a command; each imported only when it runs."""
