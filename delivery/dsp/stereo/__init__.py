"""Two channels compared: correlation, mid and side, mono fold-down."""
