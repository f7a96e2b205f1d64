"""Checks the audio definition model of an immersive master: is every channel described?"""

from __future__ import annotations

from itertools import islice

from delivery.audio.facts import SoundFacts
from delivery.errors import Unusable
from delivery.meters.chunks import bodies
from delivery.meters.meter import Array, all_missing
from delivery.model.figure import Figure, Reading, Subject
from delivery.model.speakers import NOT_STATED, loudness_weights, usual

BS2076 = "ITU-R BS.2076-2 and BS.2088-1, read second-hand"
MOST_FAULTS = 20
NEEDS_RENDERER = "its channels have no fixed loudspeakers: objects need a renderer (ITU-R BS.2127) first"


class Adm:
    """Read from the chna and axml chunks of a WAV, not from the samples."""

    subject = Subject.FILE
    gives = (
        Figure("adm_chunks", "", None, "Whether a WAV has a chna chunk, which ties channels to the ADM.", BS2076),
        Figure("adm_faults", "", None, "What is wrong with its audio definition model, twenty at most.", BS2076),
    )
    bears_nonfinite = True

    def __init__(self, sound: SoundFacts) -> None:
        self._sound = sound

    def update(self, block: Array) -> None:
        """Nothing to do: the samples do not describe the model."""

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        sound = self._sound
        try:
            found = bodies(sound, (b"chna", b"axml"))
        except Unusable as problem:
            return all_missing(self.gives, f"its chunks cannot be followed: {problem.found}")
        if b"chna" not in found:
            return Reading(False), Reading.missing("no chna chunk")
        from delivery.meters.adm_model import faults_of  # few files have such chunks

        faults = faults_of(found[b"chna"], found.get(b"axml", b""), sound.channels, sound.rate_hz)
        return Reading(True), Reading(tuple(islice(faults, MOST_FAULTS)))


def layout_weights(sound: SoundFacts) -> tuple[tuple[float, ...] | None, str]:
    """Loudness weight of each channel, or why there is none.

    They come from an audio definition model, else from the positions stated by the container or coding; never guessed.
    """
    if sound.channels <= 2:
        return loudness_weights(sound.speakers or usual(sound.channels)), ""
    try:
        found = bodies(sound, (b"chna", b"axml"))
    except Unusable as problem:
        return None, f"its chunks cannot be followed: {problem.found}"
    if b"chna" not in found:
        stated = loudness_weights(sound.speakers)
        return (stated, "") if stated else (None, NOT_STATED.format(channels=sound.channels))
    from delivery.meters.adm_model import weights_of

    weights = weights_of(found[b"chna"], found.get(b"axml", b""), sound.channels)
    return weights, "" if weights else NEEDS_RENDERER
