"""Suspicion of pre-emphasis that was never taken off: treble as strong as the middle of the spectrum."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from delivery.model.answer import Weight
from delivery.model.figure import Figure, Reading, Subject

TREBLE_HZ, MIDDLE_HZ = (7_900.0, 12_700.0), (990.0, 2_010.0)
LEAST_DB = -60.0
"""Against the sum of all bands: below it dither and noise floors would decide."""


class PreEmphasis:
    """From the third octaves; the audio is not read again.

    Pre-emphasis of 50 and 15 us (IEC 60908) raises 1 to 2 kHz by 0.4 to 1.3 dB and 8 to 12.5 kHz by 6.7 to 8.4 dB. The
    spectra of music differ by more than that, so that most pre-emphasised files show nothing, and bright ones that were
    never pre-emphasised look like it. Only the flag in the subcode of the disc, or its cue sheet, is proof.
    """

    subject = Subject.HISTORY
    gives = (
        Figure(
            "pre_emphasis_suspected",
            "",
            None,
            "The third octaves of 8, 10 and 12.5 kHz are on average as high as those of 1, 1.25, 1.6 and 2 kHz, as in "
            "few pieces of music without pre-emphasis. A weak sign; most pre-emphasised files do not show it.",
            "common practice, no source; the curve: IEC 60908, time constants of 50 and 15 us, from memory",
            weight=Weight.WEAK_SIGN,
        ),
    )
    needs = ("third_octave_hz", "third_octave_db")

    @staticmethod
    def derive(readings: Mapping[str, Reading]) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, from the *readings* of the other meters."""
        middles, levels = (np.asarray(readings[name].value, np.float64) for name in PreEmphasis.needs)
        treble, middle = (
            levels[(middles > lowest_hz) & (middles < highest_hz)] for lowest_hz, highest_hz in (TREBLE_HZ, MIDDLE_HZ)
        )
        if len(treble) < 3:
            return (Reading.missing("its sample rate leaves no room up to 12.5 kHz"),)
        if max(treble.max(), middle.max()) < LEAST_DB:
            return (Reading.missing("too dull to tell"),)
        return (Reading(bool(treble.mean() >= middle.mean())),)
