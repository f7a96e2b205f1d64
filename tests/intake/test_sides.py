"""Sides proposed for a first release file: in order, balanced, within what is good, or a plain word why not."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf
from hypothesis import given, settings
from hypothesis import strategies as st

from delivery.audio.facts import SoundFacts
from delivery.intake import load_release, load_spec
from delivery.intake.begin.file_names import guess
from delivery.intake.begin.first_file import first_release
from delivery.intake.begin.masters import Master
from delivery.intake.begin.sides import MOST_SIDES, propose, split

MINUTE = 60.0


def masters(*minutes: float | None) -> list[Master]:
    """None: a file that does not open."""
    found = []
    for number, length in enumerate(minutes, start=1):
        name = f"{number:02} Song.wav"
        frames = None if length is None else round(length * 60 * 44_100)
        facts = SoundFacts(Path(name), "wav", "RIFF", "pcm", 44_100, 2, frames, 24, 0) if frames else None
        found.append(Master(name, None, guess(name), facts=facts))
    return found


@pytest.mark.parametrize(
    ("lengths", "limit", "begins"),
    [
        ([4, 4, 4, 4], 20, (0,)),
        ([4, 4, 4, 4], 15, (0, 2)),
        ([5, 4, 4, 3, 6], 13, (0, 3)),  # 13 and 9; 9 and 13 is as equal: the longer side goes first
        ([10, 2, 2, 10], 12, (0, 2)),
        ([6] * 8, 13, (0, 2, 4, 6)),
        ([7, 7, 7], 8, ()),  # three sides would do; no record has three
        ([1] * 9, 1, ()),
        ([9], 10, (0,)),
    ],
)
def test_sums_by_hand(lengths: list[float], limit: float, begins: tuple[int, ...]) -> None:
    assert split(lengths, limit) == begins


@given(st.lists(st.integers(1, 12), min_size=1, max_size=9), st.integers(6, 40))
@settings(max_examples=300)
def test_it_is_the_best_of_all_splits(lengths: list[int], limit: int) -> None:
    """Every way of cutting the order into as many sides is tried."""
    found = split(lengths, limit)
    counts = [count for count in (1, *range(2, MOST_SIDES + 1, 2)) if count <= len(lengths)]
    for count in counts:
        ways = [
            sides
            for cuts in itertools.combinations(range(1, len(lengths)), count - 1)
            if max(sides := [sum(lengths[a:b]) for a, b in itertools.pairwise([0, *cuts, len(lengths)])]) <= limit
        ]
        if ways:
            mine = [sum(lengths[a:b]) for a, b in itertools.pairwise([*found, len(lengths)])]
            assert len(mine) == count
            assert sum(x * x for x in mine) == min(sum(x * x for x in way) for way in ways)
            return
    assert found == ()


def test_the_spec_s_good_length_counts() -> None:
    """A 12-inch at 33 is good up to 19:30; 36 minutes are two sides of 18."""
    proposal = propose(masters(6, 6, 6, 6, 6, 6), [load_spec("vinyl-sides")])
    assert proposal.begins == (0, 3)
    assert [proposal.letter(index) for index in range(6)] == ["A", "", "", "B", "", ""]
    assert (
        "Sides proposed for vinyl-sides, by length, without gaps: A 18:00, B 18:00; good is up to 19:30."
        in proposal.remark
    )


def test_the_tightest_spec_counts() -> None:
    both = [load_spec("cassette-sides"), load_spec("vinyl-sides")]
    assert propose(masters(10, 10, 10, 10), both).begins == (0, 1, 2, 3)
    assert propose(masters(10, 10, 10, 10), both[:1]).begins == (0, 2)


@pytest.mark.parametrize(
    ("minutes", "sentence"),
    [
        ((5, 25, 5), "02 Song.wav alone lasts 25:00, a good side 19:30."),
        ((5, None, 5), "the length of 02 Song.wav is not known."),
        ((19,) * 9, "171:00 in this order do not fit on 8 sides of 19:30."),
    ],
)
def test_nothing_is_guessed(minutes: tuple[float | None, ...], sentence: str) -> None:
    proposal = propose(masters(*minutes), [load_spec("vinyl-sides")])
    assert proposal.begins == ()
    assert proposal.remark == f"No sides are proposed for vinyl-sides: {sentence}"


def test_a_spec_without_sides_proposes_none() -> None:
    assert propose(masters(5, 5), [load_spec("cd-master"), load_spec("store-master-24")]).remark == ""


def test_the_release_file_has_them_and_loads(tmp_path: Path) -> None:
    for number in range(1, 4):
        sf.write(tmp_path / f"{number:02} Song {number}.wav", np.zeros((44_100, 2)), 44_100)
    text, remarks = first_release(tmp_path, ["vinyl-sides"])
    (tmp_path / "release.yaml").write_text(text, encoding="utf-8")
    release = load_release(tmp_path / "release.yaml")
    assert release.deliver_to == ("vinyl-sides",)
    assert [track.side for track in release.tracks] == ["A", "A", "A"]
    assert remarks[0].startswith("Sides proposed for vinyl-sides")
    assert f"# {remarks[0]}" in text
    assert "side:" not in first_release(tmp_path)[0]
