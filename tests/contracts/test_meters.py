"""What every meter has to do: registered by being in the folder, and independent of block boundaries."""

from __future__ import annotations

import math
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

import delivery.meters as meters_package
from delivery.audio.blocks import open_sound
from delivery.audio.plain_pcm import PlainPcm
from delivery.meters import figures, identify, measure, measure_blocks, meters_version
from delivery.model.figure import Reading, Subject
from tests.meters.memory import cut, facts, measured
from tests.signals import noise, sine

Array = NDArray[np.float64]

METERS = [member for member in meters_package._members() if hasattr(member, "update")]
DERIVED = [member for member in meters_package._members() if hasattr(member, "derive")]


def eventful(rate_hz: int, seconds: float, channels: int = 2, bits: int = 16) -> Array:
    """A little of everything: silence, bursts, clips, overs between samples, a pause, a crossing of the phases."""
    sound = noise(rate_hz, seconds, channels=channels, level_dbfs=-14, seed=7)
    sound[:, -1] += 0.6 * sound[:, 0]
    n = len(sound)
    sound[n // 3 : n // 3 + rate_hz // 2] *= [-1.0] * (channels - 1) + [3.0]
    sound[n // 2 : n // 2 + rate_hz // 4] = 0
    sound[: rate_hz // 50] = 0
    sound[-rate_hz // 30 :] *= 1e-4
    steps = 2 ** (bits - 1)
    return np.clip(np.rint(sound * steps), -steps, steps - 101) / steps


def same(one: Any, other: Any) -> bool:
    if isinstance(one, tuple):
        return len(one) == len(other) and all(same(a, b) for a, b in zip(one, other, strict=True))
    if isinstance(one, float):
        return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-9)
    return bool(one == other)


CUTS = [
    pytest.param(17, id="17"),
    pytest.param([1] * 3000 + [4096], id="1, then 4096"),
    pytest.param(10**9, id="whole"),
]


@pytest.mark.thorough(2)
@pytest.mark.parametrize("lengths", CUTS)
@pytest.mark.parametrize(("rate_hz", "channels", "seconds"), [(44_100, 2, 5), (8_000, 1, 4), (11_025, 5, 4)])
def test_blocks_do_not_matter(lengths: Any, rate_hz: int, channels: int, seconds: int) -> None:
    """A measurement is of the sound, not of how it was read."""
    sound = eventful(rate_hz, seconds, channels)
    whole = measure_blocks(facts(sound, rate_hz, "pcm", 16), cut(sound, 4096))
    cut_up = measure_blocks(facts(sound, rate_hz, "pcm", 16), cut(sound, lengths))
    differing = [name for name in whole if not same(whole[name].value, cut_up[name].value)]
    assert not differing, {name: (whole[name], cut_up[name]) for name in differing}


@pytest.mark.thorough
def test_blocks_of_one_do_not_matter() -> None:
    sound = eventful(8_000, 3.2)
    whole = measure_blocks(facts(sound, 8_000, "pcm", 16), [sound])
    ones = measure_blocks(facts(sound, 8_000, "pcm", 16), cut(sound, 1))
    assert [name for name in whole if not same(whole[name].value, ones[name].value)] == []


@pytest.mark.parametrize("meter", [one for one in METERS if getattr(one, "shares", None)], ids=lambda one: one.__name__)
def test_what_meters_share_changes_nothing(meter: Any) -> None:
    """A meter that is fed alone reads what it reads beside the others."""
    sound = eventful(44_100, 5)
    together, alone = measured(sound, 44_100), meter(facts(sound, 44_100))
    for block in cut(sound, 4096):
        alone.update(block)
    for figure, reading in zip(meter.gives, alone.result(), strict=True):
        assert same(reading.value, together[figure.name].value), figure.name


def test_memory_order_does_not_matter() -> None:
    """Blocks may come interleaved or channel by channel."""
    sound = eventful(44_100, 4)
    one = measure_blocks(facts(sound, 44_100), [np.ascontiguousarray(sound)])
    other = measure_blocks(facts(sound, 44_100), [np.asfortranarray(sound)])
    assert one == other


@pytest.mark.parametrize("meter", METERS, ids=lambda meter: meter.__name__)
@pytest.mark.parametrize("channels", [1, 2, 6])
def test_no_sound_at_all(meter: Any, channels: int) -> None:
    """Every figure has an answer, and where it has none it has a reason."""
    empty = np.zeros((0, channels))
    for feed in ([], [empty]):
        running = meter(facts(empty, 48_000))
        for block in feed:
            running.update(block)
        answers = running.result()
        assert len(answers) == len(meter.gives)
        for answer in answers:
            assert answer.exists != bool(answer.why_missing)


def finite(value: Any) -> bool:
    if isinstance(value, tuple):
        return all(finite(item) for item in value)
    return not isinstance(value, float) or math.isfinite(value)


HOSTILE = {
    "silence": np.zeros((50_000, 2)),
    "one frame": np.full((1, 2), 0.5),
    "two frames": np.array([[0.1, 0.2], [0.3, 0.4]]),
    "one channel silent": sine(100, 48_000, 4) * [0.5, 0.0],
    "inverted": sine(100, 48_000, 4) * [0.5, -0.5],
    "the same twice": sine(100, 48_000, 4) * [0.5, 0.5],
    "a constant": np.full((200_000, 2), 0.25),
    "one spike": np.eye(200_000, 2) * 0.9,
    "very quiet": noise(48_000, 4, level_dbfs=-150),
    "smallest numbers": np.full((200_000, 2), 5e-324),
    "far too loud": noise(48_000, 4, level_dbfs=60),
    "mono": noise(48_000, 4, channels=1),
    "eight channels": noise(48_000, 4, channels=8),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_no_reading_is_ever_infinite_or_no_number(name: str) -> None:
    """A value is a number one can print; everything else is missing, for a reason."""
    found = measured(HOSTILE[name], 48_000)
    assert {figure: reading for figure, reading in found.items() if not finite(reading.value)} == {}
    assert all(reading.exists != bool(reading.why_missing) for reading in found.values())
    assert set(found) == set(figures())


@pytest.mark.thorough(11)
@pytest.mark.parametrize("channels", [1, 2, 3, 6, 8, 24])
@pytest.mark.parametrize("rate_hz", [8_000, 11_025, 22_050, 32_000, 44_100, 96_000, 192_000, 352_800, 384_000])
def test_any_rate_and_any_number_of_channels_has_a_named_result(rate_hz: int, channels: int) -> None:
    """Every figure is there, printable, or has the reason it is missing."""
    sound = noise(rate_hz, 3.3 if channels < 3 and rate_hz < 50_000 else 0.45, channels=channels)
    found = measured(sound, rate_hz)
    assert set(found) == set(figures())
    assert {name for name, reading in found.items() if not finite(reading.value)} == set()
    assert {name for name, reading in found.items() if reading.exists == bool(reading.why_missing)} == set()
    assert found["true_peaks_dbtp"].exists
    assert len(found["rms_dbfs"].value) == len(found["dc_offsets_percent"].value) == channels
    assert channels == 2 or "two channels" in found["channel_delay_frames"].why_missing


@pytest.mark.parametrize("rotten", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize("at", [0, 70_000, -1])
def test_samples_that_are_not_numbers_are_counted_and_spoil_the_rest(rotten: float, at: int) -> None:
    sound = noise(48_000, 4)
    sound[at] = rotten
    found = measured(sound, 48_000)
    assert found["nonfinite_samples"] == Reading(2)
    assert found["frames"] == Reading(len(sound))
    assert found["audio_hash"].exists
    for figure in ("integrated_lufs", "true_peak_dbtp", "dc_offset_percent", "correlation", "plr_db", "lead_in_s"):
        assert found[figure] == Reading.missing("the file has samples that are not numbers")


def test_every_figure_has_a_sentence() -> None:
    """Figures are the vocabulary of specs and reports: unit, digits, one plain sentence, a source."""
    reported = figures()
    assert list(reported) == sorted(reported)
    assert len(reported) > 50
    for figure in reported.values():
        assert figure.sentence.endswith("."), figure.name
        assert figure.source, figure.name
    suffixes = {"lufs": "LUFS", "dbtp": "dBTP", "dbfs": "dBFS", "hz": "Hz", "percent": "%", "lu": "LU"}
    for name, figure in reported.items():
        wanted = suffixes.get(name.rpartition("_")[2])
        assert wanted in (None, figure.unit), name


def test_every_figure_has_a_subject() -> None:
    """Figures are listed by subject: a meter names one for all its figures, and a figure may name its own."""
    assert [name for name, figure in figures().items() if figure.subject is Subject.OTHER] == []
    assert figures()["momentary_max_lufs"].subject is Subject.LOUDNESS
    assert figures()["gating_powers"].subject is Subject.MATERIAL


def test_rows_are_labelled() -> None:
    """A row of rows names its columns; a row of numbers along another figure names that figure."""
    reported, found = figures(), measured(eventful(44_100, 5), 44_100)
    rows = {
        name: reading.value for name, reading in found.items() if isinstance(reading.value, tuple) and reading.value
    }
    assert len(rows) > 10
    for name, row in rows.items():
        if isinstance(row[0], tuple):
            assert len(reported[name].columns) == len(row[0]), name
        else:
            assert reported[name].columns == (), name
    for name, figure in reported.items():
        axis = found[figure.along].value if figure.along else None
        if isinstance(axis, tuple) and found[name].exists:
            assert len(axis) == len(found[name].value), name


def test_derived_figures_need_figures_that_are_given() -> None:
    given = {figure.name for meter in METERS for figure in meter.gives}
    assert DERIVED
    for member in DERIVED:
        assert set(member.needs) <= given


def test_two_members_may_not_give_one_figure(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(meters_package, "_members", lambda: [METERS[0], METERS[0]])
    with pytest.raises(ValueError, match="two members are called"):
        figures.__wrapped__()  # type: ignore[attr-defined]


def test_version_depends_on_the_source_text(monkeypatch: pytest.MonkeyPatch) -> None:
    """A cache of readings is only good while the meters are the same."""
    assert len(meters_version()) == 64
    source = meters_package._sources
    monkeypatch.setattr(
        meters_package, "_sources", lambda package: [(name, text + b" ") for name, text in source(package)]
    )
    assert meters_version.__wrapped__() != meters_version()  # type: ignore[attr-defined]
    read: list[str] = []
    monkeypatch.setattr(
        meters_package, "_sources", lambda package: (read.append(n) or (n, t) for n, t in source(package))
    )
    meters_version.__wrapped__()  # type: ignore[attr-defined]
    modules = set(read)
    assert {
        "meters/loudness.py",
        "dsp/loudness/k_weighting.py",
        "meters/__init__.py",
    } <= modules
    assert {"audio/speakers.py", "model/speakers.py"} <= modules  # they decide loudness as well


def test_the_same_from_file_and_from_memory(tmp_path: Path) -> None:
    """The pipeline adds no sample and loses none on the way from the file."""
    sound = eventful(44_100, 4)
    path = tmp_path / "a.wav"
    soundfile.write(path, sound, 44_100, subtype="PCM_16")
    with open_sound(path) as opened:
        in_memory = measure_blocks(opened.facts, cut(sound, 5000))
    on_disk = measure(path)
    assert [name for name in on_disk if not same(on_disk[name].value, in_memory[name].value)] == []
    known = identify(path)
    assert {"container", "frames", "duration_s", "bits", "audio_hash"} <= set(known) < set(on_disk)
    assert all(known[name] == on_disk[name] for name in known)


@pytest.mark.parametrize("subtype", ["PCM_16", "PCM_24", "PCM_32", "FLOAT"])
@pytest.mark.parametrize("container", ["WAV", "AIFF"])
@pytest.mark.parametrize(("channels", "frames"), [(1, 7), (1, 3_001), (2, 4_001), (3, 999)])
def test_a_file_is_identified_by_the_figures_that_measuring_gives(
    tmp_path: Path, subtype: str, container: str, channels: int, frames: int
) -> None:
    """Identifying reads integers as the file stores them, measuring as floats; the hash is of one sound."""
    noise = np.random.default_rng(frames).uniform(-1, 1, (frames, channels))
    path = tmp_path / "a"
    soundfile.write(path, noise, 44_100, subtype=subtype, format=container)
    known, measured = identify(path), measure(path)
    assert all(known[name] == measured[name] for name in known)


def test_sound_that_is_known_is_not_read_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.wav"
    soundfile.write(path, eventful(44_100, 1), 44_100, subtype="PCM_24")
    known = identify(path)
    monkeypatch.setattr(PlainPcm, "_read", None)
    assert identify(path, known) == known


def test_measuring_leaves_the_file_alone(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    soundfile.write(path, eventful(44_100, 1), 44_100, subtype="PCM_24")
    copy = shutil.copy2(path, tmp_path / "b.wav")
    measure(path)
    assert path.read_bytes() == Path(copy).read_bytes()
    assert path.stat().st_mtime_ns == Path(copy).stat().st_mtime_ns
