"""Rewriting the users' own files in the names of this version."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from delivery.intake import migrate_file
from delivery.intake.yaml.renamed_keys import Rename
from delivery.intake.yaml.text import text_of


def migrate(files: Sequence[Path]) -> dict[Path, tuple[Rename, ...]]:
    """Rewrite each file, and return what was renamed in it; nothing is written if one of them cannot be read.

    Raises
    ------
    Unusable, Faulty : a file cannot be read, or is no YAML
    """
    for path in files:
        text_of(path)
    return {path: tuple(migrate_file(path)) for path in files}
