"""The lines of a brief as they are written: one file a part, each line a rule with its source."""
