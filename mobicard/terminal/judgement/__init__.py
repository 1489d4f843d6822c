"""Own judgement: another level for a bed, by name and with a reason."""
