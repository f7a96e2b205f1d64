"""Spec files: found by name or path, merged with their parents, checked."""
