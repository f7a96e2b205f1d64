"""Pure numerical code: arrays in, arrays out; compiled loops live here."""
