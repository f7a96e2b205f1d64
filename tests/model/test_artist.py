"""The artist as one text."""

from __future__ import annotations

import pytest

from delivery.model.artist import display_artist
from delivery.model.release import Credit

FEATURED = Credit("F", "featured")


@pytest.mark.parametrize(
    ("credits", "shown"),
    [
        ((), "R"),
        ((Credit("A"),), "A"),
        ((Credit("A"), Credit("B")), "A & B"),
        ((Credit("A"), Credit("B"), Credit("C")), "A, B & C"),
        ((Credit("A"), FEATURED, Credit("G", "featured")), "A feat. F & G"),
        ((FEATURED, Credit("A")), "A feat. F"),
        ((FEATURED,), "R feat. F"),
        ((Credit("X", "remixer"),), "R"),
    ],
)
def test_display_artist(credits: tuple[Credit, ...], shown: str) -> None:
    """Common practice, no source: a guest is behind the main artists and never replaces them."""
    assert display_artist(credits, "R") == shown


def test_display_artist_without_stated_artists() -> None:
    assert display_artist((), "") == ""
