"""Chains carried out: same samples where nothing is ordered, what is ordered and no more, and nothing incomplete."""

from __future__ import annotations

import errno
import os
import shutil
import tracemalloc
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from delivery.audio.blocks import open_sound
from delivery.chain.prediction import converted_frames
from delivery.chain.render import render
from delivery.errors import NoSpace, Occupied, Unfinished, Unusable
from delivery.meters import identify
from delivery.model.chain import Chain, Step, StepKind, Target
from tests.signals import noise, sine

SUBTYPES = {8: "PCM_U8", 16: "PCM_16", 24: "PCM_24", 32: "PCM_32"}


def some_integers(frames: int, channels: int, bits: int) -> NDArray[np.int32]:
    values = np.random.default_rng(frames).integers(-(2 ** (bits - 1)), 2 ** (bits - 1), (frames, channels))
    return (values << (32 - bits)).astype(np.int32)


def master(folder: Path, x: NDArray[np.float64] | NDArray[np.int32], rate_hz: int = 44_100, bits: int = 24) -> Path:
    """A WAV of these samples, or of these floats."""
    subtype = SUBTYPES[bits] if x.dtype == np.int32 else "DOUBLE"
    path = folder / "master.wav"
    soundfile.write(path, x, rate_hz, subtype)
    return path


def chain(target: Target, *steps: tuple[StepKind, dict[str, object]]) -> Chain:
    return Chain(tuple(Step(kind, kind.value, "a test orders it", given) for kind, given in steps), target)


def rounded(bits: int, dither: str = "tpdf") -> tuple[StepKind, dict[str, object]]:
    return StepKind.REQUANTISE, {"bits": bits, "dither": dither, "from_bits": 24}


def sound(path: Path) -> NDArray[np.float64]:
    with open_sound(path) as file:
        return np.concatenate(list(file.blocks()))


@settings(max_examples=60)
@given(
    container=st.sampled_from(["wav", "aiff", "flac", "m4a"]),
    bits=st.sampled_from([(8, 16), (16, 16), (16, 24), (24, 24), (16, 32), (32, 32)]),
    rate_hz=st.sampled_from([22_050, 44_100, 48_000, 88_200, 96_000, 192_000]),
    channels=st.integers(1, 6),
    frames=st.integers(1, 70_000),
)
def test_another_container_holds_the_same_samples(
    container: str, bits: tuple[int, int], rate_hz: int, channels: int, frames: int
) -> None:
    have, wanted = bits
    if wanted == 32 and container in ("flac", "m4a"):
        wanted = have = 24
    channels = min(channels, 2) if container == "m4a" else channels
    values = some_integers(frames, channels, have)
    with TemporaryDirectory() as folder:
        source, target = master(Path(folder), values, rate_hz, have), Path(folder) / "target"
        ordered = chain(Target(container, "pcm", rate_hz, channels, wanted), (StepKind.REWRAP, {}))
        render(source, ordered, target, "seed")
        with open_sound(target) as file:
            assert (file.facts.container, file.facts.bits) == (container, wanted)
            assert np.array_equal(np.concatenate(list(file.blocks())) * 2.0**31, values)


def test_a_copy_is_the_same_bytes(tmp_path: Path) -> None:
    """Tags and foreign chunks included; also a file that no reader can decode."""
    source = tmp_path / "master.wav"
    source.write_bytes(bytes(range(256)) * 5000)
    render(source, chain(Target("wav", "pcm", 44_100, 2, 24), (StepKind.COPY, {})), tmp_path / "out.wav", "seed")
    assert (tmp_path / "out.wav").read_bytes() == source.read_bytes()


def test_a_copy_of_a_missing_master_is_one_clear_message(tmp_path: Path) -> None:
    """A master that was moved while a build runs is no matter of free space."""
    copied = chain(Target("wav", "pcm", 44_100, 2, 24), (StepKind.COPY, {}))
    with pytest.raises(Unfinished) as refused:
        render(tmp_path / "master.wav", copied, tmp_path / "out.wav", "seed")
    assert str(refused.value) == (
        "master.wav: found No such file or directory, wanted the master that was measured. Put it back and build again."
    )
    source = tmp_path / "master.wav"
    source.write_bytes(b"x")
    with pytest.raises(
        Unfinished, match=r"found No such file or directory, wanted a copy to its end\. Check the disk's"
    ):
        render(source, copied, tmp_path / "no folder" / "out.wav", "seed")


def test_a_disk_that_fills_while_copying_is_named_and_nothing_is_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    source, target = master(tmp_path, some_integers(1000, 2, 24)), tmp_path / "out.wav"
    whole = source.read_bytes()

    def fills(source: Path, target: Path) -> None:
        """As the system reports it: both files are named."""
        target.write_bytes(whole[:100])
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(source), None, str(target))

    monkeypatch.setattr(shutil, "copyfile", fills)
    with pytest.raises(NoSpace) as refused:
        render(source, chain(Target("wav", "pcm", 44_100, 2, 24), (StepKind.COPY, {})), target, "seed")
    assert "out.wav: found no space left on device" in str(refused.value)
    assert "for out.wav" in str(refused.value)
    assert not target.exists()
    assert source.read_bytes() == whole


@pytest.mark.parametrize(("silence", "zeros"), [("zero", True), ("dithered", False)])
def test_digital_silence_at_the_ends_stays_zero_only_where_ordered(tmp_path: Path, silence: str, zeros: bool) -> None:
    values = np.pad(some_integers(4000, 2, 24), ((3000, 3000), (0, 0)))
    source, target = master(tmp_path, values), tmp_path / "out.wav"
    kind, settings_of_step = rounded(16, "tpdf")
    step = (kind, settings_of_step | {"silence": silence})
    render(source, chain(Target("wav", "pcm", 44_100, 2, 16), step), target, "seed")
    written = sound(target)
    assert written[:3000].any() != zeros
    assert written[-3000:].any() != zeros
    assert written[3000:-3000].any()


def test_extensible_header_where_a_step_requires_it(tmp_path: Path) -> None:
    source = master(tmp_path, some_integers(10, 2, 24))
    ordered = chain(Target("wav", "pcm", 44_100, 2, 24), (StepKind.REWRAP, {"extensible": True}))
    render(source, ordered, tmp_path / "out.wav", "seed")
    with open_sound(tmp_path / "out.wav") as file:
        assert file.facts.extensible


def test_integers_to_floats_and_back(tmp_path: Path) -> None:
    values = some_integers(1001, 2, 24)
    source = master(tmp_path, values)
    floats, back = tmp_path / "floats.wav", tmp_path / "back.wav"
    render(source, chain(Target("wav", "float", 44_100, 2, 32), (StepKind.REWRAP, {})), floats, "seed")
    render(floats, chain(Target("wav", "pcm", 44_100, 2, 24), (StepKind.REWRAP, {})), back, "seed")
    assert soundfile.info(floats).subtype == "FLOAT"
    assert np.array_equal(sound(back) * 2.0**31, values)


@pytest.mark.parametrize(
    ("bits", "target", "finer_than"),
    [
        (24, Target("wav", "pcm", 44_100, 2, 16), "16-bit words"),
        (32, Target("wav", "pcm", 44_100, 2, 24), "24-bit words"),
        (32, Target("wav", "float", 44_100, 2, 32), "32-bit floats"),
    ],
)
def test_a_container_too_small_is_refused(tmp_path: Path, bits: int, target: Target, finer_than: str) -> None:
    source = master(tmp_path, some_integers(1000, 2, bits), bits=bits)
    with pytest.raises(Unusable, match=f"samples finer than {finer_than} can store"):
        render(source, chain(target, (StepKind.REWRAP, {})), tmp_path / "out.wav", "seed")
    assert not (tmp_path / "out.wav").exists()


@pytest.mark.parametrize(
    ("steps", "target", "fault"),
    [
        ((), Target("wav", "pcm", 44_100, 2, 24), "no steps"),
        ((StepKind.COPY, StepKind.GAIN), Target("wav", "pcm", 44_100, 2, 24), "used without other steps"),
        ((StepKind.GAIN, StepKind.RATE, StepKind.REQUANTISE), Target("wav", "pcm", 44_100, 2, 24), "the order is"),
        ((StepKind.REQUANTISE, StepKind.GAIN), Target("wav", "pcm", 44_100, 2, 24), "the order is"),
        ((StepKind.REQUANTISE, StepKind.REQUANTISE), Target("wav", "pcm", 44_100, 2, 24), "the order is"),
        ((StepKind.GAIN,), Target("wav", "pcm", 44_100, 2, 24), "require dither and rounding as the last step"),
        ((StepKind.RATE,), Target("flac", "pcm", 44_100, 2, 24), "require dither and rounding as the last step"),
        ((StepKind.GAIN,), Target("mp3", "mp3", 44_100, 2, None, 320), "cannot end as mp3"),
        ((StepKind.GAIN, StepKind.ENCODE), Target("wav", "pcm", 44_100, 2, 24), "cannot end as pcm"),
        ((StepKind.REQUANTISE, StepKind.ENCODE), Target("mp3", "mp3", 44_100, 2, None, 320), "no integers to round to"),
        ((StepKind.REQUANTISE,), Target("wav", "float", 44_100, 2, 32), "no integers to round to"),
    ],
)
def test_what_no_plan_may_order(tmp_path: Path, steps: tuple[StepKind, ...], target: Target, fault: str) -> None:
    source = master(tmp_path, some_integers(10, 2, 24))
    with pytest.raises(ValueError, match=fault):
        render(source, chain(target, *((kind, {}) for kind in steps)), tmp_path / "out", "seed")
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    "ordered",
    [
        chain(Target("wav", "pcm", 48_000, 2, 16), rounded(16)),
        chain(Target("wav", "pcm", 44_100, 1, 16), rounded(16)),
        chain(Target("wav", "pcm", 44_100, 2, 16), (StepKind.RATE, {"from_hz": 96_000, "to_hz": 44_100}), rounded(16)),
    ],
)
def test_a_plan_made_for_another_source(tmp_path: Path, ordered: Chain) -> None:
    source = master(tmp_path, some_integers(10, 2, 24))
    with pytest.raises(ValueError, match="a plan for another source: 44100 Hz, 2 channels"):
        render(source, ordered, tmp_path / "out.wav", "seed")


def to_integers(folder: Path, x: NDArray[np.float64], bits: int, *before: tuple[StepKind, dict[str, object]]) -> Path:
    """Floats at 44.1 kHz through *before* and one dithered rounding."""
    target = folder / f"out{len(list(folder.iterdir()))}.wav"
    ordered = chain(Target("wav", "pcm", 44_100, x.shape[1], bits), *before, rounded(bits))
    render(master(folder, x), ordered, target, "seed")
    return target


def test_an_over_is_not_clipped_and_the_highest_is_reported(tmp_path: Path) -> None:
    """Two overs, blocks apart: the message is about the second, larger one. 20 lg 1.25 = 1.938 dB."""
    x = np.zeros((200_000, 2))
    x[100, 0], x[150_000, 1] = 1.01, -1.25
    with pytest.raises(Unusable) as caught:
        to_integers(tmp_path, x, 16)
    assert str(caught.value) == (
        "master.wav: found a sample 1.94 dB over full scale at 3.401 s in channel 2, wanted no sample beyond full "
        "scale, which integer samples cannot hold. "
        "A master 1.94 dB lower, or a spec that permits gain down to the ceiling"
    )
    assert [path.name for path in tmp_path.iterdir()] == ["master.wav"]


def test_the_stated_gain_exactly_cures_an_over(tmp_path: Path) -> None:
    x = np.zeros((1000, 1))
    x[100] = 1.25
    out = to_integers(tmp_path, x, 16, (StepKind.GAIN, {"gain_db": -1.94}))
    assert sound(out).max() == pytest.approx(1.25 * 10 ** (-1.94 / 20), abs=2 / 32_768)


@pytest.mark.parametrize("bits", [16, 24])
@pytest.mark.parametrize(("halves_over", "passes"), [(0, True), (1, True), (1.01, False)])
def test_full_scale_is_no_over_but_half_a_step_more_is(
    tmp_path: Path, bits: int, halves_over: float, passes: bool
) -> None:
    """Both limits; what noise adds to a sample at full scale stops there."""
    step = 2.0 ** (1 - bits)
    x = np.tile([[1 + halves_over * step / 2, -1 - halves_over * step / 2]], (1000, 1))
    if not passes:
        with pytest.raises(Unusable, match="over full scale"):
            to_integers(tmp_path, x, bits)
        return
    y = sound(to_integers(tmp_path, x, bits))
    assert y[:, 0].max() == 1 - step
    assert y[:, 1].min() == -1
    assert np.abs(y - x).max() <= 2.5 * step


def test_the_highest_24_bit_sample_goes_into_16_bits(tmp_path: Path) -> None:
    values = np.full((1000, 1), (2**23 - 1) << 8, dtype=np.int32)
    render(
        master(tmp_path, values),
        chain(Target("wav", "pcm", 44_100, 1, 16), rounded(16)),
        tmp_path / "out.wav",
        "seed",
    )
    assert set(np.unique(sound(tmp_path / "out.wav") * 32_768)) <= {32_766.0, 32_767.0}


@pytest.mark.parametrize("wrong", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize(
    "ordered",
    [
        chain(Target("wav", "pcm", 44_100, 2, 16), rounded(16)),
        chain(Target("wav", "float", 48_000, 2, 32), (StepKind.RATE, {"from_hz": 44_100, "to_hz": 48_000})),
        chain(Target("mp3", "mp3", 44_100, 2, None, 320), (StepKind.ENCODE, {})),
    ],
)
def test_a_sample_that_is_no_number_stops_everything(tmp_path: Path, wrong: float, ordered: Chain) -> None:
    x = noise(44_100, 1)
    x[22_050, 1] = wrong
    with pytest.raises(Unusable, match=r"a sample that is not a number at 0\.500 s in channel 2"):
        render(master(tmp_path, x), ordered, tmp_path / "out", "seed")
    assert not (tmp_path / "out").exists()


def test_aac_is_not_given_what_its_encoder_would_turn_down(tmp_path: Path) -> None:
    ordered = chain(Target("m4a", "aac", 44_100, 1, None, 128), (StepKind.ENCODE, {}))
    lowered = chain(
        Target("m4a", "aac", 44_100, 1, None, 128), (StepKind.GAIN, {"gain_db": -0.45}), (StepKind.ENCODE, {})
    )
    source = master(tmp_path, sine(997, 44_100, 1) * 0.999)
    with pytest.raises(Unusable, match=r"0\.44 dB over -0\.45 dBFS .* A master 0\.44 dB lower"):
        render(source, ordered, tmp_path / "out.m4a", "seed")
    render(source, lowered, tmp_path / "out.m4a", "seed")


def test_rate_gain_and_rounding_together(tmp_path: Path) -> None:
    """96 to 44.1 kHz, 3 dB down, 16 bits: right length, right level, right rate, and dither's own error only."""
    x = sine(997, 96_000, 2, level_dbfs=-6) * [1.0, 0.5]
    ordered = chain(
        Target("flac", "pcm", 44_100, 2, 16),
        (StepKind.RATE, {"from_hz": 96_000, "to_hz": 44_100}),
        (StepKind.GAIN, {"gain_db": -3.0}),
        rounded(16),
    )
    render(master(tmp_path, x, 96_000), ordered, tmp_path / "out.flac", "seed")
    y = sound(tmp_path / "out.flac")
    assert len(y) == converted_frames(len(x), 96_000, 44_100) == 88_200
    error = (y - sine(997, 44_100, 2, level_dbfs=-9) * [1.0, 0.5])[2_000:-2_000]
    assert error.var() * 32_768**2 == pytest.approx(0.25, rel=0.02)  # TPDF: a quarter step squared


def test_floats_stay_floats_after_rate_and_gain(tmp_path: Path) -> None:
    """No rounding to samples on the way, and what is beyond full scale stays so."""
    x = sine(997, 48_000, 1, level_dbfs=3)
    ordered = chain(
        Target("wav", "float", 96_000, 1, 64),
        (StepKind.RATE, {"from_hz": 48_000, "to_hz": 96_000}),
        (StepKind.GAIN, {"gain_db": 1.0}),
    )
    render(master(tmp_path, x, 48_000), ordered, tmp_path / "out.wav", "seed")
    error = (sound(tmp_path / "out.wav") - sine(997, 96_000, 1, level_dbfs=4))[2_000:-2_000]
    assert np.abs(error).max() < 1e-7


@pytest.mark.parametrize("coding", ["mp3", "aac", "opus"])
def test_to_a_lossy_copy_by_way_of_another_rate(tmp_path: Path, coding: str) -> None:
    x = noise(96_000, 1)
    ordered = chain(
        Target({"aac": "m4a"}.get(coding, coding), coding, 48_000, 2, None, 256),
        (StepKind.RATE, {"from_hz": 96_000, "to_hz": 48_000}),
        (StepKind.ENCODE, {"coding": coding, "bitrate_kbps": 256}),
    )
    render(master(tmp_path, x, 96_000), ordered, tmp_path / "out", "seed")
    with open_sound(tmp_path / "out") as file:
        assert (file.facts.coding, file.facts.rate_hz, file.facts.frames) == (coding, 48_000, 48_000)


def test_same_seed_same_bytes_other_seed_other_bytes(tmp_path: Path) -> None:
    source = master(tmp_path, noise(44_100, 1))
    ordered = chain(Target("flac", "pcm", 44_100, 2, 16), rounded(16))
    for name, seed in (("a", "one"), ("b", "one"), ("c", "two")):
        render(source, ordered, tmp_path / name, seed)
    a, b, c = ((tmp_path / name).read_bytes() for name in "abc")
    assert a == b != c


def test_a_shaped_dither_where_it_does_not_belong(tmp_path: Path) -> None:
    source = master(tmp_path, noise(96_000, 0.1), 96_000)
    with pytest.raises(Unusable, match="'f-weighted-9' at 96000 Hz"):
        render(source, chain(Target("wav", "pcm", 96_000, 2, 16), rounded(16, "f-weighted-9")), tmp_path / "out", "s")


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    source = master(tmp_path, some_integers(10, 2, 24))
    before = source.read_bytes()
    for kind in (StepKind.COPY, StepKind.REWRAP):
        with pytest.raises(Occupied, match="Nothing is ever overwritten"):
            render(source, chain(Target("wav", "pcm", 44_100, 2, 24), (kind, {})), source, "seed")
    assert source.read_bytes() == before


@pytest.mark.parametrize("kind", [StepKind.COPY, StepKind.REWRAP])
def test_a_folder_that_went_away(tmp_path: Path, kind: StepKind) -> None:
    source = master(tmp_path, some_integers(10, 2, 24))
    with pytest.raises(Unfinished):
        render(source, chain(Target("wav", "pcm", 44_100, 2, 24), (kind, {})), tmp_path / "gone" / "out.wav", "seed")


def test_an_interrupt_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from delivery.dsp.writing.dither import Requantiser

    def interrupted(_self: Requantiser, _block: NDArray[np.float64]) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Requantiser, "update", interrupted)
    with pytest.raises(KeyboardInterrupt):
        to_integers(tmp_path, noise(44_100, 0.1), 16)
    assert [path.name for path in tmp_path.iterdir()] == ["master.wav"]


def test_memory_does_not_grow_with_length(tmp_path: Path) -> None:
    """Peak of what Python and numpy hold, for 10 s and for 60 s of the longest chain."""
    ordered = chain(
        Target("wav", "pcm", 44_100, 2, 16),
        (StepKind.RATE, {"from_hz": 96_000, "to_hz": 44_100}),
        (StepKind.GAIN, {"gain_db": -1.0}),
        rounded(16),
    )

    def peak_bytes(seconds: int) -> int:
        source = master(tmp_path, np.zeros((96_000 * seconds, 2), np.int32), 96_000)
        tracemalloc.start()
        render(source, ordered, tmp_path / f"{seconds}.wav", "seed")
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return peak

    peak_bytes(1)  # what is loaded once
    assert peak_bytes(60) < peak_bytes(10) + 1_000_000
    assert peak_bytes(61) < 30_000_000


FORMS = [("wav", "pcm", 16), ("aiff", "pcm", 24), ("flac", "pcm", 16), ("m4a", "pcm", 24), ("wav", "float", 32)]


@pytest.mark.parametrize(("container", "coding", "bits"), [*FORMS, ("wav", "float", 64)])
def test_what_was_handed_to_the_writer_is_what_the_file_holds(
    tmp_path: Path, container: str, coding: str, bits: int
) -> None:
    """Its hash is returned by the renderer, and anybody can measure the same name from the file."""
    last = [rounded(bits)] if coding == "pcm" else []
    ordered = chain(Target(container, coding, 44_100, 2, bits), (StepKind.GAIN, {"gain_db": -1.0}), *last)
    reported = render(master(tmp_path, noise(44_100, 1)), ordered, tmp_path / "out", "seed")
    assert reported == identify(tmp_path / "out").value("audio_hash")


def test_one_deliverable_holds_equal_samples_in_every_container(tmp_path: Path) -> None:
    source = master(tmp_path, noise(96_000, 1), 96_000)
    before = (StepKind.RATE, {"from_hz": 96_000, "to_hz": 44_100})
    reported = {
        render(source, chain(Target(kind, "pcm", 44_100, 2, 16), before, rounded(16)), tmp_path / kind, "seed")
        for kind in ("wav", "aiff", "flac", "m4a")
    }
    read = {identify(tmp_path / kind).value("audio_hash") for kind in ("wav", "aiff", "flac", "m4a")}
    assert len(reported) == 1
    assert read == reported


def test_no_positions_for_samples_that_decode_differently(tmp_path: Path) -> None:
    ordered = chain(Target("mp3", "mp3", 44_100, 2, None, 320), (StepKind.ENCODE, {}))
    assert render(master(tmp_path, noise(44_100, 1)), ordered, tmp_path / "out", "seed") == ""


@pytest.mark.parametrize(
    "target",
    [
        Target("flac", "float", 44_100, 2, 32),
        Target("flac", "pcm", 44_100, 2, 12),
        Target("no such", "pcm", 44_100, 2, 16),
    ],
)
def test_a_form_that_no_container_declares_is_refused_before_anything_is_written(target: Target) -> None:
    from delivery.chain.render import _pcm_form

    with pytest.raises(Unusable, match=rf"{target.container}: found {target.bits}-bit {target.coding}"):
        _pcm_form(Chain((), target), target.bits or 0, 0)
