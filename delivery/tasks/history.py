"""Look into the ledger: what was delivered, by code, title, client, number or file; and rebuild it from packages."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from delivery.errors import Unusable
from delivery.ledger.deliveries import DeliveryLedger
from delivery.ledger.file_state import file_sha256
from delivery.ledger.past import PastDelivery
from delivery.model.codes import CODES
from delivery.pack import layout
from delivery.pipeline.past_package import is_package, read_package
from delivery.report.view.history import FoundBy, History

LAST = 100
"""Deliveries that are read in full unless all are wanted: a common word may occur in thousands."""


def history(query: str, ledger: DeliveryLedger, *, everything: bool = False) -> History:
    """Deliveries that *query* names: a path of a file or package, an ISRC, or words; empty: the last ones.

    Raises
    ------
    Unusable, Unreadable : a file that does not exist, or cannot be read
    """
    path = Path(query)
    if query and path.is_dir() and is_package(path):
        found = ledger.by_fingerprint(read_package(path).fingerprint)
        return _history(path.name, FoundBy.PACKAGE, (found,) if found else ())
    if query and path.is_file():
        return _of_file(path, ledger)
    if _is_named_as_sound(path):
        raise Unusable(query, "no such file", "a sound file, or words of a title or name", "Check the path.")
    if not CODES["isrc"].malformed(query):
        of_code = ledger.with_isrc(CODES["isrc"].stored(query))
        if of_code:
            return _history(query, FoundBy.ISRC, of_code)
    numbers = ledger.named(query)
    shown = ledger.of_numbers(numbers if everything else numbers[:LAST])
    return History(query, FoundBy.TEXT, shown, len(numbers))


def _is_named_as_sound(path: Path) -> bool:
    if not path.suffix:
        return False
    from delivery.intake.begin.masters import LOSSLESS, LOSSY

    return path.suffix.lower() in LOSSLESS | LOSSY


def _of_file(path: Path, ledger: DeliveryLedger) -> History:
    """By its bytes; if they were never delivered, by its sound: as a file, then as a master."""
    from delivery.meters import identify

    sha256 = file_sha256(path)
    found = ledger.with_bytes(sha256)
    if found:
        matched = {each.id: tuple(file.path for file in each.files if file.sha256 == sha256) for each in found}
        return _history(path.name, FoundBy.BYTES, found, matched)
    sound = str(identify(path).value("audio_hash") or "")
    found = ledger.with_sound(sound)
    matched = {each.id: tuple(file.path for file in each.files if file.audio_hash == sound) for each in found}
    as_file = tuple(each for each in found if matched[each.id])
    return _history(path.name, FoundBy.SOUND if as_file else FoundBy.MASTER, as_file or found, matched)


def _history(
    query: str, found_by: FoundBy, found: tuple[PastDelivery, ...], matched: dict[int, tuple[str, ...]] | None = None
) -> History:
    return History(query, found_by, found, len(found), matched or {})


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """What a rebuild read."""

    new: int
    known: int
    """Packages that the ledger held already; they are refreshed."""
    faults: tuple[str, ...]
    """Packages that could not be read, in sentences."""


def rebuild(
    folders: Iterable[Path], ledger: DeliveryLedger, progress: Callable[[str, int, int], None] | None = None
) -> Rebuilt:
    """Read every package below *folders* into the ledger, in order of date and revision. Nothing in them changes.

    Raises
    ------
    Unusable : a folder does not exist
    """
    read, faults = [], []
    for package in _packages(folders):
        try:
            read.append(read_package(package))
        except Unusable as fault:
            faults.append(str(fault))
    known = 0
    for done, each in enumerate(sorted(read, key=lambda each: (each.dated, each.revision, each.path)), start=1):
        known += ledger.by_fingerprint(each.fingerprint) is not None
        if not ledger.record(each, built=False):
            return Rebuilt(0, 0, tuple(faults))
        if progress:
            progress("reading packages back", done, len(read))
    return Rebuilt(len(read) - known, known, tuple(faults))


def _is_damaged_package(folder: Path) -> bool:
    """True for a bag with a paper of a package, which lacks what `is_package` asks for: that is reported."""
    papers = (layout.DATA_JSON, layout.SHEET_HTML, layout.SHEET_PDF)
    return (folder / layout.DECLARATION).is_file() and any(layout.on_disk(folder, path).is_file() for path in papers)


def _packages(folders: Iterable[Path]) -> Iterator[Path]:
    """Package folders in or below *folders*, each once."""
    seen: set[Path] = set()
    for folder in folders:
        if not folder.is_dir():
            raise Unusable(str(folder), "no such folder", "a folder with packages", "Check the path.")
        for place, inner, _files in os.walk(folder):
            inner.sort()
            here = Path(place)
            if is_package(here) or _is_damaged_package(here):
                inner.clear()
                if here.resolve() not in seen:
                    seen.add(here.resolve())
                    yield here
