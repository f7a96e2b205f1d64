"""Migrate users' files to the key names of this version."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from delivery.intake import migrate_file
from delivery.intake.yaml.renamed_keys import Rename
from delivery.intake.yaml.text import text_of


def migrate(files: Sequence[Path]) -> dict[Path, tuple[Rename, ...]]:
    """Rewrite each file and return the renamed keys; nothing is written if one of them cannot be read.

    Raises
    ------
    Unusable, Faulty : a file cannot be read or is not YAML
    """
    for path in files:
        text_of(path)
    return {path: tuple(migrate_file(path)) for path in files}
