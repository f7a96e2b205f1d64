"""The first step of a release: a release file from masters alone, or from masters and the client's label copy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from delivery.errors import Occupied
from delivery.intake import load_release, load_specs, load_studio, write_text
from delivery.intake.sheet import last, mapping
from delivery.intake.sheet.importing import import_sheet
from delivery.intake.sheet.refused import Ask
from delivery.intake.start import first_release
from delivery.job.intent import RELEASE_FILE
from delivery.model.release import Release


@dataclass(frozen=True, slots=True)
class Started:
    release: Release | None
    """None when nothing was written: there was a release file, and nobody said to replace it."""
    path: Path
    remarks: tuple[str, ...] = ()
    changes: tuple[str, ...] | None = None
    """Since the last import of label copy; None when there was none."""


def start_bare(folder: Path, *, replace: bool, specs: Sequence[str] = ()) -> Started:
    """Write a first release file from what names and tags of the masters say.

    Parameters
    ----------
    specs : to deliver to; without any, those of the studio file

    Raises
    ------
    Occupied : there is one, and *replace* is False
    """
    target = folder / RELEASE_FILE
    if target.exists() and not replace:
        raise _taken(target, "Use --replace to write it anew.")
    _known(folder, specs)
    text, remarks = first_release(folder, specs)
    write_text(target, text)
    return Started(load_release(target), target, remarks)


def start_from_sheet(
    folder: Path,
    sheet: Path,
    *,
    worksheet: str = "",
    columns: Sequence[str] = (),
    leave_out: bool = False,
    replace: bool = False,
    ask: Ask | None = None,
    specs: Sequence[str] = (),
) -> Started:
    """Write the release file that *sheet* and the masters in *folder* make together.

    Where there is one already, what changed since the last import is told, and only *replace* writes: the sheet counts
    where it speaks, and everything else is kept.

    Raises
    ------
    Unusable, Faulty : the sheet or the folder cannot be used; nothing is written
    """
    target = folder / RELEASE_FILE
    there = target.exists()
    _known(folder, specs)
    imported = import_sheet(
        folder,
        sheet,
        worksheet=worksheet,
        columns=columns,
        leave_out=leave_out,
        ask=ask,
        old=target if there else None,
        specs=specs,
    )
    remarks = list(imported.remarks)
    if columns and (remembered := mapping.remember(mapping.told_headers(columns))):
        remarks.append(f"The headers told are remembered in {remembered}.")
    if there and not replace:
        return Started(None, target, tuple(remarks), imported.changes)
    if there:
        remarks.append("Comments of the old release file are not carried over.")
    write_text(target, imported.text)
    release = load_release(target)
    last.remember(folder, imported.said)
    return Started(release, target, tuple(remarks), imported.changes)


def _known(folder: Path, specs: Sequence[str]) -> None:
    """Every spec that was chosen can be read.

    Raises
    ------
    Unusable, Faulty : one of them cannot
    """
    folders = (folder, *load_studio(folder).spec_folders) if specs else ()
    load_specs(specs, folders)


def _taken(target: Path, remedy: str) -> Occupied:
    return Occupied(str(target), "a release file there already", "a free place", remedy)
