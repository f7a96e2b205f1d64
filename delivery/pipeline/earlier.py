"""Earlier deliveries of a release: packages in a folder, read back from the data beside their sheets."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from delivery.errors import Unusable
from delivery.model.part import Delivery
from delivery.model.release import Release
from delivery.pack import layout
from delivery.pack.manifest import read_info
from delivery.regular import read_regular

if TYPE_CHECKING:
    from delivery.model.changes import Changes

MOST_BYTES = 256 * 2**20
"""As `verify` reads it."""
INFO_BYTES = 64 * 2**10
UNREADABLE = (KeyError, TypeError, ValueError, AttributeError, IndexError, RecursionError)
"""Errors that foreign data may raise when it is used."""


@dataclass(frozen=True, slots=True)
class Earlier:
    """An earlier delivery of the release."""

    revision: int
    document: Mapping[str, Any]
    """The data document of its package."""
    package: Path | None
    """Folder of the package; None: it is not there any more."""


def in_folder(folder: Path, release: Release) -> tuple[Earlier, ...]:
    """Packages of *release* in *folder*, lowest revision first; what cannot be read is left out."""
    found = (read_package(package) for package in _packages(folder, release))
    return tuple(sorted((each for each in found if each), key=lambda each: each.revision))


def read_package(package: Path) -> Earlier | None:
    """The package as an earlier delivery, or None if its data cannot be read."""
    from delivery.report.data.document import FORM  # with most of the report: only where there is an earlier delivery

    try:
        parsed = json.loads(read_regular(layout.on_disk(package, layout.DATA_JSON), MOST_BYTES))
        if parsed["form"] != FORM or not parsed["built"]:
            return None
        return Earlier(int(parsed["release"]["revision"]), parsed, package)
    except (OSError, *UNREADABLE):
        return None


def package_data(package: Path) -> Earlier:
    """The same, where it has to be one.

    Raises
    ------
    Unusable : no package, or data that cannot be read
    """
    found = read_package(package)
    if found is None:
        wanted = "a package of this program, with its data document"
        raise Unusable(str(package), "no package, or one whose data cannot be read", wanted, "Check the path.")
    return found


def compared(delivery: Delivery, known: Sequence[Earlier], *, below: bool) -> Changes | None:
    """Changes in *delivery* since the last one of a lower revision or, unless *below*, of the same revision.

    None if there is no such delivery.
    """
    revision = delivery.release.revision
    before = [each for each in known if each.revision < revision + (not below)]
    if not before:
        return None
    last = max(before, key=lambda each: each.revision)
    return against(delivery, last)


def against(delivery: Delivery, earlier: Earlier) -> Changes | None:
    """Changes in *delivery* since *earlier*; None if its data cannot be used."""
    from delivery.compare.changes import changes
    from delivery.report.data.document import document

    try:
        return changes(earlier.document, document(delivery))
    except UNREADABLE:
        return None


def is_whole(package: Path) -> bool:
    """True if every file of the payload is there with its size; no content is read but the bag's own texts."""
    try:
        info = dict(read_info(read_regular(layout.on_disk(package, layout.INFO), INFO_BYTES).decode("utf-8")))
        files = [path for path in (package / layout.PAYLOAD).rglob("*") if path.is_file()]
        there = sum(path.stat().st_size for path in files), len(files)
        return info.get("Payload-Oxum") == f"{there[0]}.{there[1]}"
    except (OSError, ValueError):
        return False


def _packages(folder: Path, release: Release) -> Iterator[Path]:
    """A folder that cannot be listed holds none: a build that needs it states why it cannot be used."""
    try:
        entries = sorted(folder.iterdir())
    except OSError:
        return
    for entry in entries:
        if not entry.name.startswith(".") and _is_of(entry, release):
            yield entry


def _is_of(package: Path, release: Release) -> bool:
    """True if the bag names the release: by its catalogue number, else by artist, title and version."""
    try:
        info = dict(read_info(read_regular(layout.on_disk(package, layout.INFO), INFO_BYTES).decode("utf-8")))
    except (OSError, ValueError):
        return False
    described = _one_line(info.get("External-Description", ""))
    version = f" ({release.version})" if release.version else ""
    named, _, _ = described.rpartition(", revision ")
    if release.catalogue_number:
        same_version = named.endswith(_one_line(version)) if version else True
        return info.get("External-Identifier") == _one_line(release.catalogue_number) and same_version
    return named == _one_line(f"{release.artist}: {release.title}{version}")


def _one_line(text: str) -> str:
    """As `info_text` writes a value."""
    return " ".join(text.split())
