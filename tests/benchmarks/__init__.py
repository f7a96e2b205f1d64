"""Ratios against outside programs, in the same run on the same core. Scripts, not tests."""
