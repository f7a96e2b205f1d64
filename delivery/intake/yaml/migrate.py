"""Rewrite a file of an earlier version in the names of this one."""

from __future__ import annotations

from pathlib import Path

from delivery.intake.text_files import write_text
from delivery.intake.yaml.renamed_keys import Rename, current
from delivery.intake.yaml.text import text_of
from delivery.regular import read_regular


def migrate_file(path: Path) -> tuple[Rename, ...]:
    """Replace outdated names in *path*, and return them; a file without any is not written.

    Raises
    ------
    Faulty : it cannot be opened or is not UTF-8 text
    Unfinished : it cannot be written; nothing is changed
    """
    renewed = current(text_of(path))
    if renewed.renames:
        mark = "\ufeff" if read_regular(path, 3).startswith(b"\xef\xbb\xbf") else ""
        write_text(path, mark + renewed.text)
    return renewed.renames
