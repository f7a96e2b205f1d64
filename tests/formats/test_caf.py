"""CAF as a deliverable, read by another program; its contract tests are those of every container."""

from __future__ import annotations

import subprocess
from pathlib import Path

import numpy as np
import pytest
import soundfile

from delivery.chain.render import render
from delivery.formats import embed, read_tags
from delivery.formats.capability import target_misfits
from delivery.model.chain import Chain, Step, StepKind, Target
from tests.judges import needs


@needs("sox")
@pytest.mark.parametrize("bits", [16, 24])
def test_another_program_reads_the_very_samples(tmp_path: Path, bits: int) -> None:
    """SoX reads CAF by its own build of libsndfile; the description and sizes are Apple's specification 1.0."""
    values = np.random.default_rng(bits).integers(-(2**15), 2**15, (1_001, 2)).astype(np.int32) << 16
    soundfile.write(tmp_path / "a.wav", values, 44_100, "PCM_32")
    render(tmp_path / "a.wav", Chain((Step(StepKind.REWRAP, "", ""),), Target("caf", "pcm", 44_100, 2, bits)),
           tmp_path / "a.caf", "")  # fmt: skip
    raw = subprocess.run(
        ["sox", "-t", "caf", tmp_path / "a.caf", "-t", "s32", "-"], capture_output=True, check=True
    ).stdout
    assert np.array_equal(np.frombuffer(raw, "<i4").reshape(-1, 2), values)
    assert (tmp_path / "a.caf").read_bytes()[:4] == b"caff"


def test_label_copy_is_reported_as_not_stored(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "a.caf", np.zeros((10, 2)), 44_100, "PCM_16")
    before = (tmp_path / "a.caf").read_bytes()
    report = embed(tmp_path / "a.caf", "caf", {"title": "Slack Water", "isrc": "ZZOSL2600003"})
    assert (report.written, report.not_stored) == ({}, ("title", "isrc"))
    assert (tmp_path / "a.caf").read_bytes() == before
    assert read_tags(tmp_path / "a.caf", "caf") == {}


def test_more_than_two_channels_are_refused_before_anything_is_written() -> None:
    (misfit,) = target_misfits(Target("caf", "pcm", 48_000, 6, 24))
    assert (misfit.key, misfit.wanted) == ("channels", "at most 2")
