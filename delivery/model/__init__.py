"""The data types of the program. Frozen, typed, units in the names; nothing is opened here."""
