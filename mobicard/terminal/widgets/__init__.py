"""terminal/widgets."""
