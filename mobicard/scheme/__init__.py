"""scheme."""
