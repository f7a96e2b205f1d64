"""Songs that continue into each other: cut from one conversion, on one clock, with nothing audible at the cuts."""

from __future__ import annotations

from dataclasses import replace
from itertools import accumulate, pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from delivery.chain.carrier import lay_out
from delivery.chain.join import join
from delivery.chain.joined import (
    Song,
    alike,
    beside,
    continues_by,
    cut_alike,
    cut_from_stream,
    feeds_back,
    lenders,
    looks_around,
    streams,
)
from delivery.chain.prediction import converted_frames, frames_at_cut
from delivery.chain.render import render
from delivery.chain.stream import Master, Place, Stream
from delivery.dsp.writing.dither import CURVES, Requantiser, settling_frames
from delivery.model.album import Cut, Join
from delivery.model.carrier import Carrier, Pressing, Programme
from delivery.model.chain import Chain, Step, StepKind, Target
from tests.joined import chain_to, cut_up, errors, made
from tests.signals import noise, sine

CD = Target("wav", "pcm", 44_100, 2, 16)
LOSSLESS = {
    "cd": CD,
    "hires": Target("flac", "pcm", 48_000, 2, 24),
    "alac": Target("m4a", "pcm", 44_100, 2, 24),
    "float": Target("wav", "float", 48_000, 2, 32),
}
LOSSY = {
    "mp3": Target("mp3", "mp3", 44_100, 2, None, 320),
    "mp3 low": Target("mp3", "mp3", 44_100, 2, None, 128),
    "mp3 of another generation": Target("mp3", "mp3", 24_000, 2, None, 96),
    "aac": Target("m4a", "aac", 44_100, 2, None, 256),
    "opus": Target("opus", "opus", 48_000, 2, None, 192),
}
CUTS = [96_017, 192_101]


def tone() -> np.ndarray:
    return sine(997, 96_000, 3, level_dbfs=-6) * [1.0, 1.0]


@pytest.mark.parametrize("name", LOSSLESS)
def test_a_tone_over_three_lossless_songs_has_no_error_at_the_cuts(tmp_path: Path, name: str) -> None:
    """Songs converted separately have an error of -17 dBFS there; now the error is that of the rest."""
    stream = cut_up(tmp_path, tone(), 96_000, CUTS, chain_to(LOSSLESS[name], 96_000))
    songs = made(tmp_path / "made", stream)
    at_cuts, elsewhere = errors(songs, tone(), 96_000, LOSSLESS[name].rate_hz, CUTS)
    assert at_cuts <= elsewhere + 0.5
    assert elsewhere < -80


@pytest.mark.parametrize("name", LOSSY)
def test_a_tone_over_three_lossy_songs_is_no_worse_at_the_cuts(tmp_path: Path, name: str) -> None:
    """Encoders get the neighbours' edges; players that read gapless figures remove them again."""
    stream = cut_up(tmp_path, tone(), 96_000, CUTS, chain_to(LOSSY[name], 96_000))
    songs = made(tmp_path / "made", stream)
    at_cuts, elsewhere = errors(songs, tone(), 96_000, LOSSY[name].rate_hz, CUTS)
    assert at_cuts <= elsewhere + 1
    assert at_cuts < -40


@pytest.mark.parametrize("rate_hz", [44_100, 96_000])
@pytest.mark.parametrize("dither", ["tpdf", "modified-e-9", "f-weighted-9"])
def test_the_songs_put_together_are_the_disc(tmp_path: Path, dither: str, rate_hz: int) -> None:
    """Equal samples, shaped noise included: errors are carried across the cut between separately made songs."""
    sound = noise(rate_hz, 5, level_dbfs=-20)
    cuts = [rate_hz * 2 + 13, rate_hz * 3 + 7]
    stream = cut_up(tmp_path, sound, rate_hz, cuts, chain_to(CD, rate_hz, dither))
    songs = np.concatenate(made(tmp_path / "made", stream))
    at = [frames_at_cut(cut, rate_hz, 44_100) for cut in (0, *cuts, len(sound))]
    laid_out, total = lay_out([after - before for before, after in pairwise(at)], [0, 0, 0], 588)
    programme = Programme("cd", "1", Carrier("cd", 588), Pressing(), 44_100, laid_out, total, 0)
    join(programme, dict(enumerate(stream.masters, 1)), CD, tmp_path / "disc.wav")
    disc = soundfile.read(tmp_path / "disc.wav")[0][: len(songs)]
    if dither == "tpdf" and rate_hz == 44_100:  # nothing looks beyond a sample: each song of a disc has its own seed
        assert np.abs(songs - disc).max() <= 4 * 2.0**-15
    else:
        assert np.array_equal(songs, disc)


@pytest.mark.parametrize("curve", CURVES, ids=lambda curve: curve.name)
def test_shaped_noise_forgets_how_it_began(curve: object) -> None:
    """Two roundings of one sound with other errors behind them are equal in the second half of the time given."""
    name, frames = curve.name, settling_frames(curve.name)  # type: ignore[attr-defined]
    x = noise(44_100, frames / 44_100, channels=1, level_dbfs=-30)
    begun, again = (Requantiser(16, name, 44_100, 1, "seed", start) for start in (0, 500))
    begun.update(x[:500])
    one, other = begun.update(x[500:]), again.update(x[500:])
    assert not np.array_equal(one[:20], other[:20])
    assert np.array_equal(one[frames // 2 :], other[frames // 2 :])


@given(
    st.lists(st.integers(1_000, 10**8), min_size=2, max_size=9),
    st.sampled_from([(96_000, 44_100), (44_100, 48_000), (192_000, 48_000), (88_200, 44_100)]),
)
def test_lengths_add_up_to_that_of_the_whole(frames: list[int], rates_hz: tuple[int, int]) -> None:
    from_hz, to_hz = rates_hz
    chain = Chain((), CD)
    stream = Stream(tuple(Master(Path(), chain, each, "") for each in frames), from_hz, 2)
    spans = [Place(stream, index).span(to_hz) for index in range(len(frames))]
    assert sum(stop - start for start, stop in spans) == converted_frames(sum(frames), from_hz, to_hz)
    for (start, stop), each, end in zip(spans, frames, accumulate(frames), strict=True):
        assert abs(stop - end * to_hz / from_hz) <= 0.5
        assert abs((stop - start) - each * to_hz / from_hz) <= 1


@pytest.mark.parametrize("suffix", ["wav", "flac", "aiff"])
def test_only_the_edges_of_neighbours_are_read(tmp_path: Path, suffix: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file is entered where it is needed: memory and time do not grow with the neighbours."""
    files = [tmp_path / f"{number}.{suffix}" for number in (1, 2, 3)]
    for file in files:
        soundfile.write(file, noise(96_000, 4, level_dbfs=-20), 96_000, "PCM_24")
    chain = chain_to(CD, 96_000)
    stream = Stream(tuple(Master(file, chain, 4 * 96_000, file.name) for file in files), 96_000, 2)
    read: dict[str, int] = {}
    real = Stream._of

    def counting(self: Stream, master: Master, first: int, after: int):  # type: ignore[no-untyped-def]
        read[master.file.name] = read.get(master.file.name, 0) + after - first
        return real(self, master, first, after)

    monkeypatch.setattr(Stream, "_of", counting)
    render(files[1], chain, tmp_path / "made.wav", "", Place(stream, 1))
    assert read[files[1].name] == 4 * 96_000
    assert 0 < read[files[0].name] < 96_000 / 4
    assert 0 < read[files[2].name] < 96_000 / 4
    whole = np.concatenate(list(stream.samples(3 * 96_000, 5 * 96_000)))
    assert np.array_equal(whole[:96_000], soundfile.read(files[0])[0][-96_000:])
    assert np.array_equal(whole[96_000:], soundfile.read(files[1])[0][:96_000])


def test_each_song_keeps_its_own_gain(tmp_path: Path) -> None:
    """6 dB lower from the cut on, as ordered, and not a sample earlier."""
    stream = cut_up(tmp_path, tone(), 96_000, CUTS, chain_to(LOSSLESS["float"], 96_000))
    chain = stream.masters[1].chain
    lower = replace(chain, steps=(*chain.steps, Step(StepKind.GAIN, "", "", {"gain_db": -20 * np.log10(2)})))
    stream = replace(stream, masters=(stream.masters[0], replace(stream.masters[1], chain=lower), stream.masters[2]))
    songs = made(tmp_path / "made", stream)
    at_cuts, elsewhere = errors([songs[0], 2 * songs[1], songs[2]], tone(), 96_000, 48_000, CUTS)
    assert at_cuts <= elsewhere + 7  # what is doubled has its rounding doubled


SONGS = [Song(position, 100_000, 96_000, 2, chain_to(CD, 96_000)) for position in (1, 2, 3)]


@pytest.mark.parametrize(
    ("gap_s", "cut", "continues"),
    [
        (0, Cut.STEP, True),
        (0, Cut.QUIET, True),
        (None, Cut.CONTINUOUS, True),
        (None, Cut.UNPROVEN, True),
        (None, Cut.STEP, False),
        (None, Cut.QUIET, False),
        (2.0, Cut.CONTINUOUS, False),
    ],
)
def test_who_continues_into_whom(gap_s: float | None, cut: Cut, continues: bool) -> None:
    """A stated gap of 0, or none stated and sound that continues; never against what the release file states."""
    found = Join(1, 2, cut, gap_s)
    assert continues_by(found) is continues
    assert (1 in streams(SONGS, [found])) is continues


def test_what_needs_nothing_and_what_differs_in_form_is_made_alone() -> None:
    joins = [Join(1, 2, Cut.CONTINUOUS, 0), Join(2, 3, Cut.CONTINUOUS, 0)]
    assert [song.position for song in streams(SONGS, joins)[2]] == [1, 2, 3]
    copied = replace(SONGS[1], chain=Chain((Step(StepKind.COPY, "", ""),), CD))
    assert not streams([SONGS[0], copied, SONGS[2]], joins)
    assert not streams([SONGS[0], replace(SONGS[1], rate_hz=88_200), SONGS[2]], joins)
    assert set(streams([None, *SONGS[1:]], joins)) == {2, 3}
    flat = replace(SONGS[0], rate_hz=44_100, chain=chain_to(CD, 44_100))
    assert not streams([flat, replace(flat, position=2)], joins)  # flat dither looks at no neighbour
    assert not streams([replace(SONGS[0], frames=1), SONGS[1]], joins)  # nothing of it would be left


def test_a_chain_states_its_start_and_its_neighbours() -> None:
    joins = [Join(1, 2, Cut.CONTINUOUS, 0), Join(2, 3, Cut.CONTINUOUS, 0)]
    numbers: dict[int | None, str] = {1: "1-01", 2: "1-02", 3: "1-03"}
    cut = cut_from_stream(SONGS[2].chain, streams(SONGS, joins)[3], 3, numbers)
    rate = cut.step(StepKind.RATE)
    assert rate
    assert rate.settings["frames_before"] == 200_000
    assert rate.because.endswith("in one piece with tracks 1-01 and 1-02 (joined without a gap)")
    assert cut_alike(SONGS[2].chain, cut) == cut


UNLIKE_HZ = [(96_000, 44_100), (44_100, 96_000), (96_000, 48_000), (48_000, 44_100), (88_200, 96_000)]


def two_songs(folder: Path, rates_hz: tuple[int, int], hz: float, target: Target, *, alone: bool) -> np.ndarray:
    """A tone of 2 s over two masters of unlike rates; the cut at 1 s lies on every grid."""
    masters = []
    for number, rate_hz in enumerate(rates_hz):
        t = number + np.arange(rate_hz) / rate_hz
        file = folder / f"{number}.wav"
        soundfile.write(file, 0.5 * np.sin(2 * np.pi * hz * t)[:, None] * [1.0, 1.0], rate_hz, "DOUBLE")
        chain = chain_to(target, rate_hz)
        masters.append(Stream((Master(file, chain, rate_hz, str(number)),), rate_hz, 2))
    first, second = masters
    if not alone:
        first, second = replace(first, after=second), replace(second, before=first)
    songs = [np.concatenate(list(each.converted(0, target.rate_hz, target.rate_hz))) for each in (first, second)]
    return np.concatenate(songs)


@pytest.mark.parametrize("hz", [997, 9_973])
@pytest.mark.parametrize("rates_hz", UNLIKE_HZ, ids=str)
def test_songs_of_unlike_rates_have_no_error_at_the_cut(tmp_path: Path, rates_hz: tuple[int, int], hz: float) -> None:
    """Each is given the other's edge in its own rate. Judged by the tone itself, which both rates hold exactly."""
    target, wanted = LOSSLESS["float"], 0.5 * np.sin(2 * np.pi * hz * np.arange(96_000) / 48_000)
    at_cut = slice(47_520, 48_480)
    error = {
        alone: np.abs(two_songs(tmp_path, rates_hz, hz, target, alone=alone)[at_cut, 0] - wanted[at_cut]).max()
        for alone in (True, False)
    }
    assert 20 * np.log10(error[True]) > -75
    assert 20 * np.log10(error[False]) < -100


def test_a_lossy_song_is_encoded_with_its_neighbour_of_another_rate(tmp_path: Path) -> None:
    """The frames an encoder is given in front and behind are the neighbour's, not silence."""
    target, files = LOSSY["mp3"], [tmp_path / name for name in ("a.wav", "b.wav")]
    x = [noise(rate_hz, 1, level_dbfs=-20) for rate_hz in (96_000, 44_100)]
    for file, sound, rate_hz in zip(files, x, (96_000, 44_100), strict=True):
        soundfile.write(file, sound, rate_hz, "FLOAT")
    one, two = (
        Stream((Master(file, chain_to(target, rate_hz), rate_hz, ""),), rate_hz, 2)
        for file, rate_hz in zip(files, (96_000, 44_100), strict=True)
    )
    here = Place(replace(two, before=one))
    assert here.before(44_100) == 44_100
    assert here.after(44_100) == 0
    front = np.concatenate(list(here.stream.converted(-2_304, 0, 44_100)))
    whole = np.concatenate(list(one.converted(0, 44_100, 44_100)))
    assert np.abs(front[:-500] - whole[-2_304:-500]).max() < 1e-9
    for name, place in (("alone", Place(two)), ("beside", here)):
        render(files[1], chain_to(target, 44_100), tmp_path / f"{name}.mp3", "", place)
    assert (tmp_path / "alone.mp3").read_bytes() != (tmp_path / "beside.mp3").read_bytes()


def test_which_songs_are_encoded_with_which() -> None:
    """Only neighbours without a gap that become files of one form, to songs that are converted or encoded."""
    joins = [Join(1, 2, Cut.UNKNOWN, 0), Join(2, 3, Cut.UNKNOWN, 0)]
    other = replace(SONGS[1], rate_hz=44_100, chain=Chain((Step(StepKind.COPY, "", ""),), CD))
    assert lenders([SONGS[0], other, SONGS[2]], joins) == {1: (None, other), 3: (other, None)}
    assert not lenders([SONGS[0], other, SONGS[2]], [Join(1, 2, Cut.UNKNOWN, 2.0), Join(2, 3, Cut.UNKNOWN, None)])
    assert not lenders([SONGS[0], replace(other, channels=1), None], joins)
    assert not lenders(SONGS, joins)
    marked = beside(SONGS[0].chain, (None, other), {2: "1-02"})
    assert marked.steps[0].because.endswith("beside track 1-02 at 44.1 kHz (joined without a gap)")
    assert cut_alike(SONGS[0].chain, marked) == marked


def test_a_song_between_two_of_another_rate_is_encoded_with_both() -> None:
    joins = [Join(1, 2, Cut.UNKNOWN, 0), Join(2, 3, Cut.UNKNOWN, 0)]
    middle = replace(SONGS[1], rate_hz=48_000, chain=chain_to(CD, 48_000))
    lent = lenders([SONGS[0], middle, SONGS[2]], joins)
    assert lent == {1: (None, middle), 2: (SONGS[0], SONGS[2]), 3: (middle, None)}
    marked = beside(middle.chain, lent[2], {1: "1", 3: "3"}).step(StepKind.RATE)
    assert marked
    assert marked.because.endswith("; beside track 1 at 96 kHz and track 3 at 96 kHz (joined without a gap)")
    assert marked.settings["frames_before"] == 0


def test_few_companions_are_named_one_by_one() -> None:
    """Of many, the first and the last: an album without gaps would name all its songs for each of them."""
    songs = [replace(SONGS[0], position=position) for position in range(1, 61)]
    numbers: dict[int | None, str] = {position: str(position) for position in range(1, 61)}
    named_by_count = {2: "track 1 ", 3: "tracks 1 and 2 ", 4: "tracks 1, 2 and 3 ", 60: "the rest of tracks 1 to 60 "}
    for count, named in named_by_count.items():
        because = cut_from_stream(songs[0].chain, songs[:count], count, numbers).steps[0].because
        assert f"in one piece with {named}(" in because


def test_a_chain_without_neighbours_has_no_cut() -> None:
    assert cut_alike(SONGS[0].chain, SONGS[1].chain) is SONGS[0].chain


def test_which_steps_treat_two_songs_alike() -> None:
    """The masters' own bit depths, and where a song begins, are no difference."""

    def rounded(**settings: object) -> Chain:
        return Chain((Step(StepKind.REQUANTISE, "", "", {"bits": 16, "dither": "tpdf"} | settings),), CD)

    kind = StepKind.REQUANTISE
    assert alike(kind, rounded(from_bits=24), rounded(from_bits=32, frames_before=7))
    assert not alike(kind, rounded(), rounded(dither="modified-e-9"))
    assert not alike(kind, rounded(), Chain((), CD))
    assert alike(kind, Chain((), CD), Chain((), CD))
    assert alike(StepKind.RATE, rounded(), rounded(dither="modified-e-9"))


def test_only_noise_shaping_rounds_by_what_came_before() -> None:
    for dither, shaped in (("tpdf", False), ("rpdf", False), ("none", False), ("modified-e-9", True)):
        chain = chain_to(CD, 44_100, dither)
        assert feeds_back(chain) is shaped
        assert looks_around(chain.steps[0]) is shaped
    assert not feeds_back(chain_to(LOSSLESS["float"], 48_000))
