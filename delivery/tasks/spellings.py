"""Accepting spellings: what an artist means exactly so is remembered, and no advice is given about it again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from delivery.errors import Unusable
from delivery.intake import accept_titles, load_release
from delivery.model.release import Release


@dataclass(frozen=True, slots=True)
class Spellings:
    artist: str
    file: Path
    """The studio file."""
    fresh: tuple[str, ...]
    """What it had not yet."""


def accept_spellings(release_file: Path, texts: Sequence[str]) -> Spellings:
    """Remember *texts*, which stand on the release, as intended by its artist. No title is ever changed.

    Raises
    ------
    Unusable : a text that stands nowhere on the release, or a studio file into which nothing can be put
    Faulty, Unfinished : the release or studio file is not right, or cannot be written; nothing is changed
    """
    release = load_release(release_file)
    known = spellings(release)
    for text in texts:
        if text not in known:
            near = get_close_matches(text, known, n=1, cutoff=0.5)
            remedy = f"Did you mean {near[0]!r}?" if near else "Write it as the release file has it."
            raise Unusable(release_file.name, f"no title or name {text!r}", "one that stands on the release", remedy)
    file, fresh = accept_titles(release_file, release.artist, texts)
    return Spellings(release.artist, file, fresh)


def spellings(release: Release) -> tuple[str, ...]:
    """Every title, version and name on which advice could be given, once."""
    told = [release.title, release.version, release.artist]
    for track in release.tracks:
        told += [track.title, track.version, *release.named_on(track)]
    return tuple(dict.fromkeys(text for text in told if text))
