"""Every sentence and every rounded number that any report may print. Pure: nothing is opened, read or timed here."""
