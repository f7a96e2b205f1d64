"""Start a release: a release file from masters alone, or from masters and the client's label copy."""

from __future__ import annotations

import dataclasses
import shutil
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from delivery.errors import Occupied, Unfinished
from delivery.intake import load_release, load_specs, load_studio, named_from, write_text
from delivery.intake.begin.first_file import first_release
from delivery.intake.release.file import release_of
from delivery.intake.resolve_paths import named_beside
from delivery.intake.sheet import mapping, previous_import
from delivery.intake.sheet.importing import import_sheet
from delivery.intake.sheet.parsed import Ask
from delivery.intake.yaml.text import document_of
from delivery.model.release import Release
from delivery.pipeline.request import RELEASE_FILE


@dataclass(frozen=True, slots=True)
class Started:
    """Result of starting a release."""

    release: Release | None
    """None if nothing was written: a release file exists and replacing it was not agreed."""
    path: Path
    remarks: tuple[str, ...] = ()
    changes: tuple[str, ...] | None = None
    """Changes that the sheet makes to the existing release file; None if there was none."""
    kept: tuple[str, ...] = ()
    """Values kept from that file although the sheet differs."""
    moved: Path | None = None
    """Where the previous release file is kept."""


Agree = Callable[[Started], bool]
"""Asks a person to agree: the proposed text -> True or False."""


def start_bare(
    folder: Path,
    *,
    replace: bool,
    specs: Sequence[str] = (),
    stated: Mapping[str, str] = MappingProxyType({}),
) -> Started:
    """Write a first release file from the names and tags of the masters.

    Parameters
    ----------
    specs : specs to deliver to; if empty, those of the studio file
    stated : keys of the release file, such as its artist, instead of tags and names; artwork is a path as typed here

    Raises
    ------
    Occupied : the file exists and *replace* is False
    Faulty : a stated value has faults; nothing is written
    """
    target = folder / RELEASE_FILE
    if target.exists() and not replace:
        raise _taken(target, "Use --replace to write it again; the old one is kept under another name.")
    specs = _known(folder, specs)
    text, remarks = first_release(folder, specs, _stated_beside(folder, stated))
    release_of(document_of(text, target.name), target)  # a wrong code is refused before anything is written
    kept = _kept(target) if target.exists() else None
    write_text(target, text)
    return Started(load_release(target), target, remarks, moved=kept)


def _kept(target: Path) -> Path:
    """Copy a release file that is about to be rewritten to a path that does not exist yet."""
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
    stated: Mapping[str, str] = MappingProxyType({}),
    prefer: str = "",
    agree: Agree | None = None,
) -> Started:
    """Write a release file from *sheet* and the masters in *folder*, or merge the sheet into the existing one.

    In a merge, cells that the client changed since the last import are taken over, values changed in the file are kept,
    and a value changed in both is a conflict to decide. Nothing is written before *replace* or *agree* permits it.

    Parameters
    ----------
    stated : keys of a first release file that the sheet lacks; artwork is a path as typed here
    prefer : 'sheet' or 'file' decides all conflicts
    agree : asks a person whether the proposed text may be written; None: no questions are possible

    Raises
    ------
    Unusable, Faulty : the sheet or the folder cannot be used, or conflicts are not decided; nothing is written
    """
    target = folder / RELEASE_FILE
    there = target.exists()
    specs = _known(folder, specs)
    imported = import_sheet(
        folder,
        sheet,
        worksheet=worksheet,
        columns=columns,
        leave_out=leave_out,
        ask=ask,
        old=target if there else None,
        specs=specs,
        stated=_stated_beside(folder, stated),
        prefer=prefer,
    )
    remarks = list(imported.remarks)
    if columns and (remembered := mapping.remember(mapping.stated_headers(columns))):
        remarks.append(f"Column names saved to {remembered}.")
    shown = Started(None, target, tuple(remarks), imported.changes, imported.kept)
    if imported.changes and not (replace or (agree is not None and agree(shown))):
        return shown
    if imported.changes != ():
        write_text(target, imported.text)
    try:
        previous_import.remember(folder, imported.stated_keys)
    except Unfinished as fault:
        remedy = f"{target.name} is complete; then import the sheet again."
        raise Unfinished(fault.place, fault.found, fault.wanted, remedy) from fault
    return dataclasses.replace(shown, release=load_release(target))


def _stated_beside(folder: Path, stated: Mapping[str, str]) -> dict[str, str]:
    """*stated*, with its artwork as a release file in *folder* names it."""
    return {key: named_beside(folder, Path(text)) if key == "artwork" else text for key, text in stated.items()}


def _known(folder: Path, specs: Sequence[str]) -> tuple[str, ...]:
    """The chosen specs as a release file in *folder* names them; each can be read.

    Raises
    ------
    Unusable, Faulty : one cannot
    """
    folders = (folder, *load_studio(folder).spec_folders) if specs else ()
    load_specs(specs, folders)
    return tuple(named_from(folder, name, folders[1:]) for name in specs)


def _taken(target: Path, remedy: str) -> Occupied:
    return Occupied(str(target), "an existing release file", "a path that does not exist yet", remedy)
