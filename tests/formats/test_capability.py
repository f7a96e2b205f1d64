"""The capability table agrees with what writing a file of each format shows."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pytest

from delivery.chain.render import render
from delivery.errors import DeliveryError
from delivery.formats.capability import target_misfits
from delivery.model.chain import Chain, Step, StepKind, Target
from tests.signals import noise

RATES_HZ = (8_000, 22_050, 44_100, 96_000, 192_000)
PCM = [
    Target(container, "pcm", rate_hz, channels, bits)
    for container, rate_hz, channels, bits in itertools.product(
        ("wav", "aiff", "flac", "m4a", "mp3"), (44_100, 192_000), (1, 2, 6, 9), (8, 16, 20, 24, 32)
    )
]
CODED = [
    Target(container, coding, rate_hz, channels, None, kbps)
    for (container, coding), rate_hz, channels, kbps in itertools.product(
        (("mp3", "mp3"), ("m4a", "aac"), ("opus", "opus")), RATES_HZ, (1, 2, 6), (None, 8, 64, 320, 600)
    )
]
FLOAT = [Target(container, "float", 96_000, 2, bits) for container in ("wav", "aiff", "flac") for bits in (32, 64)]


def written(target: Target, folder: Path, dither: str = "none") -> bool:
    """Whether a tenth of a second of noise can be made into such a file."""
    import soundfile

    source, touch = folder / "source.wav", StepKind.ENCODE
    soundfile.write(source, np.tile(noise(target.rate_hz, 0.1)[:, :1], target.channels), target.rate_hz, "FLOAT")
    if target.coding in ("pcm", "float"):
        touch = StepKind.REQUANTISE if target.coding == "pcm" else StepKind.REWRAP
    try:
        render(source, Chain((Step(touch, "", "", {"bits": target.bits, "dither": dither}),), target), folder / "x", "")
    except (DeliveryError, ValueError):
        return False
    finally:
        (folder / "x").unlink(missing_ok=True)
    return True


@pytest.mark.parametrize("targets", [PCM, CODED, FLOAT], ids=["pcm", "coded", "float"])
def test_a_form_without_misfits_can_be_written_and_no_other(tmp_path: Path, targets: list[Target]) -> None:
    wrong = [target for target in targets if written(target, tmp_path) == any(target_misfits(target))]
    assert wrong == []
    assert 0 < sum(not any(target_misfits(target)) for target in targets) < len(targets)


@pytest.mark.parametrize("rate_hz", [44_100, 48_000, 96_000])
@pytest.mark.parametrize("dither", ["none", "tpdf", "modified-e-9", "improved-e-5", "no-such-dither"])
def test_a_dither_that_is_not_made_for_the_rate(tmp_path: Path, rate_hz: int, dither: str) -> None:
    target = Target("wav", "pcm", rate_hz, 2, 16)
    assert written(target, tmp_path, dither) != any(target_misfits(target, dither))


def test_an_aiff_ends_where_its_size_fields_end() -> None:
    """AIFF counts bytes in 32 bits: 24/96 stereo stops short of two hours and a quarter."""
    target = Target("aiff", "pcm", 96_000, 2, 24)
    assert not any(target_misfits(target, frames=2 * 3600 * 96_000))
    (misfit,) = target_misfits(target, frames=3 * 3600 * 96_000)
    assert (misfit.key, misfit.found) == ("container", "6220800000 bytes of sound in AIFF")
    assert not any(target_misfits(Target("wav", "pcm", 96_000, 2, 24), frames=3 * 3600 * 96_000))
