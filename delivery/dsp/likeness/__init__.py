"""Whether two files hold the same recording, as a whole or in part."""
