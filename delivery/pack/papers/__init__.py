"""One module for each paper of a package."""
