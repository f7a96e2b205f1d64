"""The demo's music and album are what they claim to be."""
