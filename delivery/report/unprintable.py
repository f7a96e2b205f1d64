"""Characters that no font of the PDF sheet has: it would print the sign for a missing character in their place."""

from __future__ import annotations

from collections.abc import Iterator

from delivery.model.release import Release

FIRST_LOOKED_UP = 0x250
"""The sheet's own font has every letter before this one; no font is opened for them."""


def unprintable_remarks(release: Release) -> Iterator[str]:
    """A sentence for the release, and for each track, with characters that the PDF sheet cannot print."""
    texts = {"The release": [release.title, release.version, release.artist]}
    for track in release.tracks:
        texts[f"Track {track.position}"] = [track.title, track.version, *release.named_on(track)]
    known = without_font("".join(texts["The release"]))
    for place, own in texts.items():
        found = without_font("".join(own))
        if found and (place == "The release" or set(found) - set(known)):
            yield (
                f"{place}: the PDF sheet has no font for {' '.join(found)} and prints \ufffd instead; files "
                "and tags have it. More fonts: pip install 'delivery[cjk]'."
            )


def without_font(text: str) -> str:
    """Characters of *text* that no installed font has, each once, in order of appearance."""
    rare = [character for character in dict.fromkeys(text) if ord(character) >= FIRST_LOOKED_UP]
    return "".join(character for character in rare if character.isprintable() and not _in_a_font(character))


def _in_a_font(character: str) -> bool:
    from delivery.report.font_files import (
        covered,
        font_files,
    )  # the library of fonts is loaded only for rare characters

    return any(ord(character) in covered(file) for file in font_files(""))
