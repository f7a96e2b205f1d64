"""Level percentiles, level and crest by the second, and the verdicts of EBU R 128's supplements, by construction."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.meters.r128_short import R128Short
from delivery.model.figure import Reading
from tests.meters.memory import measured
from tests.signals import sine

RATES_HZ = (44_100, 48_000, 88_200, 96_000, 192_000)


@pytest.mark.thorough(2)
@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("channels", [1, 2])
def test_levels_by_the_second_and_their_percentiles(rate_hz: int, channels: int) -> None:
    """Closed form: 8 s at -10 dBFS peak and 2 s at -40 have rms 3.01 dB lower, and a sine's crest is 3.01 dB."""
    gains = np.repeat([10 ** (-10 / 20), 10 ** (-40 / 20)], [8 * rate_hz, 2 * rate_hz])[:, None]
    sound = sine(1000, rate_hz, 10) * gains * np.ones(channels)
    found = measured(sound, rate_hz)
    assert found.value("rms_curve_dbfs") == pytest.approx([-13.01] * 8 + [-43.01] * 2, abs=0.01)
    assert found.value("crest_curve_db")[:7] == pytest.approx([3.01] * 7, abs=0.03)
    levels = dict(zip(found.value("level_percentiles_percent"), found.value("rms_percentiles_dbfs"), strict=True))
    assert list(levels.values()) == pytest.approx([-43.01, -43.01, -13.01, -13.01, -13.01], abs=0.01)


@pytest.mark.parametrize(
    ("integrated", "peak", "momentary", "short_term", "s1", "s2"),
    [
        (-23.0, -1.0, -15.0, -17.0, "met", "not met: integrated -23.00 LUFS"),
        (-23.0, -3.0, -14.0, -18.0, "met", "not met: integrated -23.00 LUFS"),
        (-22.7, -3.0, -15.0, -18.0, "not met: integrated -22.70 LUFS", "not met: integrated -22.70 LUFS"),
        (
            -23.1,
            -0.5,
            -14.9,
            -17.9,
            "not met: momentary -14.90 LUFS and short-term -17.90 LUFS, true peak -0.50 dBTP",
            "not met: integrated -23.10 LUFS, true peak -0.50 dBTP",
        ),
        (-18.0, -1.0, -10.0, -12.0, None, "met"),
    ],
)
def test_supplements_of_r128(
    integrated: float, peak: float, momentary: float, short_term: float, s1: str | None, s2: str
) -> None:
    """s1: -23.0, and S at most -18 or M at most -15; s2: -20 to -16; both: at most -1 dBTP."""
    names = (*R128Short.needs, "short_term_max_lufs")
    readings = {
        name: Reading(value) for name, value in zip(names, (integrated, peak, momentary, short_term), strict=True)
    }
    first, second = R128Short.derive(readings)
    assert s1 is None or first.value == s1
    assert second.value == s2
