"""What counts as the same statement, and what may stay: the pure part of what a delivered file carries."""

from __future__ import annotations

import pytest

from delivery.model.carried import KEEP_CHUNKS, KEEP_TAGS, Item, Positions
from delivery.tags.keeping import Wish, agrees, may_stay, planned, unwanted

VALUES = {
    "title": "Slack Water", "version": "Live", "isrc": "ZZOSL2600003", "upc": "2000000140019", "track_number": "3",
    "composers": "Ines Merrow; Tomas Gale", "explicit": "clean", "original_date": "1999-11-05",
}  # fmt: skip


@pytest.mark.parametrize(
    ("field", "text", "same"),
    [
        ("title", "Slack Water", True), ("title", "Slack Water (Live)", True), ("title", "slack water", False),
        ("isrc", "ZZ-OSL-26-00003", True), ("isrc", "ZZOSL2600004", False), ("upc", "2 000000 140019", True),
        ("track_number", "3/9", True), ("track_number", "13", False), ("composers", "Tomas Gale", True),
        ("composers", "Low Lantern", False), ("explicit", "2", True), ("original_date", "1999", True),
        ("original_date", "1998", False), ("genre", "Folk", False),
    ],
)  # fmt: skip
def test_forms_of_one_statement(field: str, text: str, same: bool) -> None:
    """ID3v2.4 TRCK has the total behind a slash; TORY of ID3v2.3 the year alone; ISRC hyphens are for print only."""
    assert agrees(Item("label_copy", "ID3 X", text, field), VALUES) is same


def kinds(keep_tags: tuple[str, ...] | None, keep_chunks: tuple[str, ...] = (), **how: object) -> frozenset[str]:
    usual = {"embedded": True, "made": "new", "same_container": True, "identical": True, "chunked": True, "texts": True}
    return may_stay(keep_tags, keep_chunks, **{**usual, **how})  # type: ignore[arg-type]


def test_what_may_stay_without_a_requirement() -> None:
    """The broadcast chunk: in a copy, and where label copy is written; never in front of a new file without tags."""
    assert kinds(None) == kinds(None, embedded=False, made="copy") == {"bext"}
    assert kinds(None, embedded=False) == frozenset()
    assert kinds((), made="copy") == frozenset()


def test_what_may_stay_depends_on_how_the_file_is_made() -> None:
    everything = (tuple(KEEP_TAGS), tuple(KEEP_CHUNKS))
    assert kinds(*everything, made="copy", chunked=False) == {*KEEP_TAGS, *KEEP_CHUNKS}
    assert kinds(*everything) == {*KEEP_TAGS, *KEEP_CHUNKS}
    assert "replay_gain" not in kinds(*everything, identical=False), "a gain that was measured on other samples"
    assert kinds(*everything, same_container=False) == {"comments", "lyrics", "cue_points"}
    assert kinds(*everything, chunked=False, same_container=False) == {"comments", "lyrics"}


def test_a_programs_name_is_no_reason_to_rewrite_a_copy() -> None:
    software, comment = Item("encoder", "INFO ISFT", "Editor"), Item("comments", "INFO ICMT", "take 3")
    bare = Wish({}, embedded=False, keep=frozenset())
    assert unwanted([software], bare) == ()
    assert unwanted([software, comment], bare) == (software, comment)
    assert planned([software], bare).kept == (software,)


@pytest.mark.parametrize(("place", "there"), [(0, 0), (1, 1), (160, 147), (48_000, 44_100), (2**31, 1_973_000_602)])
def test_positions_from_48_to_44_1_khz(place: int, there: int) -> None:
    """147/160 of each, to the nearest sample; the last by a pocket calculator."""
    assert Positions(48_000, 44_100).at(place) == there


def test_positions_are_shifted_and_never_negative() -> None:
    assert Positions(48_000, 48_000, shift=100).at(5) == 105
    assert Positions(48_000, 48_000, shift=-100).at(5) == 0
