"""What `check` predicts of a file is what `build` makes: random masters, random specs, cases that once differed."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any
from unittest.mock import DEFAULT, patch

import numpy as np
import pytest
import soundfile
from hypothesis import HealthCheck, Phase, assume, event, given, settings
from hypothesis import strategies as st

from delivery.dsp.writing.dither import dithers
from delivery.errors import Faulty
from delivery.meters import measure
from delivery.model.carrier import Carrier
from delivery.model.finding import Result
from delivery.model.part import Delivery, Part
from delivery.model.release import Studio, Waiver
from delivery.model.spec import Conversions, Requirement, Spec
from delivery.pipeline import Built, Options, build, check, package, resolve_request
from delivery.pipeline.request import Request, bare_release, numbers
from delivery.rules.bounds import bounded
from tests.albums import Song, write_album
from tests.signals import Array

FINE = (Result.READY, Result.REMARKS)
CODINGS = {"wav": ("pcm", "float"), "aiff": ("pcm",), "flac": ("pcm",), "m4a": ("pcm", "aac"), "mp3": ("mp3",)}
CODINGS["opus"] = ("opus",)


@dataclass(frozen=True)
class Master:
    rate_hz: int
    channels: int
    subtype: str
    kind: str
    level_dbfs: float
    seed: int
    seconds: float = 0.2

    def write(self, path: Path) -> None:
        soundfile.write(path, self.sound(), self.rate_hz, self.subtype)

    def sound(self) -> Array:
        frames = round(self.seconds * self.rate_hz)
        x = np.random.default_rng(self.seed).standard_normal((frames, self.channels))
        if self.kind == "tone":
            x = np.sin(2 * np.pi * 997 * np.arange(frames) / self.rate_hz)[:, None] * np.ones(self.channels)
        if self.kind == "clipped":
            x = np.clip(x, -1, 1)
        if self.kind == "square":
            x = np.sign(np.sin(2 * np.pi * 441 * np.arange(frames) / self.rate_hz))[:, None] * np.ones(self.channels)
        if self.kind == "dull":
            x = np.cumsum(x, axis=0) - np.linspace(0, 1, frames)[:, None] * x.sum(axis=0)
        if self.kind == "bursts":
            x *= (np.abs(np.linspace(-1, 1, frames)) > 0.7)[:, None] + 0.02
        if self.kind == "silence":
            return np.zeros((frames, self.channels))
        if self.kind == "short words":
            x = np.round(x / np.abs(x).max() * 2**14) / 2**14
        return np.asarray(10 ** (self.level_dbfs / 20) * x / np.abs(x).max())


def request(folder: Path, masters: list[Master], spec: Spec) -> Request:
    """A release of sound alone: nothing but the files can be wrong."""
    for number, master in enumerate(masters, start=1):
        master.write(folder / f"{number}.wav")
    release = bare_release(tuple(sorted(folder.glob("*.wav"))))
    return Request(release, (bounded(spec, numbers()),), Studio(), lambda: (None, ""))


def spec_of(requires: dict[str, tuple[Any, bool]], convert: dict[str, str], **more: Any) -> Spec:
    day = date(2026, 11, 28)
    requirements = tuple(
        Requirement(key, limit, must, "test", day, "test", "test.yaml:1") for key, (limit, must) in requires.items()
    )
    return Spec("test", "Test", "", day, requirements, Conversions(**convert), **more)


def both(masters: list[Master], spec: Spec) -> tuple[Delivery, Built]:
    """The same release checked and built; papers and sheets are left out, for they only cost time here."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "in").mkdir()
        requested = request(folder / "in", masters, spec)
        with patch.multiple(package, write=DEFAULT, sealed=DEFAULT, mail_beside=DEFAULT):
            return check(requested, Options(1)), build(requested, folder / "out", Options(1))


def agree(checked: Delivery, built: Built) -> None:
    made = built.delivery
    assert Result.UNUSABLE not in (checked.result, made.result), [_why(part) for part in made.parts]
    for before, after in zip(checked.parts, made.parts, strict=True):
        assert (before.result in FINE) == (after.result in FINE), (_why(before), _why(after))
    assert (checked.result in FINE) == (made.result in FINE)
    if any(spec.carrier for spec in made.specs):
        shipped = {bool(image.shipped) for image in made.images}
        assert shipped <= {checked.result in FINE}
    else:
        assert [bool(part.shipped) for part in made.parts] == [part.result in FINE for part in checked.parts]


def _why(part: Part) -> list[str]:
    text = [f"{each.rule}: {each.found}, wanted {each.wanted}" for each in part.findings if each.result not in FINE]
    steps = [step.sentence for step in part.chain.steps] if part.chain else []
    return [part.problem, *text, *steps]


MASTERS = st.builds(
    Master,
    rate_hz=st.sampled_from([22_050, 44_100, 48_000, 88_200, 96_000, 192_000]),
    channels=st.sampled_from([1, 2, 2, 2, 6]),
    subtype=st.sampled_from(["PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE"]),
    kind=st.sampled_from(["noise", "clipped", "tone", "square", "silence", "short words"]),
    level_dbfs=st.one_of(st.floats(-3, 0.3), st.sampled_from([-30.0, -1.0005, -1.0, -0.9995, 0.0, 4.0])),
    seed=st.integers(0, 1000),
)


@st.composite
def specs(draw: st.DrawFn) -> Spec:
    container = draw(st.sampled_from(list(CODINGS)))
    coding = draw(st.sampled_from(CODINGS[container]))
    requires: dict[str, tuple[Any, bool]] = {"container": ([container], True), "coding": ([coding], True)}
    few = {"min_size": 1, "max_size": 2, "unique": True}
    if draw(st.booleans()):
        requires["rate_hz"] = draw(st.lists(st.sampled_from([44_100, 48_000, 96_000]), **few)), True  # type: ignore[arg-type]
    if coding == "pcm" and draw(st.booleans()):
        requires["bits"] = draw(st.lists(st.sampled_from([16, 24, 32]), **few)), True  # type: ignore[arg-type]
    if draw(st.booleans()):
        requires["channels"] = [1, 2], draw(st.booleans())
    peak = draw(st.sampled_from(["", "true_peak_max_dbtp", "sample_peak_max_dbfs"]))
    if peak:
        requires[peak] = draw(st.sampled_from([0.0, -1.0, -3.0])), draw(st.booleans())
    convert = {
        "rate": draw(st.sampled_from(["never", "lower", "any"])),
        "depth": draw(st.sampled_from(["never", "lower"])),
        "dither": draw(st.sampled_from(["tpdf", "tpdf", *dithers()])),
        "silence": draw(st.sampled_from(["zero", "dithered"])),
        "gain": draw(st.sampled_from(["never", "down_to_ceiling"])) if peak else "never",
        "gain_scope": draw(st.sampled_from(["track", "album"])),
    }
    kbps = draw(st.sampled_from([None, 64, 128, 256, 320])) if coding not in ("pcm", "float") else None
    quality = draw(st.sampled_from([None, 0, 4])) if coding == "mp3" and kbps is None else None
    carrier = Carrier("vinyl") if (container, coding, convert["gain"]) == ("wav", "pcm", "never") else None
    if carrier and draw(st.booleans()):
        carrier = None
    return spec_of(requires, convert, bitrate_kbps=kbps, vbr_quality=quality, carrier=carrier, embed_tags=False)


@settings(
    max_examples=60,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
    phases=(Phase.explicit, Phase.generate, Phase.shrink),
)
@given(st.lists(MASTERS, min_size=1, max_size=2), specs())
def test_they_never_disagree(masters: list[Master], spec: Spec) -> None:
    """Neither on a file nor on the whole, and what can be read is never called unusable."""
    checked, built = both(masters, spec)
    event(f"{spec.limit('coding')[0]}: {'made' if checked.result in FINE else 'not made'}")
    agree(checked, built)


FIGURES = {
    "integrated_lufs": ("integrated_lufs", "window"),
    "momentary_max_lufs": ("momentary_max_lufs", "most"),
    "short_term_max_lufs": ("short_term_max_lufs", "most"),
    "loudness_range_max_lu": ("loudness_range_lu", "most"),
    "rms_dbfs": ("programme_rms_dbfs", "window"),
    "noise_floor_max_dbfs": ("noise_floor_dbfs", "most"),
    "true_peak_max_dbtp": ("true_peak_dbtp", "most"),
    "dc_offset_max_percent": ("dc_offset_percent", "most"),
    "clip_runs_max": ("clip_runs", "count"),
}
"""Spec key of a must -> the figure it limits, and how."""


def limit_near(kind: str, value: float, apart: float) -> Any:
    """A limit that lies *apart* above the figure; a window begins or ends there."""
    if kind == "window":
        return {"at_most": value + apart, "at_least": -90.0} if apart >= 0 else {"at_least": value + apart}
    return max(0, round(value)) if kind == "count" else value + apart


@pytest.mark.thorough
@settings(
    max_examples=50,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
    phases=(Phase.explicit, Phase.generate, Phase.shrink),
)
@given(
    masters=st.lists(
        st.builds(
            Master,
            rate_hz=st.sampled_from([44_100, 44_100, 48_000, 96_000]),
            channels=st.sampled_from([1, 2, 2]),
            subtype=st.sampled_from(["PCM_16", "PCM_24", "FLOAT"]),
            kind=st.sampled_from(["noise", "dull", "clipped", "tone", "square", "bursts"]),
            level_dbfs=st.sampled_from([-30.0, -12.0, -3.0, -0.5]),
            seed=st.integers(0, 1000),
            seconds=st.sampled_from([0.9, 3.3]),
        ),
        min_size=1,
        max_size=2,
    ),
    spec=specs(),
    key=st.sampled_from(list(FIGURES)),
    apart=st.sampled_from([-0.3, -0.01, -0.001, 0.0, 0.001, 0.01, 0.05, 0.3, 1.0]),
    of=st.integers(0, 1),
)
def test_nor_do_they_about_figures_that_lie_by_their_limit(
    masters: list[Master], spec: Spec, key: str, apart: float, of: int
) -> None:
    """Loudness and levels of songs and sides within hundredths of a must: dither, converters, encoders decide."""
    figure, kind = FIGURES[key]
    with tempfile.TemporaryDirectory() as name:
        masters[of % len(masters)].write(Path(name) / "1.wav")
        value = measure(Path(name) / "1.wav").value(figure)
    assume(value is not None)
    limited = [each for each in spec.requirements if each.rule != key]
    (must,) = spec_of({key: (limit_near(kind, value, apart), True)}, {}).requirements
    checked, built = both(masters, replace(spec, requirements=(*limited, must)))
    event(f"{key}: {'made' if checked.result in FINE else 'not made'}{' on a side' if spec.carrier else ''}")
    agree(checked, built)


WAV: dict[str, tuple[Any, bool]] = {"container": (["wav"], True), "coding": (["pcm"], True)}
CD = {**WAV, "bits": ([16], True), "rate_hz": ([44_100], True)}
SYNC = {**WAV, "bits": ([24], True), "rate_hz": ([48_000], True)}
LOWER = {"rate": "lower", "depth": "lower"}


def coded(container: str, coding: str, *rates_hz: int, **more: Any) -> Spec:
    requires: dict[str, tuple[Any, bool]] = {"container": ([container], True), "coding": ([coding], True)}
    if rates_hz:
        requires["rate_hz"] = list(rates_hz), True
    return spec_of(requires, {"rate": "lower"}, embed_tags=False, **more)


def loud(rate_hz: int = 96_000, level_dbfs: float = -0.05, channels: int = 2, subtype: str = "PCM_24") -> Master:
    return Master(rate_hz, channels, subtype, "clipped", level_dbfs, 3)


KNOWN = {
    "overs of rate conversion": (loud(), spec_of(SYNC, LOWER), "full_scale"),
    "overs of rate conversion to 16 bits": (loud(), spec_of(CD, LOWER), "full_scale"),
    "float master at +4 dBFS": (loud(44_100, 4.0, 2, "FLOAT"), spec_of(CD, LOWER), "full_scale"),
    "hot master to AAC": (loud(44_100), coded("m4a", "aac", 44_100, bitrate_kbps=256), "encoder_headroom"),
    "eight channels to ALAC": (loud(48_000, -6, 8), coded("m4a", "pcm"), "writable_form"),
    "eight channels to MP3": (loud(48_000, -6, 8), coded("mp3", "mp3", bitrate_kbps=320), "writable_form"),
    "nine channels to FLAC": (loud(48_000, -6, 9), coded("flac", "pcm"), "writable_form"),
    "96 kHz to MP3": (loud(96_000, -6), coded("mp3", "mp3", 96_000, bitrate_kbps=320), "writable_form"),
    "44.1 kHz to Opus": (loud(44_100, -6), coded("opus", "opus", bitrate_kbps=128), "writable_form"),
    "22.05 kHz to MP3 at 320": (loud(22_050, -6), coded("mp3", "mp3", bitrate_kbps=320), "writable_form"),
    "32 bits to FLAC": (loud(48_000, -6, 2, "PCM_32"), coded("flac", "pcm"), "writable_form"),
    "shaped dither at 96 kHz": (
        loud(96_000, -6),
        spec_of({**WAV, "bits": ([16], True)}, {"depth": "lower", "dither": "modified-e-9"}, embed_tags=False),
        "writable_form",
    ),
}


@pytest.mark.parametrize("name", KNOWN)
def test_known_cases_are_not_met_before_anything_is_made(name: str) -> None:
    """Each once passed `check` and ended `build` as an unusable input."""
    master, spec, rule = KNOWN[name]
    checked, built = both([master], spec)
    agree(checked, built)
    for delivery in (checked, built.delivery):
        assert delivery.result is Result.NOT_READY
        (part,) = delivery.parts
        assert rule in {finding.rule for finding in part.findings if finding.result is Result.NOT_READY}


@pytest.mark.parametrize("requires", [CD, SYNC])
@pytest.mark.parametrize("scope", ["track", "album"])
def test_the_gain_that_is_planned_is_the_gain_that_is_made(requires: dict[str, Any], scope: str) -> None:
    """Peaks after conversion are known before, so nothing is made twice; the ceiling is reached, not undercut."""
    ceiling = {"true_peak_max_dbtp": (0.0, True)}
    spec = spec_of({**requires, **ceiling}, {**LOWER, "gain": "down_to_ceiling", "gain_scope": scope}, embed_tags=False)
    checked, built = both([loud(), loud(level_dbfs=-9)], spec)
    agree(checked, built)
    assert checked.result in FINE
    assert [part.chain for part in checked.parts] == [part.chain for part in built.delivery.parts]
    shipped = built.delivery.parts[0].shipped
    assert shipped
    assert -0.01 < shipped.measurement.value("true_peak_dbtp") <= 0.0


def test_the_decibels_of_the_remedy_cure() -> None:
    """A master lower by what the finding says is ready; by a hundredth of a decibel less it is not."""
    spec = spec_of(SYNC, LOWER, embed_tags=False)
    checked, _ = both([loud()], spec)
    (finding,) = [each for each in checked.parts[0].findings if each.rule == "full_scale"]
    over_db = float(finding.remedy.split("a master ")[1].split(" dB")[0])
    assert finding.found.startswith("a sample peak of +")
    for less_db, fine in ((over_db, True), (over_db - 0.02, False)):
        assert (both([loud(level_dbfs=-0.05 - less_db)], spec)[0].result in FINE) is fine


def test_a_carrier_is_shipped_whole_or_not_at_all() -> None:
    """One side of two passes full scale: neither is made, and the song that does it gives the reason."""
    spec = spec_of(CD, LOWER, carrier=Carrier("cd"), embed_tags=False)
    masters = [loud(), loud(level_dbfs=-9)]
    checked, built = both(masters, spec)
    agree(checked, built)
    assert not any(image.shipped for image in built.delivery.images)
    short = {part.track: [f.rule for f in part.findings if f.result is Result.NOT_READY] for part in checked.parts}
    assert short == {1: ["full_scale"], 2: []}


def test_what_only_the_whole_side_shows_is_known_before() -> None:
    """Each song keeps one level, 20 dB apart: a range of 0 LU each, and of 20 LU on the side they share."""
    limit = {"loudness_range_max_lu": (6.0, True)}
    songs = [Master(44_100, 2, "PCM_24", "noise", level_dbfs, 3, seconds=12) for level_dbfs in (-26.0, -6.0)]
    for carrier, fine in ((None, True), (Carrier("vinyl"), False)):
        checked, built = both(songs, spec_of({**WAV, **limit}, {}, carrier=carrier, embed_tags=False))
        agree(checked, built)
        assert (checked.result in FINE) is fine
        assert not any(image.shipped for image in checked.images)
    (image,) = checked.images
    (finding,) = image.findings
    assert finding.rule == "loudness_range_max_lu"
    assert finding.place == image.programme.name
    assert float(finding.found.split()[0]) == pytest.approx(20, abs=0.5)


@pytest.mark.parametrize(("other", "found"), [((44_100, 1), "1 channel"), ((48_000, 2), "48 kHz")])
def test_a_side_of_two_forms_is_not_met_and_never_unusable(other: tuple[int, int], found: str) -> None:
    """A side is one file; which of its songs does not fit is known before."""
    masters = [loud(44_100, -6), Master(other[0], other[1], "PCM_24", "noise", -6.0, 4)]
    checked, built = both(masters, spec_of(WAV, {}, carrier=Carrier("vinyl"), embed_tags=False))
    agree(checked, built)
    (finding,) = [each for part in checked.parts for each in part.findings if each.result is Result.NOT_READY]
    assert (finding.rule, finding.track, finding.found) == ("writable_form", 2, found)


@pytest.mark.thorough(2)
@pytest.mark.parametrize("apart", [-0.02, -0.002, 0.002, 0.02])
def test_the_album_as_it_ships_is_what_check_judges(apart: float) -> None:
    """Of noise an MP3 at 96 kbit/s keeps less than all: the window ends within hundredths of what it keeps."""
    masters = [Master(44_100, 2, "PCM_24", "dull", level_dbfs, 3, seconds=3) for level_dbfs in (-12.0, -9.0)]
    required: dict[str, tuple[Any, bool]] = {"container": (["mp3"], True), "coding": (["mp3"], True)}
    wide = {"album_integrated_lufs": ({"at_least": -60.0}, True)}
    spec = spec_of({**required, **wide}, {"rate": "lower"}, bitrate_kbps=96, embed_tags=False)
    _, built = both(masters, spec)
    (met,) = [each for each in built.delivery.findings if each.rule == "album_integrated_lufs"]
    window = {"at_least": float(met.found.split()[0]) + apart}
    spec = spec_of({**required, "album_integrated_lufs": (window, True)}, {}, bitrate_kbps=96, embed_tags=False)
    checked, built = both(masters, spec)
    assert checked.result is built.delivery.result
    assert (checked.result in FINE) is bool(built.package)
    assert (checked.result in FINE) is (apart < 0) or abs(apart) < 0.01


def test_a_master_that_is_not_all_numbers_is_not_converted(tmp_path: Path) -> None:
    spec = spec_of(CD, LOWER, embed_tags=False)
    requested = request(tmp_path, [loud(44_100, -6, 2, "FLOAT")], spec)
    samples, rate_hz = soundfile.read(tmp_path / "1.wav")
    samples[1000, 1] = np.nan
    soundfile.write(tmp_path / "1.wav", samples, rate_hz, "FLOAT")
    checked, built = check(requested, Options(1)), build(requested, tmp_path / "out", Options(1))
    agree(checked, built)
    assert {f.rule for f in checked.parts[0].findings if f.result is Result.NOT_READY} == {"convertible_samples"}


@pytest.mark.thorough(2)
@pytest.mark.parametrize("kind", ["W64", "CAF", "AIFF", "RF64", "OGG"])
def test_masters_in_other_containers(tmp_path: Path, kind: str) -> None:
    """What is lossless ships as WAV, sample for sample; what is lossy is copied or not met, and never a surprise."""
    subtype = "VORBIS" if kind == "OGG" else "FLOAT" if kind == "AIFF" else "PCM_24"
    x = np.rint(loud(48_000, -6).sound() * 2**23) / 2**23
    master = tmp_path / f"1.{kind.lower()}"
    soundfile.write(master, x, 48_000, subtype, format=kind)
    for requires, into in ((WAV, "wav"), ({}, "as it is")):
        spec = spec_of(requires, {})
        requested = Request(bare_release((master,)), (spec,), Studio(), lambda: (None, ""))
        checked, built = check(requested, Options(1)), build(requested, tmp_path / into, Options(1))
        agree(checked, built)
        if kind == "OGG":
            assert bool(built.package) is not bool(requires)
            continue
        assert built.package
        shipped = built.delivery.parts[0].shipped
        assert shipped
        assert np.array_equal(soundfile.read(built.package / shipped.path)[0], x)


def test_what_no_file_can_hold_cannot_be_waived(tmp_path: Path) -> None:
    path = write_album(tmp_path, [Song(seconds=0.2)], ["cd-rate-16"])
    with pytest.raises(Faulty, match=r"a waiver for 'full_scale', wanted a waiver for what a spec requires\. No file"):
        resolve_request(path, waivers=(Waiver("full_scale", "I. Merrow", "we like it loud"),))


@pytest.mark.thorough(2)
@pytest.mark.parametrize(
    ("requires", "fits_bytes"),
    [
        (CD, 35_280),  # 0.2 s of stereo, 16 bits at 44.1 kHz
        ({**CD, "container": (["flac"], True)}, 36_000),
    ],
)
@pytest.mark.parametrize("room", [1.3, 0.25])
def test_the_planned_files_size_is_judged_not_the_masters(
    requires: dict[str, Any], fits_bytes: int, room: float
) -> None:
    """A 24/96 master of 115 kB makes a 16/44.1 file of 35 kB: 46 kB are enough for it, and 9 kB are not."""
    limit = {"size_max_bytes": (int(room * fits_bytes), True)}
    checked, built = both([loud(level_dbfs=-9)], spec_of({**requires, **limit}, LOWER, embed_tags=False))
    agree(checked, built)
    assert (checked.result in FINE) is (room > 1)
