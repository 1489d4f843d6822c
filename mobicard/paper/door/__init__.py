"""The door card and the clerk's slip for the walk."""
