"""A merge in sentences: what a sheet changed, what was kept, and what is undecided."""

from __future__ import annotations

from typing import Any

import pytest

from delivery.intake.sheet.merge_report import changes, conflict, kept, shown_value, title_of, titles_of
from delivery.intake.sheet.statements import (
    RELEASE,
    Outcome,
    Plan,
    Stated,
    Verdict,
    canonical,
    file_key,
    same,
)
from delivery.model.unconfirmed import ORDER

OURS = {
    "tracks": [
        {"file": "01 Low Water.wav", "title": "Low Water", "version": "Live"},
        {"file": "2.wav", "title": "Buoy"},
    ]
}
SHEET = Stated({}, {"2.wav": {"title": "Lamps"}, "3.wav": {"title": "Ledger"}, "01 low water.wav": {"title": "Other"}})
TITLES = titles_of(OURS, SHEET)


def outcome(where: str, key: str, verdict: Verdict, file: Any, sheet: Any, **more: Any) -> Outcome:
    return Outcome(where, key, verdict, None, sheet, file, more.pop("now", sheet), **more)


def plan(*outcomes: Outcome, **more: Any) -> Plan:
    values: dict[str, Any] = {"order": (), "renamed": {}, "added": (), "removed": (), "stays_out": (), "confirmed": ()}
    return Plan(outcomes, **values | more)


def test_a_track_is_named_as_in_the_release_file_else_as_on_the_sheet() -> None:
    assert TITLES == {"01 low water.wav": "Low Water (Live)", "2.wav": "Buoy", "3.wav": "Ledger"}


def test_every_change_is_one_sentence_the_release_first() -> None:
    merged = plan(
        outcome("01 Low Water.wav", "isrc", Verdict.TAKEN, None, "ZZOSL2600001"),
        outcome(RELEASE, "label", Verdict.TAKEN, "Ostrelune", "Ostrelune Ltd"),
        outcome("3.wav", "isrc", Verdict.KEPT, "A", "B"),
        outcome(RELEASE, ORDER, Verdict.TAKEN, (), ("3.wav", "01 low water.wav")),
        removed=("2.wav",), added=("3.wav",), renamed={"01 Low Water.wav": "01 Low Water v2.wav"},
    )  # fmt: skip
    assert list(changes(merged, TITLES)) == [
        "Label: was 'Ostrelune', now 'Ostrelune Ltd'.",
        "'Buoy' (2.wav) is not on the sheet: its lines become comments.",
        "'Ledger' (3.wav) is new.",
        "'Low Water (Live)', File: was '01 Low Water.wav', now '01 Low Water v2.wav'.",
        "'Low Water (Live)', ISRC: was not supplied, now 'ZZOSL2600001'.",
        "The order is different: Ledger, Low Water (Live).",
    ]


def test_a_value_that_brings_others_with_it_is_shown_as_the_sheet_has_it() -> None:
    """Writers with shares replace the names of composers: what the sheet states is one statement."""
    writers = [{"name": "Ada", "roles": ["composer", "lyricist"], "share_percent": 60.0}]
    taken = outcome("3.wav", "writers", Verdict.TAKEN, None, writers, now=None, also={"composers": None})
    assert list(changes(plan(taken), TITLES)) == [
        "'Ledger', Writers: was not supplied, now 'Ada' (composer and lyricist, 60 %)."
    ]
    alone = outcome("3.wav", "title", Verdict.TAKEN, "A", "B", now="C")
    assert list(changes(plan(alone), TITLES)) == ["'Ledger', Title: was 'A', now 'C'."]


@pytest.mark.parametrize(
    ("confirmed", "sentence"),
    [
        (((RELEASE, "title"),), "1 value from file names is settled by the sheet: Release title."),
        (((RELEASE, "artist"), ("3.wav", "title")),
         "2 values from file names are settled by the sheet: Release artist, Title of 'Ledger'."),
    ],
)  # fmt: skip
def test_guesses_that_a_sheet_settles(confirmed: tuple[tuple[str, str], ...], sentence: str) -> None:
    assert list(changes(plan(confirmed=confirmed), TITLES)) == [sentence]


def test_what_is_kept_although_the_sheet_differs() -> None:
    merged = plan(
        outcome("3.wav", "title", Verdict.KEPT, "Ledger", None),
        outcome(RELEASE, ORDER, Verdict.KEPT, (), ()),
        outcome("3.wav", "isrc", Verdict.TAKEN, "A", "B"),
        stays_out=("2.wav",),
    )
    assert list(kept(merged, TITLES)) == [
        "'Ledger', Title stays 'Ledger'; the sheet leaves it empty.",
        "The order of the tracks is kept from the release file.",
        "'Buoy' (2.wav) stays out: it was removed from the release file by hand.",
    ]
    assert len(merged.taken()) == 1
    assert merged.conflicts() == ()


def test_a_conflict_names_its_subject_and_both_values() -> None:
    both = outcome("3.wav", "isrc", Verdict.CONFLICT, "A", "B")
    assert conflict(both, TITLES) == ("'Ledger', ISRC", "'B'", "'A'")
    order = outcome(RELEASE, ORDER, Verdict.CONFLICT, ("2.wav", "3.wav"), ("3.wav", "2.wav"))
    assert conflict(order, TITLES) == ("Order of the tracks", "Ledger, Buoy", "Buoy, Ledger")
    assert plan(both, order).conflicts() == (both, order)


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (None, "not supplied"), ("x", "'x'"), (2, "2"), (True, "True"), ((), "none"), (["a", "b"], "'a'; 'b'"),
        ({"name": "Ada", "role": "producer"}, "'Ada' (producer)"), ([{"name": "Ada"}], "'Ada'"),
        ({"of": "Buoy", "cleared": False, "by": "letter"}, "'Buoy' (letter, False)"),
        ({"share_percent": 62.5, "roles": ("composer",), "name": "Ada"}, "'Ada' (composer, 62.5 %)"),
    ],
)  # fmt: skip
def test_values_as_they_are_printed(value: Any, shown: str) -> None:
    assert shown_value(value) == shown


def test_headings_of_keys() -> None:
    assert [title_of(RELEASE, key) for key in ("title", "upc", "isni", "no_such_key")] == [
        "Release title", "UPC / EAN", "ISNI", "no_such_key",
    ]  # fmt: skip
    assert [title_of("1.wav", key) for key in ("title", "composers", "gap_before_s")] == [
        "Title", "Composers", "Gap before",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("key", "one", "other", "alike"),
    [
        ("isrc", "ZZ-OSL-26-00001", "zzosl2600001", True), ("upc", "036000291452", "0 36000 29145 2", True),
        ("title", "Low", "low", False), ("title", " Low ", "Low", True), ("title", "e\u0301", "é", True),
        ("title", "", None, True), ("artists", ["Ada"], [{"name": "Ada", "role": "main"}], True),
        ("artists", ["Ada"], [{"name": "Ada", "role": "featured"}], False),
        ("credits", [{"name": "Ada"}], [{"name": "Ada", "role": "main"}], True),
        ("composers", ["Ada"], [{"name": "Ada"}], False), ("composers", [], None, True), ("samples", [], None, False),
        ("samples", [], (), True), ("writers", [{"name": "A"}], [{"name": "A", "roles": ["composer"]}], True),
        ("writers", [{"name": "A", "ipi": ""}], [{"name": "A"}], True), ("bpm", 92, 92.0, True),
        ("writers", [{"name": "A", "share_percent": 50}],
                                           [{"name": "A", "share_percent": 50.0}], True),
    ],
)  # fmt: skip
def test_two_notations_of_one_value(key: str, one: Any, other: Any, alike: bool) -> None:
    assert same(key, one, other) is alike
    assert same(key, other, one) is alike


def test_what_counts_as_not_supplied() -> None:
    assert [canonical("title", value) for value in (None, "", "  ", [], {})] == [None] * 5


def test_a_file_has_one_key_however_its_name_is_written() -> None:
    assert {file_key(name) for name in ("a/É.wav", "./a/é.WAV ", "a\\e\u0301.wav")} == {"a/é.wav"}
