"""One table of fields, and one file for each way of writing them down: id3, vorbis, mp4, riff."""
