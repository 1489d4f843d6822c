"""The database under the ledger: tables, migrations, queries, engines, faults as sentences."""
