"""Sound to figures: one pass over blocks feeds every meter; one file for each meter."""
