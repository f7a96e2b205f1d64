"""delivery: checks masters against delivery specs and packs releases."""

__version__ = "0.2.0"
