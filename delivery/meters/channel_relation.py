"""Relation of the two channels: stereo, nearly mono, or stereo with one channel inverted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from delivery.model.figure import Figure, Reading, Subject

PRACTICE = "common practice, no source"
DEEPEST_DB = -120.0
NEARLY_MONO_DB = -35.0
"""Residual below which two channels count as one: lossy coding leaves less; the narrowest stereo tried has -11 dB."""
INVERTED_CORRELATION = -0.4
INVERTED_SECONDS = 0.6
BASS_HZ = (63, 125)
INVERTED_BASS = -0.35


class ChannelRelation:
    """From correlation over the file, over its seconds and in the octaves of the bass; the audio is not read again.

    Music is mixed with its bass and its voices near the middle, so left and right agree there. If they oppose each
    other over most of the file, or throughout the bass, one side is most likely inverted. Music without a middle shows
    neither, so a negative result proves nothing.
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
            "Left and right oppose each other: correlation at or below -0.4 over the file and negative in 60 % of its "
            "loud seconds, or at or below -0.35 in the octaves of both 63 and 125 Hz. A sign, never proof.",
            PRACTICE,
        ),
    )
    needs = ("correlation", "correlation_curve", "identical_channels", "octave_hz", "mono_loss_octaves_db")

    @staticmethod
    def derive(readings: Mapping[str, Reading]) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, from the *readings* of the other meters."""
        correlation, curve, identical, octaves_hz, losses_db = (readings[name].value for name in ChannelRelation.needs)
        residual_db = 10 * float(np.log10(max(1 - correlation**2, 10 ** (DEEPEST_DB / 10))))
        same = residual_db <= NEARLY_MONO_DB
        bass = [octave_correlation(loss) for hz, loss in zip(octaves_hz, losses_db, strict=True) if hz in BASS_HZ]
        opposed = _opposed(correlation, curve) or (bool(bass) and max(bass) <= INVERTED_BASS)
        return Reading(residual_db), Reading(same and correlation > 0 and not identical), Reading(opposed)


def octave_correlation(mono_loss_db: float) -> float:
    """Correlation of two channels of equal power with this loss in their sum: 1 at 0 dB, 0 at 3.01 dB."""
    return float(2 * 10 ** (-mono_loss_db / 10) - 1)


def _opposed(correlation: float, seconds: Sequence[float]) -> bool:
    """True over the whole file, and for most of the time."""
    audible = np.array([one for one in seconds if one != 0])
    return correlation <= INVERTED_CORRELATION and len(audible) > 0 and bool(np.mean(audible < 0) >= INVERTED_SECONDS)
