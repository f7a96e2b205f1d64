"""Comparisons before shipping: with earlier deliveries, and between file names and contents."""
