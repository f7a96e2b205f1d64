"""The program finds what was planted, in the track where it was planted, and nothing in the corrected album."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.model.finding import Answer, Result
from delivery.model.part import Delivery
from delivery.pipeline import Options, check, resolve_request

pytestmark = pytest.mark.slow

PLANTED = {
    ("true_peak_max_dbtp", 1),
    ("rate_hz", 2),
    ("clip_runs_max", 3),
    ("true_peak_max_dbtp", 3),  # what is cut flat overshoots between samples
    ("full_scale", 3),  # and further when its rate is converted
    ("not_upsampled", 4),
    ("tail_s", 5),
    ("isrc_unique", None),
    ("upc_check_digit", None),
    ("one_rate", None),
    ("artwork_min_px", None),
}


def shortfalls(delivery: Delivery) -> set[tuple[str, int | None]]:
    every = [*delivery.findings, *(finding for part in delivery.parts for finding in part.findings)]
    assert len(every) > 200
    return {(finding.rule, finding.track) for finding in every if finding.answer is Answer.NOT_MET}


def test_every_planted_fault_is_found_and_no_other(received: Path) -> None:
    """The list is the one in demo/album.py and demo/faults.py, written out."""
    found = check(resolve_request(received / "release.yaml"), Options())
    assert shortfalls(found) == PLANTED
    assert found.result is Result.NOT_READY


def test_every_check_is_met_as_corrected(corrected: Path) -> None:
    """Ready for all its recipients and for those it was first checked for, without a remark."""
    specs = (
        "store-master-high-rate",
        "vinyl-premaster",
        "store-master-24",
        "cd-rate-16",
        "sync-48-24",
        "listening-mp3-320",
    )
    found = check(resolve_request(corrected / "release.yaml", specs), Options())
    assert shortfalls(found) == set()
    assert found.result is Result.READY
