"""A first release file from masters: file names, tags, sides."""
