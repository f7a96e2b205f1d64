"""Accept spellings: the artist intends them, so no advice is given about them again."""

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
    """Spellings written to the studio file."""

    artist: str
    file: Path
    """The studio file."""
    fresh: tuple[str, ...]
    """Spellings it did not have before."""


def accept_spellings(release_file: Path, texts: Sequence[str]) -> Spellings:
    """Record *texts* from the release as intended by the artist. Titles are never changed.

    Raises
    ------
    Unusable : a text that is not in the release, or a studio file that cannot be edited
    Faulty, Unfinished : the release or studio file has faults or cannot be written; nothing is changed
    """
    release = load_release(release_file)
    known = spellings(release)
    for text in texts:
        if text not in known:
            near = get_close_matches(text, known, n=1, cutoff=0.5)
            remedy = f"Did you mean {near[0]!r}?" if near else "Write it as the release file has it."
            raise Unusable(release_file.name, f"no title or name {text!r}", "a title or name of the release", remedy)
    file, fresh = accept_titles(release_file, release.artist, texts)
    return Spellings(release.artist, file, fresh)


def spellings(release: Release) -> tuple[str, ...]:
    """Every title, version and name on which advice may be given, once."""
    spellings = [release.title, release.version, release.artist]
    for track in release.tracks:
        spellings += [track.title, track.version, *release.named_on(track)]
    return tuple(dict.fromkeys(text for text in spellings if text))
