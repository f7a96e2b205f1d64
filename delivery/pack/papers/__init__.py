"""One file for each paper that goes along in a package."""
