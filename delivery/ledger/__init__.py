"""SQLite: one file with the measurements and with what was delivered. `deliveries.py` and `cache.py` are its faces."""
