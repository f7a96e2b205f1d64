"""Label copy that a spec requires: not supplied when empty, supplied by the right attribute and by no other."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from delivery.model.release import Credit, Release, Sample, Track, Writer
from delivery.rules.label_copy import RELEASE_FIELDS, TRACK_FIELDS

SHARED = (Writer("A B", share_percent=50.0, ipi="00014107338", society="OSTRA"), Writer("C D"))
WHOLE = (SHARED[0], Writer("C D", share_percent=0.0, ipi="00014107338", society="OSTRA"))


def supplied(field: str, track: dict[str, Any], release: dict[str, Any]) -> bool:
    made = Track(**{"position": 1, "file": Path("/1.wav"), "title": "", **track})
    of = Release(**{"path": Path("/release.yaml"), "title": "", "artist": "", "tracks": (made,), **release})
    return bool(TRACK_FIELDS[field](made, of))


@pytest.mark.parametrize("field", sorted(TRACK_FIELDS))
def test_nothing_is_supplied_by_an_empty_track(field: str) -> None:
    assert not supplied(field, {}, {})


@pytest.mark.parametrize(
    ("field", "track", "release", "expected"),
    [
        ("title", {"title": "Low Water"}, {}, True),
        ("title", {"version": "Low Water"}, {}, False),
        ("artists", {"artists": (Credit("Merrow"),)}, {}, True),
        ("artists", {}, {"artist": "Merrow"}, True),
        ("lyricists", {"lyricists": ("A B",)}, {}, True),
        ("lyricists", {"instrumental": True}, {}, True),
        ("lyricists", {"composers": ("A B",)}, {}, False),
        ("language", {"language": "en"}, {}, True),
        ("language", {}, {"language": "en"}, True),
        ("language", {"instrumental": True}, {}, True),
        ("title_language", {"title_language": "en"}, {}, True),
        ("title_language", {}, {"language": "en"}, True),
        ("title_language", {"language": "en"}, {}, False),
        ("instrumental", {"instrumental": True}, {}, True),
        ("instrumental", {"language": "en"}, {}, True),
        ("instrumental", {}, {"language": "en"}, False),
        ("shares", {"writers": SHARED}, {}, False),
        ("shares", {"writers": WHOLE}, {}, True),
        ("ipi", {"writers": SHARED}, {}, False),
        ("ipi", {"writers": WHOLE}, {}, True),
        ("society", {"writers": SHARED}, {}, False),
        ("society", {"writers": WHOLE}, {}, True),
        ("preview_start_s", {"preview_start_s": 0.0}, {}, True),
        ("samples", {"samples": ()}, {}, True),
        ("samples", {"samples": (Sample("Low Lantern: Sticks", cleared=False),)}, {}, True),
    ],
)
def test_what_supplies_a_field(field: str, track: dict[str, Any], release: dict[str, Any], expected: bool) -> None:
    """An instrumental needs no lyricist and no language; a share of 0 % and a preview from 0 s are stated; an empty
    list of samples says that there are none. A title's language may be the release's, never that of the lyrics."""
    assert supplied(field, track, release) is expected


def test_more_than_the_table_can_be_required_of_a_release() -> None:
    """The cover, the date of the file itself and the approval are no label copy, yet a recipient may require them."""
    assert {"title", "label", "artwork", "dated", "approved_by"} <= set(RELEASE_FIELDS)
    assert not set(RELEASE_FIELDS) & {"isrc", "composers"}
