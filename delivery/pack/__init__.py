"""Names, layout, checksums, bag, archive, the swap into place, and verify."""
