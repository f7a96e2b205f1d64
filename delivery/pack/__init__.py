"""Names, layout, checksums, bag, archive, atomic replacement, and verification."""
