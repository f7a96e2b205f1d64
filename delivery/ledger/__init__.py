"""SQLite: the measurement cache and the ledger of deliveries."""
