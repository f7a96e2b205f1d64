"""Rules by subject; verdict runs them."""
