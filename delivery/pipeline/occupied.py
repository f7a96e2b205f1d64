"""Refuse a target that something else occupies: before the work begins, and when the masters are known."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from delivery.absolute import absolute
from delivery.errors import Occupied, Unusable
from delivery.ledger.same_release import ReleaseIdentity, are_related
from delivery.ledger.same_release import identity_of as identity_of_delivery
from delivery.model.release import Release
from delivery.pack import layout
from delivery.pipeline.deliveries import identity_of
from delivery.pipeline.past_package import is_package, read_package


def refuse_occupied(target: Path, release: Release, heard: Mapping[int, str], *, replace: bool) -> None:
    """Refuse an occupied target before the work begins.

    Parameters
    ----------
    heard : audio hashes of the masters of *release*, by position, as far as they are known

    Raises
    ------
    Occupied : the package is there, or an archive of an earlier one, and *replace* is False; or a package of another
        release, which is never replaced
    """
    other = _other_release(target, identity_of(release, heard))
    if other and replace:
        remedy = "Choose another folder, or give one of them a catalogue number."
        raise Occupied(str(target), f"the package of another release, {other}", "a name of its own", remedy)
    if other:
        remedy = (
            "If that is another release, choose another folder, or give one of them a catalogue number; else raise the "
            "revision in the release file, or use --replace if nobody has that one yet."
        )
        raise Occupied(str(target), f"the package of {other}", "a path that does not exist yet", remedy)
    for path in (target, archive_of(target)):
        if path.exists() and not replace:
            remedy = "Raise the revision in the release file, or use --replace if nobody has that one yet."
            raise Occupied(str(path), "an existing file or folder", "a path that does not exist yet", remedy)


def refuse_inside_package(into: Path) -> None:
    """Refuse to write inside a package: files that its lists do not name would make it invalid.

    Raises
    ------
    Occupied : *into* is a package or lies in one
    """
    for folder in (absolute(into), *absolute(into).parents):
        if is_package(folder):
            remedy = "Choose a folder outside it with --into."
            raise Occupied(str(into), f"the package {folder.name}", "a folder outside of packages", remedy)


def _other_release(target: Path, release: ReleaseIdentity) -> str:
    """Artist and title of the package at *target*, if it only happens to have the name of *release*; else ''."""
    try:
        there = read_package(target)
    except Unusable:
        return ""
    return "" if are_related(release, identity_of_delivery(there)) else f"{there.artist}: {there.title}"


def archive_of(target: Path) -> Path:
    """Path of the zip of the package *target*."""
    return target.with_name(layout.archive_name(target.name))
