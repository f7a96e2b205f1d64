"""One channel as played by two loudspeakers."""

from __future__ import annotations

from collections.abc import Mapping

from delivery.model.dual_mono import TWO_LOUDSPEAKERS_LU
from delivery.model.figure import Figure, Reading, Subject

ONE_CHANNEL = "only for one channel"


class MonoAsTwo:
    """Loudness of one channel counted twice, for specs with `dual_mono`; elsewhere it counts once."""

    subject = Subject.LOUDNESS
    gives = (
        Figure(
            "dual_mono_integrated_lufs",
            "LUFS",
            1,
            f"Loudness of one channel as two equal loudspeakers play it: {TWO_LOUDSPEAKERS_LU:.2f} LU above what it is "
            "by itself.",
            "ITU-R BS.1770-5, Annex 1: two equal channels have twice the power of one",
        ),
    )
    needs = ("channels", "integrated_lufs")

    @staticmethod
    def derive(readings: Mapping[str, Reading]) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, from the *readings* of the other meters."""
        if readings["channels"].value != 1:
            return (Reading.missing(ONE_CHANNEL),)
        return (Reading(readings["integrated_lufs"].value + TWO_LOUDSPEAKERS_LU),)
