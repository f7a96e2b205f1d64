"""Whether two files hold the same recording, whole or in part."""
