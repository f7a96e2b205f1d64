"""Songs joined to one file: cut apart again they are what they were, bit for bit."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from delivery.audio import pcm
from delivery.audio.digest import AudioDigest
from delivery.chain.carrier import lay_out
from delivery.chain.join import cut_again, join, unlike_neighbours
from delivery.chain.prediction import converted_frames
from delivery.chain.render import render
from delivery.chain.stream import Master
from delivery.errors import Occupied, Unreadable, Unusable
from delivery.model.carrier import Carrier, Pressing, Programme
from delivery.model.chain import Chain, Step, StepKind, Target
from tests.judges import needs

Integers = NDArray[np.int32]
CD = Target("wav", "pcm", 44_100, 2, 16)
COPY = Chain((Step(StepKind.COPY, "", ""),), CD)


def lower(from_hz: int, **more: str) -> Chain:
    rate = Step(StepKind.RATE, "", "", {"from_hz": from_hz, "to_hz": 44_100})
    return Chain((rate, Step(StepKind.REQUANTISE, "", "", {"bits": 16, "dither": "tpdf", **more})), CD)


def samples_16(frames: int, seed: int, channels: int = 2) -> Integers:
    """Whole 16-bit numbers, left-justified, nothing silent at the edges."""
    chance = np.random.default_rng(seed)
    return (chance.integers(1, 2**13, (frames, channels)) << 16).astype(np.int32)


def digest(samples: Integers, rate_hz: int = 44_100) -> str:
    made = AudioDigest(rate_hz, samples.shape[1], integers=True)
    made.update(samples / 2.0**31)
    return made.hexdigest()


def masters(folder: Path, songs: list[Integers], chain: Chain = COPY, rate_hz: int = 44_100) -> dict[int, Master]:
    made = {}
    for position, samples in enumerate(songs, start=1):
        file = folder / f"{position}.wav"
        sf.write(file, samples, rate_hz, subtype="PCM_16")
        made[position] = Master(file, chain, len(samples), digest(samples, rate_hz))
    return made


def programme(lengths: list[int], gaps: list[int], frame: int = 588) -> Programme:
    songs, total = lay_out(lengths, gaps, frame)
    return Programme("cd", "1", Carrier("cd", frame), Pressing(), 44_100, songs, total, 0)


def read(file: Path) -> Integers:
    samples: Integers = sf.read(file, dtype="int32", always_2d=True)[0]
    return samples


@given(st.lists(st.tuples(st.integers(1, 3000), st.sampled_from([0, 0, 1, 588, 1000])), min_size=1, max_size=6))
@settings(max_examples=60)
def test_the_image_cut_back_is_the_songs_bit_for_bit(
    tmp_path_factory: pytest.TempPathFactory, pairs: list[tuple[int, int]]
) -> None:
    """Read by soundfile alone: every song at its index point, digital silence everywhere else."""
    folder = tmp_path_factory.mktemp("image")
    songs = [samples_16(length, seed) for seed, (length, _) in enumerate(pairs)]
    plan = programme([len(song) for song in songs], [gap for _, gap in pairs])
    made = masters(folder, songs)
    join(plan, made, CD, folder / "image.wav")
    image = read(folder / "image.wav")
    assert len(image) == plan.length
    rest = np.ones(len(image), bool)
    for song, samples in zip(plan.songs, songs, strict=True):
        begins = song.mark * 588 + plan.early(song)
        assert np.array_equal(image[begins : begins + song.length], samples)
        rest[begins : begins + song.length] = False
    assert not image[rest].any()
    assert cut_again(folder / "image.wav", plan) == tuple(master.audio_hash for master in made.values())


def test_a_song_behind_a_gap_is_the_file_it_would_be_alone(tmp_path: Path) -> None:
    """Converted and dithered: the same seed, so the same samples as the song's own 44.1 kHz file."""
    songs = [samples_16(9600, 1), samples_16(7777, 2)]
    made = masters(tmp_path, songs, lower(96_000), 96_000)
    lengths = [converted_frames(len(song), 96_000, 44_100) for song in songs]
    plan = programme(lengths, [0, 4410])
    join(plan, made, CD, tmp_path / "image.wav")
    image = read(tmp_path / "image.wav")
    for song in plan.songs:
        master = made[song.position]
        alone = tmp_path / f"alone {song.position}.wav"
        render(master.file, master.chain, alone, master.audio_hash)
        assert np.array_equal(image[song.begins : song.ends], read(alone))


@pytest.mark.parametrize("gap", [0, 4410])
def test_silence_at_the_ends_of_a_song_stays_zero_on_a_disc_too(tmp_path: Path, gap: int) -> None:
    """Where the spec says 'silence: zero': behind a gap the very samples of the song's own file, and where songs run on
    digital silence at either song's ends is zeros, as it is in files of their own. Every other sample is unchanged."""
    songs = [samples_16(40_000, seed) for seed in (1, 2)]
    for samples in songs:
        samples[:9_600] = samples[-19_200:] = 0
    zero, dithered = lower(96_000, silence="zero"), lower(96_000)
    ends = [converted_frames(end, 96_000, 44_100) for end in (40_000, 80_000)]
    plan = programme([ends[0], ends[1] - ends[0]], [0, gap])
    made = {}
    for name, chain in (("zero", zero), ("dithered", dithered)):
        join(plan, masters(tmp_path, songs, chain, 96_000), CD, tmp_path / f"{name}.wav")
        made[name] = read(tmp_path / f"{name}.wav")
    for song in plan.songs:
        kept, all_else = (made[name][song.begins : song.ends] for name in ("zero", "dithered"))
        sounding = np.flatnonzero((kept != 0).any(axis=1))
        first, after = sounding[0], sounding[-1] + 1
        assert 3_000 < first < 4_410  # 0.1 s, less the ringing of the filter
        assert len(kept) - 8_820 < after < len(kept) - 7_000
        assert np.array_equal(kept[first:after], all_else[first:after])
        assert all_else[:3_000].any()
        if gap:
            master = masters(tmp_path, songs, zero, 96_000)[song.position]
            alone = tmp_path / f"alone {song.position}.wav"
            render(master.file, zero, alone, master.audio_hash)
            assert np.array_equal(kept, read(alone))
    assert cut_again(tmp_path / "zero.wav", plan)


def test_songs_that_run_on_are_converted_as_the_one_stream_they_are(tmp_path: Path) -> None:
    """A tone cut anywhere and joined again is the tone, converted: no ringing at the cut, which two files would have.

    Judged against the same tone converted in one piece, undithered, and against the two halves converted by
    themselves, which differ from it at the cut by thousands of steps.
    """
    chain = Chain((lower(96_000).steps[0], Step(StepKind.REQUANTISE, "", "", {"bits": 16, "dither": "none"})), CD)
    t = np.arange(60_001) / 96_000
    tone = np.repeat((0.5 * np.sin(2 * np.pi * 997 * t))[:, None], 2, axis=1)
    whole = (np.rint(tone * 2**15).astype(np.int64) << 16).astype(np.int32)
    songs = [whole[:31_337], whole[31_337:]]
    made = masters(tmp_path, songs, chain, 96_000)
    ends = [converted_frames(end, 96_000, 44_100) for end in (31_337, len(whole))]
    plan = programme([ends[0], ends[1] - ends[0]], [0, 0])
    join(plan, made, CD, tmp_path / "image.wav")
    image = read(tmp_path / "image.wav")[: ends[1]] >> 16
    (tmp_path / "one").mkdir()
    only = masters(tmp_path / "one", [whole], chain, 96_000)[1]
    render(only.file, chain, tmp_path / "whole.wav", only.audio_hash)
    assert np.array_equal(image, read(tmp_path / "whole.wav") >> 16)
    halves = []
    for position, master in made.items():
        render(master.file, chain, tmp_path / f"half {position}.wav", master.audio_hash)
        halves.append(read(tmp_path / f"half {position}.wav") >> 16)
    apart = np.abs(np.concatenate(halves)[: ends[1]] - image[: sum(map(len, halves))])
    assert apart[ends[0] - 200 : ends[0] + 200].max() > 300


def test_rf64_beyond_four_gibibytes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """EBU Tech 3306: the form that long sides take; here its threshold is lowered to a few kilobytes."""
    monkeypatch.setattr(pcm, "SIZE_FIELD_MAX", pcm.ROOM_FOR_TAGS_BYTES + 50_000)
    songs = [samples_16(20_000, 1), samples_16(20_000, 2)]
    plan = programme([20_000, 20_000], [0, 0], frame=1)
    made = masters(tmp_path, songs)
    join(plan, made, CD, tmp_path / "side.wav")
    assert (tmp_path / "side.wav").read_bytes()[:4] == b"RF64"
    assert cut_again(tmp_path / "side.wav", plan) == tuple(master.audio_hash for master in made.values())


@needs("ffmpeg")
@needs("sox")
def test_rf64_sides_are_read_by_other_programs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """ffmpeg and sox decode the very samples."""
    import subprocess

    monkeypatch.setattr(pcm, "SIZE_FIELD_MAX", pcm.ROOM_FOR_TAGS_BYTES + 50_000)
    song = samples_16(30_000, 5)
    join(programme([30_000], [0], frame=1), masters(tmp_path, [song]), CD, tmp_path / "side.wav")
    raw = (song >> 16).astype("<i2").tobytes()
    by_ffmpeg = ["ffmpeg", "-v", "error", "-i", str(tmp_path / "side.wav"), "-f", "s16le", "-"]
    by_sox = ["sox", str(tmp_path / "side.wav"), "-t", "raw", "-e", "signed", "-b", "16", "-L", "-"]
    for command in (by_ffmpeg, by_sox):
        assert subprocess.run(command, check=True, capture_output=True, timeout=60).stdout == raw


def test_a_fault_leaves_no_file(tmp_path: Path) -> None:
    songs = [samples_16(3000, 1), samples_16(3000, 2)]
    made = masters(tmp_path, songs)
    made[2].file.write_bytes(made[2].file.read_bytes()[:5000])
    with pytest.raises(Unreadable):
        join(programme([3000, 3000], [0, 0]), made, CD, tmp_path / "image.wav")
    assert not (tmp_path / "image.wav").exists()


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    (tmp_path / "image.wav").write_bytes(b"mine")
    with pytest.raises(Occupied):
        join(programme([10], [0]), masters(tmp_path, [samples_16(10, 1)]), CD, tmp_path / "image.wav")
    assert (tmp_path / "image.wav").read_bytes() == b"mine"


def test_joined_songs_of_two_rates_are_refused(tmp_path: Path) -> None:
    made = masters(tmp_path, [samples_16(3000, 1), samples_16(3000, 2)], lower(96_000), 96_000)
    sf.write(made[2].file, samples_16(3000, 2), 48_000, subtype="PCM_16")
    ends = [converted_frames(end, 96_000, 44_100) for end in (3000, 6000)]
    with pytest.raises(Unusable, match=r"2\.wav: found 48000 Hz"):
        join(programme([ends[0], ends[1] - ends[0]], [0, 0]), made, CD, tmp_path / "image.wav")
    plan = programme([10, 10, 10], [0, 0, 5])
    forms = {1: (96_000, 2), 2: (48_000, 2), 3: (44_100, 2)}
    assert unlike_neighbours(plan, forms) == ((1, 2),)


@pytest.mark.parametrize("at", [1000, 1175])
def test_sound_in_a_gap_is_found(tmp_path: Path, at: int) -> None:
    """The proof has teeth: one sample of one step between two songs."""
    plan = programme([1000, 600], [0, 88_200])
    join(plan, masters(tmp_path, [samples_16(1000, 1), samples_16(600, 2)]), CD, tmp_path / "image.wav")
    image = read(tmp_path / "image.wav")
    image[at] = 1 << 16
    sf.write(tmp_path / "other.wav", image, 44_100, subtype="PCM_16")
    with pytest.raises(Unusable, match="sound in a gap"):
        cut_again(tmp_path / "other.wav", plan)


def test_another_length_is_found(tmp_path: Path) -> None:
    plan = programme([1000], [0])
    sf.write(tmp_path / "short.wav", samples_16(1000, 1), 44_100, subtype="PCM_16")
    with pytest.raises(Unusable, match="1176 samples"):
        cut_again(tmp_path / "short.wav", plan)


def test_the_same_masters_give_the_same_bytes(tmp_path: Path) -> None:
    songs = [samples_16(4800, 1), samples_16(4801, 2), samples_16(4802, 3)]
    made = masters(tmp_path, songs, lower(96_000), 96_000)
    ends = [converted_frames(end, 96_000, 44_100) for end in (4800, 9601)]
    last = converted_frames(4802, 96_000, 44_100)
    plan = programme([ends[0], ends[1] - ends[0], last], [0, 0, 2000])
    for name in ("one.wav", "two.wav"):
        join(plan, made, CD, tmp_path / name)
    assert (tmp_path / "one.wav").read_bytes() == (tmp_path / "two.wav").read_bytes()
    assert all(before.ends <= later.begins for before, later in pairwise(plan.songs))


def test_one_channel_copied_to_both_stays_the_same_in_both(tmp_path: Path) -> None:
    """Dither too: otherwise the two channels of a mono song would differ by noise."""
    both = Step(StepKind.CHANNELS, "", "")
    chain = Chain((both, Step(StepKind.REQUANTISE, "", "", {"bits": 16, "dither": "tpdf"})), CD)
    song = np.random.default_rng(7).integers(-(2**29), 2**29, (3000, 1)).astype(np.int32)
    sf.write(tmp_path / "1.wav", song, 44_100, subtype="PCM_24")
    made = {1: Master(tmp_path / "1.wav", chain, len(song), digest(song >> 8 << 8))}
    join(programme([3000], [0]), made, CD, tmp_path / "image.wav")
    image = read(tmp_path / "image.wav")[:3000]
    assert np.array_equal(image[:, 0], image[:, 1])
    assert (image[:, 0] >> 16 != song[:, 0] >> 16).any(), "it was dithered"
