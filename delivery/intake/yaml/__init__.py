"""YAML read with line numbers and changed without touching any other byte."""
