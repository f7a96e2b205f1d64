"""A package that came back: every checksum, every audio hash, every figure against the data beside the sheet."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from delivery.errors import DeliveryError, Unusable
from delivery.job.sources import Progress, quiet, side_by_side
from delivery.measure import figures, measure
from delivery.model.figure import Figure
from delivery.pack import layout
from delivery.pack.foreign_lists import check_lists, has_list, refuse_without_list
from delivery.pack.verify import Difference, Kind, check_bag
from delivery.regular import read_regular

MOST_BYTES = 256 * 2**20
"""Of the data beside the sheet; a release of 14 songs to five specs has two million."""


@dataclass(frozen=True, slots=True)
class Checked:
    package: Path
    files: int
    """How many delivered sound files were measured again."""
    differences: tuple[Difference, ...]
    lists: tuple[str, ...] = ()
    """Somebody else's folder: the checksum lists it was checked against; no sound was measured."""
    listed: int = 0
    """How many files those lists name."""

    @property
    def whole(self) -> bool:
        """True when nothing differs but what an operating system leaves behind in folders."""
        return all(difference.harmless for difference in self.differences)

    def rows(self) -> list[tuple[str, str, str, str]]:
        """Path, what, expected, found: one for each difference."""
        return [(each.path, str(each.kind), each.expected, each.found) for each in self.differences]

    def as_document(self) -> dict[str, Any]:
        """For ``--json``."""
        return {
            "package": self.package.name,
            "files_measured": self.files,
            "checksum_lists": list(self.lists),
            "files_listed": self.listed,
            "whole": self.whole,
            "differences": [dict(zip(("path", "what", "expected", "found"), row, strict=True)) for row in self.rows()],
        }


def recheck(package: Path, *, workers: int = 2, progress: Progress = quiet) -> Checked:
    """Check a package folder at either end of its journey; always measures anew.

    A folder that is no package but holds a checksum list, such as a plant's image, is checked against that list.

    Raises
    ------
    Unusable : it is no package folder
    """
    if package.is_file() and package.suffix.lower() == layout.ARCHIVE_EXTENSION:
        raise Unusable(package.name, "a zip file", "the package folder", "Unpack it, then verify the folder.")
    package = package.absolute()
    refuse_without_list(package)
    if has_list(package):
        listed = check_lists(package)
        return Checked(package, 0, listed.differences, listed.lists, listed.files)
    promised, unread = _promised(package)
    differences = [*check_bag(package), *unread]
    present = [each for each in promised if layout.on_disk(package, each["path"]).is_file()]
    for found in side_by_side(lambda each: _compare(package, each), present, workers, "measuring again", progress):
        differences += found
    ordered = sorted(differences, key=lambda each: (each.path, each.kind, each.expected, each.found))
    return Checked(package, len(present), tuple(ordered))


def _promised(package: Path) -> tuple[list[Mapping[str, Any]], list[Difference]]:
    """What the data beside the sheet says of every delivered file; damaged data is a difference like any other."""
    file = layout.on_disk(package, layout.DATA_JSON)
    try:
        document = json.loads(read_regular(file, MOST_BYTES))
        made = [*document["parts"], *document["images"]]
        promised = [each["shipped"] for each in made if each["shipped"]]
        known = [each for each in promised if each["figures"].keys() and not layout.escapes(each["path"])]
    except FileNotFoundError:
        return [], []  # the bag check names it as missing
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        found = "data that cannot be read, so no figure could be compared"
        return [], [Difference(layout.DATA_JSON, Kind.UNREADABLE, "the data as built", found)]
    return known, []


def _compare(package: Path, promised: Mapping[str, Any]) -> list[Difference]:
    path = promised["path"]
    try:
        measured = measure(layout.on_disk(package, path))
    except DeliveryError as error:
        return [Difference(path, Kind.UNREADABLE, "sound that can be read to its end", str(error))]
    known = figures()
    readings = {name: measured.value(name) for name in known}
    return list(_differing(path, promised["figures"], readings, known))


def _differing(
    path: str, promised: Mapping[str, Any], found: Mapping[str, Any], known: Mapping[str, Figure]
) -> Iterator[Difference]:
    if promised.get("audio_hash") != found.get("audio_hash"):
        yield Difference(path, Kind.SOUND, f"audio hash {promised.get('audio_hash')}", f"{found.get('audio_hash')}")
    for name, value in promised.items():
        if name == "audio_hash" or name not in known or isinstance(value, list):
            continue
        if not _agrees(value, found[name], known[name].digits):
            yield Difference(path, Kind.FIGURE, f"{name} {value}", f"{found[name]}")


def _agrees(promised: Any, found: Any, digits: int | None) -> bool:
    """Equal as far as the sheet prints: other processors may differ in the last bits of a sum."""
    if isinstance(promised, float) and isinstance(found, float):
        return abs(promised - found) <= 10.0 ** -(3 if digits is None else digits)
    return bool(promised == found)
