"""The staff list: who may sign in, with which role, and what each role may append."""
