"""Characters that no font of the PDF sheet has: it would print the sign for a missing character in their place."""

from __future__ import annotations

from collections.abc import Iterator

from delivery.model.release import Release

FIRST_LOOKED_UP = 0x250
"""The sheet's main font has every letter below this code point, so no font is opened for them."""


def unprintable_remarks(release: Release) -> Iterator[str]:
    """A sentence for the release, and for each track, with characters that the PDF sheet cannot print."""
    common = without_font("".join((release.title, release.version, release.artist)))
    if common:
        yield _sentence("The release", common)
    for track in release.tracks:
        found = without_font("".join((track.title, track.version, *release.named_on(track))))
        if own := "".join(character for character in found if character not in common):
            yield _sentence(f"Track {track.position}", own)


def without_font(text: str) -> str:
    """Characters of *text* that no installed font has, each once, in order of appearance."""
    rare = [character for character in dict.fromkeys(text) if ord(character) >= FIRST_LOOKED_UP]
    if not rare:
        return ""
    from delivery.report.font_files import INVISIBLE, covered, font_files  # only here: it loads a library

    files = font_files("")
    missing = (character for character in rare if not any(ord(character) in covered(file) for file in files))
    return "".join(character for character in missing if not INVISIBLE.fullmatch(character))


def _sentence(place: str, characters: str) -> str:
    return (
        f"{place}: the PDF sheet has no font for {' '.join(characters)} and prints \ufffd instead; files and tags have "
        "it. More fonts: pip install 'delivery[cjk]'."
    )
