"""Widgets: they show and ask; the screens hold the state."""
