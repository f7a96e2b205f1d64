"""One row for each field; one file for each dialect."""
