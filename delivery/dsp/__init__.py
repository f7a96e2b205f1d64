"""Pure numbers: arrays in, arrays out; compiled loops live here."""
