"""Text and pictures to model: release files, spec files, studio profiles, artwork."""
