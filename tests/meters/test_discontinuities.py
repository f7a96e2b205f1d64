"""Dips, gaps with edges, repeated and held buffers: found where numpy planted them, and one list of them all.

Figures over released music: ``python -m tests.benchmarks.discontinuities``.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.meters import measure_blocks
from delivery.meters.breaks import Breaks
from delivery.meters.discontinuities import Discontinuities
from delivery.model.figure import Reading
from tests.meters.memory import cut, facts, readings
from tests.signals import noise, sine

Array = NDArray[np.float64]
RATES = [44_100, 48_000, 96_000]
AT_S = 2.0


def music(rate_hz: int, seconds: float = 5.0, hiss_dbfs: float = -34) -> Array:
    """A held note, and a hiss 20 dB under it."""
    return sine(220, rate_hz, seconds, level_dbfs=-14) + noise(rate_hz, seconds, level_dbfs=hiss_dbfs)


def softer(sound: Array, rate_hz: int, length_s: float, edge_s: float, depth_db: float, at_s: float = AT_S) -> Array:
    """By *depth_db* from *at_s* on, straight edges inside."""
    t = np.arange(len(sound)) / rate_hz - at_s
    inside = np.clip(np.minimum(t, length_s - t) / edge_s, 0, 1)
    return np.asarray(sound * (1 - inside * (1 - 10 ** (-depth_db / 20)))[:, None])


def repeated(sound: Array, rate_hz: int, frames: int) -> Array:
    at, made = round(AT_S * rate_hz), sound.copy()
    made[at : at + frames] = made[at - frames : at]
    return made


def dithered(sound: Array, bits: int) -> Array:
    rng, steps = np.random.default_rng(7), 2.0 ** (bits - 1)
    return np.asarray(np.rint(sound * steps + rng.random(sound.shape) - rng.random(sound.shape)) / steps)


@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize(("length_s", "edge_s"), [(0.02, 0.002), (0.05, 0.005), (0.1, 0.01)])
def test_gaps_with_edges_are_found(rate_hz: int, length_s: float, edge_s: float) -> None:
    found = readings(Breaks, softer(music(rate_hz), rate_hz, length_s, edge_s, 200), rate_hz)
    assert found["edged_gap_places_at_s"] == pytest.approx([AT_S], abs=edge_s + 0.002)
    assert found["dip_places"] == 0


@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize("edge_s", [0.001, 0.005])
def test_a_dip_is_found_and_called_a_dip(rate_hz: int, edge_s: float) -> None:
    found = readings(Breaks, softer(music(rate_hz), rate_hz, 0.03, edge_s, 20), rate_hz)
    assert found["dip_places_at_s"] == pytest.approx([AT_S], abs=edge_s + 0.002)
    assert found["edged_gap_places"] == 0


@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize("bits", [16, 24])
@pytest.mark.parametrize("frames", [64, 128, 1024])
def test_a_repeated_buffer_is_found_with_its_length(rate_hz: int, bits: int, frames: int) -> None:
    """Dithered after the fault: the copies differ by steps of the dither."""
    found = readings(Breaks, dithered(repeated(music(rate_hz), rate_hz, frames), bits), rate_hz)
    assert found["repeated_buffer_places_at_s"] == pytest.approx([AT_S], abs=4 / rate_hz)
    assert found["repeated_buffer_places_ranked"][0][2] == pytest.approx(1000 * frames / rate_hz, abs=0.2)


@pytest.mark.parametrize("bits", [16, 24])
def test_a_held_value_is_found(bits: int) -> None:
    sound = music(44_100)
    sound[88_200 : 88_200 + 128, 1] = 0.05
    found = readings(Breaks, dithered(sound, bits), 44_100)
    assert found["held_value_places_at_s"] == pytest.approx([AT_S], abs=4 / 44_100)
    assert [row[1] for row in found["held_value_places_ranked"]] == [2]


def test_clipping_is_no_held_value() -> None:
    """Flat at the top of the waveform, for 60 frames and more."""
    sound = np.clip(2 * music(44_100), -0.1, 0.1)
    assert readings(Breaks, sound, 44_100)["held_value_places"] == 0


def test_a_periodic_waveform_is_no_repeat() -> None:
    """A saw of exactly 147 samples equals itself throughout, and has no seam."""
    saw = np.tile(np.linspace(-0.5, 0.5, 147), 1500)[:, None] * [1.0, 1.0]
    assert readings(Breaks, saw, 44_100)["repeated_buffer_places"] == 0


def test_notes_with_rests_are_no_dips() -> None:
    """Struck notes that die away and are struck again after 20 to 200 ms: another level, a stroke behind the rest."""
    rate_hz, rng = 44_100, np.random.default_rng(3)
    sound = noise(rate_hz, 20, level_dbfs=-80) * [1.0, 1.0]
    at = 0
    while at < len(sound) - rate_hz:
        t = np.arange(round(rng.uniform(0.08, 0.3) * rate_hz)) / rate_hz
        note = np.sin(2 * np.pi * rng.uniform(100, 900) * t) * np.exp(-t / 0.08) * np.clip((t[-1] - t) / 0.04, 0, 1)
        sound[at : at + len(t)] += 0.3 * rng.uniform(0.3, 1) * note[:, None]
        at += len(t) + round(rng.uniform(0.02, 0.2) * rate_hz)
    found = readings(Breaks, sound, rate_hz)
    assert found["dip_places"] + found["edged_gap_places"] == 0


@pytest.mark.parametrize(("own_dips", "depth_db", "listed"), [(0, 12, 1), (0, 16, 1), (13, 16, 0), (13, 20, 1)])
def test_in_a_song_with_dips_of_its_own_a_fault_must_be_deeper(own_dips: int, depth_db: float, listed: int) -> None:
    """By construction: 13 dips of 9 dB in 20 s, 1.4 s apart, are the song's; one more is the fault."""
    rate_hz = 44_100
    sound = softer(music(rate_hz, 20), rate_hz, 0.03, 0.002, depth_db, at_s=0.5)
    for number in range(own_dips):
        sound = softer(sound, rate_hz, 0.03, 0.002, 9, at_s=1.3 + 1.4 * number)
    assert readings(Breaks, sound, rate_hz)["dip_places"] == listed


@pytest.mark.parametrize("block", [1000, 4801, 65_536])
def test_blocks_do_not_matter(block: int) -> None:
    sound = repeated(softer(music(48_000), 48_000, 0.03, 0.001, 20), 48_000, 128)
    sound[150_000:150_200] = sound[150_000]
    assert readings(Breaks, sound, 48_000, block) == readings(Breaks, sound, 48_000, len(sound))


def test_one_list_has_each_fault_once_with_its_kind() -> None:
    """A click, a repeated buffer, a dip and a gap; the gap's abrupt edges are no faults of their own."""
    rate_hz = 44_100
    sound = softer(music(rate_hz, 9.0, hiss_dbfs=-60), rate_hz, 0.03, 0.001, 20)
    sound[4 * rate_hz : 4 * rate_hz + 2] += 0.3
    sound[6 * rate_hz : 6 * rate_hz + 128] = sound[6 * rate_hz - 128 : 6 * rate_hz]
    sound[8 * rate_hz : 8 * rate_hz + 1000] = 0
    names = [figure.name for figure in Discontinuities.gives]
    found = measure_blocks(facts(sound, rate_hz), cut(sound, 65_536), only=names)
    kinds = found.value("discontinuity_places_kinds")
    assert [kind for _, kind in kinds] == ["dip", "click", "repeated buffer", "gap"]
    assert [at_s for at_s, _ in kinds] == pytest.approx([2, 4, 6, 8], abs=0.005)
    assert found.value("discontinuity_places") == 4


def test_a_style_is_not_listed_but_counted() -> None:
    """By construction: 400 dips, which have no list."""
    values = dict.fromkeys(Discontinuities.needs, ())
    readings_ = {name: Reading(0 if not name.endswith(("_s", "_ranked", "_many")) else v) for name, v in values.items()}
    readings_ |= {name: Reading(False) for name in values if name.endswith("_many")}
    readings_ |= {"dip_places": Reading(400), "dip_places_many": Reading(True)}
    count, at_s, kinds, many = Discontinuities.derive(readings_)
    assert (count.value, at_s.value, kinds.value, many.value) == (400, (), (), True)
