"""The program as people install it: a wheel in an environment of its own."""
