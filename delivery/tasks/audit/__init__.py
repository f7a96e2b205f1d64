"""Audit a catalogue: every file measured, judged as it is, and looked for among all others. Modules in the order used.

tree         which files, and which release file names each
take         measure a file, or take what the ledger has of it
rows         judge it: a row of the tables
recordings   duplicates, by an index of landmarks on disk
codes        one ISRC on two recordings, two on one
tally        counts as rows come
tables       CSV and Parquet
run          all of it, into one folder
"""
