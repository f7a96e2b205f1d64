"""What happens at one moment: clicks, gaps, sibilance, silence, hum, joins."""
