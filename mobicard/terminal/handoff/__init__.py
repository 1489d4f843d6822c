"""The handoff for the reader."""
