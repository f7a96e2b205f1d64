"""Sections and tempo stated in a release file for a song that is compared."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from delivery.absolute import absolute
from delivery.errors import DeliveryError, Unusable
from delivery.pipeline.sound_files import RELEASE_FILE, bare_release, sound_files

if TYPE_CHECKING:
    from delivery.model.release import Release
    from delivery.model.sections import SectionStart
    from delivery.model.track import Track


@dataclass(frozen=True, slots=True)
class Stated:
    """The release and track of a song that is compared."""

    release: Release
    track: Track


def songs_of(paths: Iterable[Path]) -> Release:
    """The tracks of one release file, or sound files as tracks, each with what a release file beside it states.

    Raises
    ------
    Faulty, Unusable : a release file that is named has faults, or there is no sound file
    """
    from delivery.pipeline.request import release_file_of

    paths = tuple(paths)
    if len(paths) == 1 and (release_file := release_file_of(paths[0])):
        return _loaded(release_file)
    files = tuple(file for path in paths for file in sound_files(path))
    bare = bare_release(files)
    title = bare.title if len({file.resolve().parent for file in files}) == 1 else f"{len(files)} songs"
    return replace(bare, title=title, tracks=tuple(_with_stated(track) for track in bare.tracks))


def _loaded(release_file: Path) -> Release:
    from delivery.intake import load_release  # loads the readers of YAML, which songs without a release file need not

    return load_release(release_file)


def _with_stated(track: Track) -> Track:
    stated = stated_of(track.file)
    return replace(track, sections=stated.track.sections, bpm=stated.track.bpm) if stated else track


def stated_of(file: Path) -> Stated | None:
    """The track of a `release.yaml` in the file's folder, or in the one above, whose master it is.

    A release file with faults is ignored here: `delivery check` reports them.
    """
    here = absolute(file)
    for folder in (here.parent, here.parent.parent):
        if not (folder / RELEASE_FILE).is_file():
            continue
        try:
            release = _loaded(folder / RELEASE_FILE)
        except DeliveryError:
            continue
        track = next((track for track in release.tracks if absolute(track.file) == here), None)
        if track:
            return Stated(release, track)
    return None


def sections_of(stated: Stated | None, length_s: float) -> tuple[SectionStart, ...]:
    """The stated sections; empty where there are none.

    Raises
    ------
    Unusable : one begins behind the end of the file
    """
    if stated is None:
        return ()
    for number, section in enumerate(stated.track.sections):
        if section.from_s >= length_s:
            place = stated.release.place(f"tracks/{stated.track.position - 1}/sections/{number}/from")
            found = f"section {section.name!r} from {section.from_s:g} s, after the end of {stated.track.file.name}"
            raise Unusable(place, found, f"a place before {length_s:.1f} s", "Correct the time.")
    return stated.track.sections
