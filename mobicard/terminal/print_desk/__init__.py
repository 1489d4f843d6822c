"""The print desk: the doors that no longer match, printed and hung."""
