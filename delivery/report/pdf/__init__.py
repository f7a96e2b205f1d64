"""The view as a PDF sheet. ``sheet`` is the way in."""
