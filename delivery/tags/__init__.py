"""One table of fields, and one module for each tag format: id3, vorbis, mp4, riff."""
