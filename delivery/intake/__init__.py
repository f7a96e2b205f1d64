"""Text becomes nouns: release files, spec files, studio files, artwork. Errors carry file and line."""
