"""The view as one self-contained HTML file. ``sheet`` is the way in."""
