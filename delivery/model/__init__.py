"""The nouns that walk through the house. Frozen, typed, units in the names; they open nothing."""
