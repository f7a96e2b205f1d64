"""The artist of a track as one text: decided only here, for tags, discs, papers and file names. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from delivery.model.release import Credit


def display_artist(credits: Iterable[Credit], release_artist: str) -> str:
    """'A, B & C feat. D': main artists, then 'feat.' and the featured ones.

    Common practice, no source: what players show on the line under the title.

    Parameters
    ----------
    credits : the track's own artists
    release_artist : used if no credit is that of a main artist, so that a guest never replaces it
    """
    own = tuple(credits)
    main = joined(main_artists(own, release_artist))
    featured = joined(credit.name for credit in own if credit.role == "featured")
    return f"{main} feat. {featured}".strip() if featured else main


def main_artists(credits: Iterable[Credit], release_artist: str) -> tuple[str, ...]:
    """Names of the main artists; the release's if *credits* have none; empty if that is empty too."""
    named = tuple(credit.name for credit in credits if credit.role == "main")
    return named or ((release_artist,) if release_artist else ())


def joined(names: Iterable[str]) -> str:
    """'A', 'A & B', 'A, B & C'."""
    *head, last = list(names) or [""]
    return f"{', '.join(head)} & {last}" if head else last
