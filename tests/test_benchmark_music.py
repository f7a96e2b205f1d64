"""What the published tables of detectors rest on: the list of free music, and the intervals."""

from __future__ import annotations

import re

import pytest

from tests.benchmarks import free_music, intervals


def test_every_listed_piece_has_a_version_and_a_hash_and_comes_once() -> None:
    pieces = list(free_music.listed())
    assert {piece.kind for piece in pieces} == set(free_music.KINDS)
    assert all(re.fullmatch(r"[0-9a-f]{64}", piece.sha256) and piece.version for piece in pieces)
    assert len({piece.sha256 for piece in pieces}) == len({piece.file for piece in pieces}) == len(pieces)


def test_the_file_name_alone_decides_what_is_held_out() -> None:
    """First byte of SHA-256 as ``printf NAME | sha256sum`` prints it: 0x2b for the first name, 0x6a for the second."""
    by_name = {piece.name: piece.held_out for piece in free_music.listed()}
    assert (by_name["biniax_common01.it"], by_name["biniax_common00.it"]) == (True, False)


@pytest.mark.parametrize(
    ("share", "of", "low", "high"),
    [(0.0, 10, 0.0, 0.2775), (0.5, 10, 0.2366, 0.7634), (1.0, 20, 0.8389, 1.0)],
)
def test_wilson_interval(share: float, of: int, low: float, high: float) -> None:
    """As R's binom.confint(method = "wilson") gives them, from memory; the first is z^2 / (n + z^2)."""
    assert intervals.wilson(share, of) == pytest.approx((low, high), abs=1e-4)


def test_faults_of_one_piece_count_once_for_the_interval() -> None:
    assert intervals.found([(60, 60)] * 20) == "100 % (84 to 100) of 1200"
    assert intervals.found([(0, 0)]) == "-"


def test_no_false_place_leaves_a_rate_of_three_in_the_time_listened_to() -> None:
    """Rule of three: -ln(0.05) is 2.996."""
    assert intervals.a_minute([(0, 1.5), (0, 1.5)]) == "0 (under 1.00)"
    assert intervals.a_minute([(3, 1.5)] * 4) == "2.00 (2.00 to 2.00)"
