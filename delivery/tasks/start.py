"""The first step of a release: a release file from masters alone, or from masters and the client's label copy."""

from __future__ import annotations

import dataclasses
import shutil
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from delivery.errors import Occupied, Unfinished
from delivery.intake import load_release, load_specs, load_studio, write_text
from delivery.intake.begin.first_file import first_release
from delivery.intake.sheet import mapping, previous_import
from delivery.intake.sheet.importing import import_sheet
from delivery.intake.sheet.parsed import Ask
from delivery.model.release import Release
from delivery.pipeline.request import RELEASE_FILE


@dataclass(frozen=True, slots=True)
class Started:
    release: Release | None
    """None when nothing was written: there was a release file, and nobody said to replace it."""
    path: Path
    remarks: tuple[str, ...] = ()
    changes: tuple[str, ...] | None = None
    """What a sheet brings into the release file that was there; None when there was none."""
    kept: tuple[str, ...] = ()
    """What stays as that file has it, although the sheet says otherwise."""
    moved: Path | None = None
    """Where the release file that was there before is kept."""


Agree = Callable[[Started], bool]
"""What would be written -> whether a person agrees."""


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
        raise _taken(target, "Use --replace to write it anew; the old one is kept under another name.")
    _known(folder, specs)
    text, remarks = first_release(folder, specs)
    kept = _kept(target) if target.exists() else None
    write_text(target, text)
    return Started(load_release(target), target, remarks, moved=kept)


def _kept(target: Path) -> Path:
    """A copy of a release file that is about to be written anew, under a name that does not exist yet."""
    endings = ("old", *(f"old-{count}" for count in range(2, 1000)))
    kept = next(name for ending in endings if not (name := target.with_suffix(f".{ending}{target.suffix}")).exists())
    try:
        shutil.copy2(target, kept)
    except OSError as error:
        found = f"no way to write it ({error.strerror or type(error).__name__})"
        raise Unfinished(str(kept), found, "a copy of the old release file", "Nothing was changed.") from error
    return kept


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
    prefer: str = "",
    agree: Agree | None = None,
) -> Started:
    """Write the release file that *sheet* and the masters in *folder* make together, or merge the sheet into it.

    Where there is one already, what the client changed since the last import goes in, what was changed in the file
    stays, and what both changed is asked or refused. Nothing is written before *replace* or *agree* says so.

    Parameters
    ----------
    prefer : 'sheet' or 'file' decides all conflicts
    agree : how to ask a person whether what was shown may be written; None: nobody is there

    Raises
    ------
    Unusable, Faulty : the sheet or the folder cannot be used, or conflicts are not decided; nothing is written
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
        prefer=prefer,
    )
    remarks = list(imported.remarks)
    if columns and (remembered := mapping.remember(mapping.told_headers(columns))):
        remarks.append(f"The headers told are remembered in {remembered}.")
    shown = Started(None, target, tuple(remarks), imported.changes, imported.kept)
    if imported.changes and not (replace or (agree is not None and agree(shown))):
        return shown
    if imported.changes != ():
        write_text(target, imported.text)
    try:
        previous_import.remember(folder, imported.said)
    except Unfinished as fault:
        remedy = f"{target.name} is complete; import the sheet again once this is mended."
        raise Unfinished(fault.place, fault.found, fault.wanted, remedy) from fault
    return dataclasses.replace(shown, release=load_release(target))


def _known(folder: Path, specs: Sequence[str]) -> None:
    """Every spec that was chosen can be read.

    Raises
    ------
    Unusable, Faulty : one of them cannot
    """
    folders = (folder, *load_studio(folder).spec_folders) if specs else ()
    load_specs(specs, folders)


def _taken(target: Path, remedy: str) -> Occupied:
    return Occupied(str(target), "a release file there already", "a path that does not exist yet", remedy)
