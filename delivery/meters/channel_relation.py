"""Relation of the two channels: stereo, nearly mono, or stereo with one channel inverted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from delivery.model.figure import Figure, Reading, Subject

PRACTICE = "common practice, no source"
DEEPEST_DB = -120.0
NEARLY_MONO_DB = -35.0
"""Residual below which two channels count as one: lossy coding leaves less; the narrowest stereo tried has -11 dB."""
BASS_HZ, REST_HZ = (31.5, 63.0, 125.0), (250.0, 500.0, 1000.0, 2000.0, 4000.0)
"""Octaves. The bass decides where it can: it is mixed to the middle, and its waves are longer than the distance of two
microphones. From 8 kHz on, lossy coders and spaced microphones decide about the phase."""
OPPOSED_BASS, OPPOSED_REST = -0.15, -0.4
OPPOSED_SHARE = 0.6
AUDIBLE_DBFS = -60.0
Row = Sequence[float]


class ChannelRelation:
    """From the correlation over the file, and that of octaves over time; the audio is not read again.

    Music is mixed with its bass and its voices near the middle, so left and right agree there. If they oppose each
    other there for most of the time, one side is most likely inverted. Music without a middle shows neither,
    so a negative result proves nothing.
    """

    subject = Subject.STEREO
    gives = (
        Figure(
            "channel_residual_db",
            "dB",
            1,
            "Residual of one channel less the other at its best-fitting gain; 0 unrelated, -120 the same sound.",
            PRACTICE,
        ),
        Figure(
            "nearly_mono",
            "",
            None,
            "The channels are not the same samples, but what they differ by is below -35 dB once gain is fitted.",
            PRACTICE,
        ),
        Figure(
            "one_side_inverted",
            "",
            None,
            f"Left and right oppose each other in {OPPOSED_SHARE:.0%} of the stretches of octaves_over_time: the mean "
            f"of their correlations in the octaves of 31.5, 63 and 125 Hz is below zero there and {OPPOSED_BASS} or "
            f"less over all; or, where these say nothing, that of 250 Hz to 4 kHz is {OPPOSED_REST} or less. Octaves "
            f"below {AUDIBLE_DBFS:.0f} dBFS do not count. A sign, never proof.",
            PRACTICE,
        ),
    )
    needs = ("correlation", "identical_channels", "octaves_over_time")

    @staticmethod
    def derive(readings: Mapping[str, Reading]) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, from the *readings* of the other meters."""
        correlation, identical, octaves = (readings[name].value for name in ChannelRelation.needs)
        residual_db = 10 * float(np.log10(max(1 - correlation**2, 10 ** (DEEPEST_DB / 10))))
        same = residual_db <= NEARLY_MONO_DB
        return Reading(residual_db), Reading(same and correlation > 0 and not identical), Reading(_opposed(octaves))


def agreement(rows: Sequence[Row], octaves_hz: Sequence[float]) -> list[float]:
    """Mean correlation of these octaves in each stretch of time with sound in any: 1 same, -1 opposite.

    Parameters
    ----------
    rows : start in s, middle of the octave in Hz, dBFS of (left + right) / root 2 and of (left - right) / root 2
    """
    stretches: dict[float, list[float]] = {}
    for at_s, hz, *levels_dbfs in rows:
        mid, side = (10 ** (level / 10) for level in levels_dbfs)
        if hz in octaves_hz and mid + side > 10 ** (AUDIBLE_DBFS / 10):
            stretches.setdefault(at_s, []).append((mid - side) / (mid + side))
    return [sum(found) / len(found) for found in stretches.values()]


def _opposed(rows: Sequence[Row]) -> bool:
    bass, rest = (np.array(agreement(rows, octaves_hz) or [0.0]) for octaves_hz in (BASS_HZ, REST_HZ))
    if abs(bass.mean()) >= -OPPOSED_BASS:
        return bool(bass.mean() < 0 and np.mean(bass < 0) >= OPPOSED_SHARE)
    return bool(rest.mean() <= OPPOSED_REST and np.mean(rest < 0) >= OPPOSED_SHARE)
