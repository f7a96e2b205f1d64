"""Advice on titles stops where the release or the studio has accepted the spelling, for that artist alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.pipeline import resolve_request
from tests.albums import Song, write_album, write_spec


@pytest.mark.parametrize(
    ("release", "studio", "accepted"),
    [
        ({}, "", ()),
        ({"accepted_titles": ["lOW"]}, "", ("lOW",)),
        ({"artist": "Merrow"}, "accepted_titles: [{artist: Merrow, titles: [lOW]}]\n", ("lOW",)),
        ({"artist": "Other"}, "accepted_titles: [{artist: Merrow, titles: [lOW]}]\n", ()),
    ],
)
def test_accepted_spellings(tmp_path: Path, release: dict[str, object], studio: str, accepted: tuple[str, ...]) -> None:
    write_spec(tmp_path, "style", "{title_style: {should: {featuring: role}}}", "{}")
    path = write_album(tmp_path, [Song("lOW", seconds=0.2)], ["style"], **release)
    if studio:
        (tmp_path / "studio.yaml").write_text(studio, encoding="utf-8")
    assert resolve_request(path).release.accepted_titles == accepted
