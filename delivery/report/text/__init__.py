"""The view for terminals and mail: plain text."""
