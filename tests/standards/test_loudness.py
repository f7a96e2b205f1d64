"""Loudness against the documents that define it: ITU-R BS.1770-5, EBU Tech 3341 (2023), EBU Tech 3342 (2023).

The EBU's programme recordings (3341 numbers 7 and 8, which are also 3342 numbers 5 and 6) may not be redistributed and
are left out. Every other signal is made here from its description.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.dsp.loudness.gating import loudness_lufs
from delivery.meters.loudness import Loudness
from tests.meters.memory import facts, readings, why
from tests.signals import sine

Array = NDArray[np.float64]

RATES_HZ = (44_100, 48_000, 88_200, 96_000, 192_000)
EBU_LU = 0.1
"""Tolerance of Tech 3341 for loudness."""
RATES_LU = 0.001
"""The filters are as near as 0.0001 dB to those at 48 kHz; a second of 997 Hz begins with the filters filling."""


def tones(rate_hz: int, *parts: tuple[float, float]) -> Array:
    """Stereo 1 kHz, phase running on, as (seconds, peak dBFS); -inf is silence."""
    frames = [round(seconds * rate_hz) for seconds, _ in parts]
    gains = np.repeat([0.0 if np.isinf(level) else 10 ** (level / 20) for _, level in parts], frames)
    wave = np.sin(2 * np.pi * 1000 / rate_hz * np.arange(sum(frames))) * gains
    return np.stack([wave, wave], axis=1)


def loud(sound: Array, rate_hz: int, layout: str = "") -> dict[str, float]:
    return readings(Loudness, sound, rate_hz, speakers=layout.split())


FIVE, FIVE_ONE = "L R C Ls Rs", "L R C LFE Ls Rs"
LAYOUTS = {
    "4.0": ("L R Ls Rs", (1, 1, 1.41, 1.41)),
    "5.0": (FIVE, (1, 1, 1, 1.41, 1.41)),
    "5.1": (FIVE_ONE, (1, 1, 1, 0, 1.41, 1.41)),
    "6.1": ("L R C LFE Cs Ls Rs", (1, 1, 1, 0, 1, 1.41, 1.41)),
    "7.1": ("L R C LFE Lb Rb Lss Rss", (1, 1, 1, 0, 1, 1, 1.41, 1.41)),
    "5.1.4": ("L R C LFE Ls Rs Ltf Rtf Ltb Rtb", (1, 1, 1, 0, 1.41, 1.41, 1, 1, 1, 1)),
    "7.1.4": ("L R C LFE Lb Rb Lss Rss Ltf Rtf Ltb Rtb", (1, 1, 1, 0, 1, 1, 1.41, 1.41, 1, 1, 1, 1)),
}
"""Weights from ITU-R BS.1770-5, Annex 3: 1.41 for 60 to 120 degrees at ear height, 1 for what is behind or above."""


@pytest.mark.parametrize("rate_hz", [44_100, 48_000, 88_200, 96_000, 176_400, 192_000])
@pytest.mark.parametrize(("channels", "channel"), [(1, 0), (2, 0), (2, 1), (6, 0), (6, 1), (6, 2)])
def test_full_scale_tone_in_one_front_channel(rate_hz: int, channels: int, channel: int) -> None:
    """BS.1770-5, Annex 1: 997 Hz at 0 dBFS in one of L, C, R reads -3.01 LKFS; one channel counts as it is."""
    sound = sine(997, rate_hz, 1.0) * np.eye(channels)[channel]
    layout = FIVE_ONE if channels == 6 else ""
    assert loud(sound, rate_hz, layout)["integrated_lufs"] == pytest.approx(-3.01, abs=RATES_LU)


def test_reference_rate_reads_the_reference_value() -> None:
    """BS.1770-5, Annex 1, at the rate its coefficients are for: -3.01, to the second decimal."""
    assert loud(sine(997, 48_000, 2.0) * [1.0, 0.0], 48_000)["integrated_lufs"] == pytest.approx(-3.0103, abs=0.0005)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("layout", LAYOUTS)
def test_every_channel_counts_by_its_position(layout: str, rate_hz: int) -> None:
    """Each channel alone, 997 Hz at full scale, reads -3.01 LKFS and 10 lg of its weight; an LFE reads nothing."""
    names, weights = LAYOUTS[layout]
    tone = sine(997, rate_hz, 0.5)
    for channel, weight in enumerate(weights):
        found = loud(tone * np.eye(len(weights))[channel], rate_hz, names)["integrated_lufs"]
        wanted = -3.0103 + 10 * np.log10(weight) if weight else None
        assert found == pytest.approx(wanted, abs=0.002), channel


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("layout", LAYOUTS)
def test_all_channels_together(layout: str, rate_hz: int) -> None:
    """BS.1770-5, Annex 1, equation 2: powers add up, each by its weight."""
    names, weights = LAYOUTS[layout]
    gains = 10 ** (-np.linspace(10, 30, len(weights)) / 20)
    wanted = -3.0103 + 10 * np.log10(np.sum(np.array(weights) * gains**2))
    assert loud(sine(997, rate_hz, 0.5) * gains, rate_hz, names)["integrated_lufs"] == pytest.approx(wanted, abs=0.002)


@pytest.mark.parametrize("channels", [3, 4, 5, 6, 7, 8, 12])
def test_an_unknown_layout_has_no_loudness(channels: int) -> None:
    """The number of channels does not say which of them is the LFE: nothing is guessed under the standard's name."""
    sound = sine(997, 48_000, 1.0) * np.ones(channels)
    assert "does not state which loudspeaker" in why(Loudness, sound, 48_000)["integrated_lufs"]


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("level_dbfs", [-23.0, -33.0])
def test_ebu_1_and_2_steady_tones(rate_hz: int, level_dbfs: float) -> None:
    """Tech 3341, signals 1 and 2: M = S = I = the tone's level."""
    found = loud(tones(rate_hz, (20, level_dbfs)), rate_hz)
    for figure in ("integrated_lufs", "momentary_max_lufs", "short_term_max_lufs"):
        assert found[figure] == pytest.approx(level_dbfs, abs=EBU_LU)
    assert found["short_term_curve_lufs"] == pytest.approx([level_dbfs] * 18, abs=EBU_LU)


@pytest.mark.thorough(3)
@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize(
    "parts",
    [
        pytest.param([(10, -36), (60, -23), (10, -36)], id="3: relative gate"),
        pytest.param([(10, -72), (10, -36), (60, -23), (10, -36), (10, -72)], id="4: both gates"),
        pytest.param([(20, -26), (20.1, -20), (20, -26)], id="5: mean of powers"),
    ],
)
def test_ebu_3_to_5_gates(rate_hz: int, parts: list[tuple[float, float]]) -> None:
    """Tech 3341, signals 3 to 5: I = -23.0."""
    assert loud(tones(rate_hz, *parts), rate_hz)["integrated_lufs"] == pytest.approx(-23.0, abs=EBU_LU)


def test_absolute_gate_alone() -> None:
    """BS.1770-5, Annex 1: blocks at or under -70 LKFS do not count, even where the relative gate would let them."""
    sound = tones(48_000, (20, -72), (10, -65))
    assert loud(sound, 48_000)["integrated_lufs"] == pytest.approx(-65.0, abs=EBU_LU)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_ebu_6_five_channels(rate_hz: int) -> None:
    """Tech 3341, signal 6: L, R at -28, C at -24, Ls, Rs at -30 read -23.0."""
    gains = 10 ** (np.array([-28, -28, -24, -30, -30]) / 20)
    sound = sine(1000, rate_hz, 20) * gains
    assert loud(sound, rate_hz, FIVE)["integrated_lufs"] == pytest.approx(-23.0, abs=EBU_LU)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_ebu_9_short_term_is_rectangular(rate_hz: int) -> None:
    """Tech 3341, signal 9: S = -23.0, the same after 3 s."""
    found = loud(tones(rate_hz, *[(1.34, -20), (1.66, -30)] * 5), rate_hz)
    assert found["short_term_max_lufs"] == pytest.approx(-23.0, abs=EBU_LU)
    assert found["short_term_curve_lufs"] == pytest.approx([-23.0] * 13, abs=EBU_LU)


@pytest.mark.thorough(20)
@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("i", range(20))
def test_ebu_10_short_term_maximum_anywhere(rate_hz: int, i: int) -> None:
    """Tech 3341, signal 10, for files: 3 s at -23 after i x 0.15 s read max S = -23.0, and are found there."""
    found = loud(tones(rate_hz, (i * 0.15, -np.inf), (3, -23), (1, -np.inf)), rate_hz)
    assert found["short_term_max_lufs"] == pytest.approx(-23.0, abs=EBU_LU)
    assert found["short_term_max_at_s"] == pytest.approx(i * 0.15, abs=0.02)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_ebu_12_momentary_is_rectangular(rate_hz: int) -> None:
    """Tech 3341, signal 12: M = -23.0, the same after 1 s."""
    found = loud(tones(rate_hz, *[(0.18, -20), (0.22, -30)] * 25), rate_hz)
    assert found["momentary_max_lufs"] == pytest.approx(-23.0, abs=EBU_LU)
    assert loudness_lufs(np.array(found["gating_powers"]))[6:] == pytest.approx(-23.0, abs=EBU_LU)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("i", range(20))
def test_ebu_13_momentary_maximum_anywhere(rate_hz: int, i: int) -> None:
    """Tech 3341, signal 13, for files: 400 ms at -23 after i x 20 ms read max M = -23.0, and are found there."""
    found = loud(tones(rate_hz, (i * 0.02, -np.inf), (0.4, -23), (1, -np.inf)), rate_hz)
    assert found["momentary_max_lufs"] == pytest.approx(-23.0, abs=EBU_LU)
    assert found["momentary_max_at_s"] == pytest.approx(i * 0.02, abs=0.02)


@pytest.mark.thorough(2)
@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize(
    ("figure", "step_s", "length_s"),
    [pytest.param("short_term_max_lufs", 0.15, 3.0, id="11"), pytest.param("momentary_max_lufs", 0.02, 0.4, id="14")],
)
def test_ebu_11_and_14_maxima_as_they_rise(rate_hz: int, figure: str, step_s: float, length_s: float) -> None:
    """Tech 3341, signals 11 and 14, for meters that are watched: max S or max M is -38 to -19 in turn.

    One stream, louder by 1 dB each time; the meter is asked after every part and goes on.
    """
    running = Loudness(facts(np.zeros((0, 2)), rate_hz))
    place = [given.name for given in Loudness.gives].index(figure)
    for i in range(20):
        rest_s = length_s - i * step_s
        running.update(tones(rate_hz, (i * step_s, -np.inf), (length_s, -38 + i), (rest_s, -np.inf)))
        assert running.result()[place].value == pytest.approx(-38 + i, abs=EBU_LU)


@pytest.mark.thorough(4)
@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize(
    ("parts", "range_lu"),
    [
        pytest.param([(20, -20), (20, -30)], 10, id="1"),
        pytest.param([(20, -20), (20, -15)], 5, id="2"),
        pytest.param([(20, -40), (20, -20)], 20, id="3"),
        pytest.param([(20, -50), (20, -35), (20, -20), (20, -35), (20, -50)], 15, id="4"),
    ],
)
def test_ebu_3342_loudness_range(rate_hz: int, parts: list[tuple[float, float]], range_lu: float) -> None:
    """Tech 3342, signals 1 to 4. The document allows 1 LU; these signals have no reason to be off by 0.1."""
    assert loud(tones(rate_hz, *parts), rate_hz)["loudness_range_lu"] == pytest.approx(range_lu, abs=0.1)


def test_alignment_tone() -> None:
    """Tech 3341, 2.9: 1 kHz in phase in L and R at -18 dBFS reads -18.0 LUFS."""
    assert loud(tones(48_000, (5, -18)), 48_000)["integrated_lufs"] == pytest.approx(-18.0, abs=EBU_LU)


def test_last_incomplete_block_is_not_used() -> None:
    """BS.1770-5, Annex 1: a gating block that is not complete at the end of the measurement is not used."""
    quiet, burst = tones(48_000, (1.0, -30)), tones(48_000, (0.0999, -6))
    with_burst = loud(np.concatenate([quiet, burst]), 48_000)
    assert len(with_burst["gating_powers"]) == 7
    assert with_burst["integrated_lufs"] == pytest.approx(loud(quiet, 48_000)["integrated_lufs"], abs=1e-9)


@pytest.mark.parametrize("rate_hz", [8_000, 11_025, 22_050, 37_800, 192_000, 384_000])
def test_unusual_rates_keep_the_windows_length(rate_hz: int) -> None:
    """BS.1770-5 fixes windows in milliseconds; at rates 100 does not divide, steps differ by one frame."""
    found = loud(sine(997, rate_hz, 4.0) * [1.0, 1.0], rate_hz)
    assert len(found["gating_powers"]) == 37
    assert found["momentary_max_lufs"] == pytest.approx(0.0, abs=0.06)  # 8 kHz bends the shelf by 0.04 LU
    assert found["short_term_max_lufs"] == pytest.approx(0.0, abs=0.06)
