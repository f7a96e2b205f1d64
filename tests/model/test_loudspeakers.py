"""Weights of loudspeakers in loudness, at the edges of the standard's ranges."""

from __future__ import annotations

import pytest

from delivery.model.speakers import LFE, POSITIONS, loudness_weight, loudness_weights, usual


@pytest.mark.parametrize(
    ("azimuth", "elevation", "weight"),
    [
        (59.9, 0, 1.0), (60, 0, 1.41), (-60, 0, 1.41), (90, 0, 1.41), (120, 0, 1.41), (-120, 29.9, 1.41),
        (120.1, 0, 1.0), (180, 0, 1.0), (90, 30, 1.0), (90, -30, 1.0), (90, -29.9, 1.41), (0, 0, 1.0),
    ],
)  # fmt: skip
def test_the_weight_of_a_direction(azimuth: float, elevation: float, weight: float) -> None:
    """ITU-R BS.1770-5, Annex 3: 60 <= |azimuth| <= 120 and |elevation| < 30 have 1.41, all others 1."""
    assert loudness_weight(azimuth, elevation) == weight


def test_weights_of_a_layout() -> None:
    """BS.1770-5: 5.1 counts its surrounds by 1.41 and its low-frequency effects not at all."""
    assert loudness_weights(("L", "R", "C", "LFE", "Ls", "Rs")) == (1.0, 1.0, 1.0, 0.0, 1.41, 1.41)
    assert loudness_weights(LFE) == (0.0, 0.0)
    mirrored = {"L": "R", "R": "L"}
    for name, (azimuth, elevation) in POSITIONS.items():
        twin = mirrored.get(name[0], name[0]) + name[1:]
        if twin != name:
            assert POSITIONS[twin] == (-azimuth, elevation)


def test_positions_that_no_file_needs_to_state() -> None:
    assert [usual(channels) for channels in (1, 2, 3, 6)] == [("M",), ("L", "R"), (), ()]
