"""The handoff summary: changes first, then what is due, then each bed."""
