"""The view for programs and spreadsheets: JSON and CSV, unrounded."""
