"""Keeping the ledger: verify, back up, restore, export, import, end of retention."""
