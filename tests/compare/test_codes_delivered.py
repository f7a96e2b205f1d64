"""Codes compared with what was delivered before: ISO 3901, one code for one recording."""

from __future__ import annotations

from dataclasses import replace

import pytest

from delivery.compare.codes_delivered import codes_delivered, release_code_delivered
from delivery.model.recording import Recording

NOW = Recording("osl-020", "Night Ledger", 1, 3, "ZZOSL2600001", "aa", 225.0, "Low Water", "")
THEN = Recording("osl-014", "Harbour Arithmetic", 2, 1, "ZZOSL2600001", "aa", 225.0, "Low Water", "")
WHERE = "('Harbour Arithmetic', revision 2, track 1)"


@pytest.mark.parametrize(
    ("then", "text"),
    [
        (THEN, ()),
        (replace(THEN, title="Low  water"), ()),
        (replace(THEN, audio_hash="bb"), ()),  # another rate or format of it
        (replace(THEN, audio_hash="bb", duration_s=225.9), ()),
        (
            replace(THEN, audio_hash="bb", duration_s=192.0),
            (f"ZZOSL2600001, track 3 'Low Water': 33.0 s longer than what was delivered under this code {WHERE}; "
             "another playing time has a code of its own.",),
        ),
        (replace(THEN, version="Instrumental"),
         (f"ZZOSL2600001, track 3 'Low Water': delivered before as 'Low Water (Instrumental)' {WHERE}.",)),
        (replace(THEN, isrc="ZZOSL2600009"),
         (f"ZZOSL2600001, track 3 'Low Water': the same recording was delivered as ZZOSL2600009 {WHERE}.",)),
        (replace(THEN, isrc="ZZOSL2600009", audio_hash="bb"), ()),
        (replace(THEN, isrc="", audio_hash="aa"), ()),
        # the release itself, an earlier revision: a title may be corrected, a playing time may not
        (replace(NOW, title="Low Watr"), ()),
        (
            replace(NOW, audio_hash="bb", duration_s=300.0),
            ("ZZOSL2600001, track 3 'Low Water': 75.0 s shorter than what was delivered under this code "
             "('Night Ledger', revision 1, track 3); another playing time has a code of its own.",),
        ),
    ],
)  # fmt: skip
def test_one_code_one_recording(then: Recording, text: tuple[str, ...]) -> None:
    assert codes_delivered([NOW], [then]) == text


def test_a_difference_within_a_release_is_reported_once() -> None:
    """Revision 2 was delivered with the new sound: revision 3, with the same, says nothing of revision 1."""
    first = replace(NOW, audio_hash="bb", duration_s=300.0)
    second, third = replace(NOW, revision=2), replace(NOW, revision=3)
    assert codes_delivered([second], [first])
    assert codes_delivered([third], [first, second]) == ()
    assert codes_delivered([third], [second, first]), "the last one sent under this code was the longer one"
    assert codes_delivered([third], [replace(first, release="osl-099"), second]), "another release is another matter"


def test_an_album_delivered_many_times_is_named_once_for_each_code() -> None:
    earlier = [replace(THEN, audio_hash=f"{n}", duration_s=100.0 + 10 * n, revision=n) for n in range(1, 5)]
    assert codes_delivered([NOW], earlier) == (
        "ZZOSL2600001, track 3 'Low Water': 85.0 s longer than what was delivered under this code "
        "('Harbour Arithmetic', revision 4, track 1); another playing time has a code of its own.",
    )


@pytest.mark.parametrize(("tracks", "sentences"), [(3, 3), (5, 1)])
def test_many_tracks_with_one_difference_are_one_sentence(tracks: int, sentences: int) -> None:
    now = [replace(NOW, position=at, isrc=f"ZZOSL260000{at}", audio_hash=f"{at}") for at in range(1, tracks + 1)]
    then = [replace(THEN, position=at, isrc=f"ZZOSL260000{at}", duration_s=200.0) for at in range(1, tracks + 1)]
    found = codes_delivered(now, then)
    assert len(found) == sentences
    assert found[0].startswith("ZZOSL2600001, track 1")
    assert found[0].endswith(" Likewise tracks 2, 3, 4, 5.") == (sentences == 1)


def test_a_missing_code_gives_no_remark() -> None:
    assert codes_delivered([replace(NOW, isrc="")], [THEN, replace(THEN, isrc="")]) == ()


def test_a_bar_code_of_another_release() -> None:
    assert release_code_delivered("bar code", "2000000140018", "Night Ledger", "osl-020", [THEN, THEN]) == (
        "The bar code 2000000140018 was delivered before as 'Harbour Arithmetic'.",
    )
    assert release_code_delivered("bar code", "2000000140018", "Harbour arithmetic", "x", [THEN]) == ()
    assert release_code_delivered("bar code", "2000000140018", "Night Ledger", "osl-014", [THEN]) == ()
