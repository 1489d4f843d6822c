"""hands."""
