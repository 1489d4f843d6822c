"""This station: who is here, its clock, the facility's files, drafts, what waits while the ledger is away."""
