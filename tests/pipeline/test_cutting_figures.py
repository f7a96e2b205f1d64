"""Velocity and acceleration of a cutting stylus, where a spec requires them: of masters, sides, converted files."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import soundfile

from delivery.model.finding import Answer
from delivery.pipeline import Options, check, resolve_request
from delivery.pipeline.verify import verify
from tests.albums import Song, write_album
from tests.meters.test_cutting import faded
from tests.pipeline.test_images import edited, made

RATE_HZ = 48_000
ROOM = """
title: The room
about: What one cutting room states.
checked: 2026-11-29
based_on: {parent}
source: common practice, no source
requires:
  stylus_velocity_max: {{should: {{reference_dbfs: -24, lateral: 14.0}}}}
  stylus_acceleration_max: {{should: {{reference_dbfs: -18, lateral: 46}}}}
"""
SIDE = {"vinyl-sides": {"side": "A"}, "cd-rate-16": {}}


def release_for(folder: Path, parent: str) -> Path:
    """A tone of 1 kHz at -18 dBFS: by definition 7.07 cm/s; 14.1 at a reference 6 dB lower; 45.3 g at 7.07 cm/s."""
    release = write_album(folder, [Song("Tone", RATE_HZ, 2.0)], ["./room.yaml"])
    soundfile.write(folder / "01 Tone.wav", faded(1000, RATE_HZ) * [1.0, 1.0], RATE_HZ, "PCM_24")
    (folder / "room.yaml").write_text(ROOM.format(parent=parent), encoding="utf-8")

    def placed(data: dict[str, Any]) -> None:
        for track in data["tracks"]:
            track.update(SIDE[parent])

    return edited(release, placed)


@pytest.mark.parametrize("parent", SIDE)
def test_requirements_are_answered_in_check_and_for_what_is_written(tmp_path: Path, parent: str) -> None:
    release = release_for(tmp_path / "masters", parent)
    checked = check(resolve_request(release), Options())
    answers = {finding.rule: finding for file in (*checked.images, *checked.parts) for finding in file.findings}
    assert answers["stylus_velocity_max"].answer is Answer.NOT_MET
    assert answers["stylus_velocity_max"].found == "14.1 cm/s lateral"
    assert answers["stylus_acceleration_max"].answer is Answer.MET

    built = made(release, tmp_path / "out")
    files = [*built.delivery.images, *built.delivery.parts]
    written = [each.shipped.measurement for each in files if each.shipped]
    assert written
    for measurement in written:
        assert measurement.value("lateral_velocity_peak_cm_s") == pytest.approx(7.07, abs=0.03)
    assert built.package
    assert verify(built.package).whole


def test_they_take_no_pass_where_no_spec_requires_them(tmp_path: Path) -> None:
    release = write_album(tmp_path, [Song("Tone", RATE_HZ, 2.0)], ["vinyl-premaster"])
    (source,) = check(resolve_request(release), Options()).sources
    assert source.measurement
    assert not source.measurement["lateral_velocity_peak_cm_s"].exists
