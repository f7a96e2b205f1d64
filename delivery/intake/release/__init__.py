"""Release files: read, checked, edited."""
