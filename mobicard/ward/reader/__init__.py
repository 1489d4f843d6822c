"""The reader's use cases: the handoff, goals, the audit, open formats."""
