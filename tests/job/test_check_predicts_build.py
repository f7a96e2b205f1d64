"""What `check` says of a file is what `build` does with it: random masters, random specs, cases that once parted."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np
import soundfile
from hypothesis import HealthCheck, Phase, event, given, settings
from hypothesis import strategies as st

from delivery.dsp.dither import dithers
from delivery.job import Built, Options, build, check, package
from delivery.job.intent import Intent, bare_release
from delivery.model.carrier import Carrier
from delivery.model.finding import Result
from delivery.model.part import Delivery, Part
from delivery.model.release import Studio
from delivery.model.spec import Conversions, Requirement, Spec
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

    def write(self, path: Path) -> None:
        soundfile.write(path, self.sound(), self.rate_hz, self.subtype)

    def sound(self) -> Array:
        frames = self.rate_hz // 5
        x = np.random.default_rng(self.seed).standard_normal((frames, self.channels))
        if self.kind == "tone":
            x = np.sin(2 * np.pi * 997 * np.arange(frames) / self.rate_hz)[:, None] * np.ones(self.channels)
        if self.kind == "clipped":
            x = np.clip(x, -1, 1)
        if self.kind == "square":
            x = np.sign(np.sin(2 * np.pi * 441 * np.arange(frames) / self.rate_hz))[:, None] * np.ones(self.channels)
        if self.kind == "silence":
            return np.zeros((frames, self.channels))
        if self.kind == "short words":
            x = np.round(x / np.abs(x).max() * 2**14) / 2**14
        return np.asarray(10 ** (self.level_dbfs / 20) * x / np.abs(x).max())


def intent(folder: Path, masters: list[Master], spec: Spec) -> Intent:
    """A release of sound alone: nothing but the files can be wrong."""
    for number, master in enumerate(masters, start=1):
        master.write(folder / f"{number}.wav")
    release = bare_release(tuple(sorted(folder.glob("*.wav"))))
    return Intent(release, (spec,), Studio(), None, "", ())


def spec_of(asks: dict[str, tuple[Any, bool]], convert: dict[str, str], **more: Any) -> Spec:
    day = date(2026, 11, 28)
    requirements = tuple(
        Requirement(key, limit, must, "test", day, "test", "test.yaml:1") for key, (limit, must) in asks.items()
    )
    return Spec("test", "Test", "", day, requirements, Conversions(**convert), **more)


def both(masters: list[Master], spec: Spec) -> tuple[Delivery, Built]:
    """The same release checked and built; papers and sheets are left out, for they only cost time here."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "in").mkdir()
        asked = intent(folder / "in", masters, spec)
        with patch.object(package, "write"):
            return check(asked, Options(1)), build(asked, folder / "out", Options(1))


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
    said = [f"{each.rule}: {each.found}, wanted {each.wanted}" for each in part.findings if each.result not in FINE]
    steps = [step.says for step in part.chain.steps] if part.chain else []
    return [part.problem, *said, *steps]


MASTERS = st.builds(
    Master,
    rate_hz=st.sampled_from([22_050, 44_100, 48_000, 88_200, 96_000, 192_000]),
    channels=st.sampled_from([1, 2, 2, 2, 6]),
    subtype=st.sampled_from(["PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE"]),
    kind=st.sampled_from(["noise", "clipped", "tone", "square", "silence", "short words"]),
    level_dbfs=st.one_of(st.floats(-3, 0.3), st.sampled_from([-30.0, -1.0, 0.0, 4.0])),
    seed=st.integers(0, 1000),
)


@st.composite
def specs(draw: st.DrawFn) -> Spec:
    container = draw(st.sampled_from(list(CODINGS)))
    coding = draw(st.sampled_from(CODINGS[container]))
    asks: dict[str, tuple[Any, bool]] = {"container": ([container], True), "coding": ([coding], True)}
    few = {"min_size": 1, "max_size": 2, "unique": True}
    if draw(st.booleans()):
        asks["rate_hz"] = draw(st.lists(st.sampled_from([44_100, 48_000, 96_000]), **few)), True  # type: ignore[arg-type]
    if coding == "pcm" and draw(st.booleans()):
        asks["bits"] = draw(st.lists(st.sampled_from([16, 24, 32]), **few)), True  # type: ignore[arg-type]
    if draw(st.booleans()):
        asks["channels"] = [1, 2], draw(st.booleans())
    peak = draw(st.sampled_from(["", "true_peak_max_dbtp", "sample_peak_max_dbfs"]))
    if peak:
        asks[peak] = draw(st.sampled_from([0.0, -1.0, -3.0])), coding in ("pcm", "float") and draw(st.booleans())
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
    return spec_of(asks, convert, bitrate_kbps=kbps, vbr_quality=quality, carrier=carrier, embed_tags=False)


@settings(
    max_examples=60,
    deadline=None,
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
