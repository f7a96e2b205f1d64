"""Header facts of the file, as readings beside the measured figures."""

from __future__ import annotations

from delivery.audio.facts import SoundFacts
from delivery.meters.meter import Array
from delivery.model.figure import Figure, Reading, Subject
from delivery.model.speakers import NOT_STATED

HEADER = "the file's own header"
READER = "this program"

NO_BITS = {"dsd": "one-bit sound, decoded to floats"}
"""Coding -> why it has no bit depth."""


class Container:
    """Header facts; frames are counted while reading, so that they are exact for lossy files too."""

    subject = Subject.FILE
    gives = (
        Figure("container", "", None, "Kind of file, by its content.", HEADER),
        Figure("riff_form", "", None, "RIFF, RF64 or BW64 for WAV; empty for the rest.", HEADER),
        Figure("coding", "", None, "How samples are stored: pcm, float or the name of a lossy coding.", HEADER),
        Figure("rate_hz", "Hz", 0, "Samples a second.", HEADER),
        Figure("channels", "", 0, "Number of channels.", HEADER),
        Figure("bits", "bit", 0, "Word length stated in the header.", HEADER),
        Figure("frames", "", 0, "Samples in each channel, counted while reading.", "counted"),
        Figure("duration_s", "s", 3, "Playing time: frames over rate.", "counted"),
        Figure("size_bytes", "bytes", 0, "Size of the file.", "the file system"),
        Figure("extensible", "", None, "WAV with the extensible header (format tag 0xFFFE).", HEADER),
        Figure(
            "decoded_by",
            "",
            None,
            "Library that decoded the samples: libsndfile or FFmpeg; none for plain PCM.",
            READER,
        ),
        Figure(
            "speakers",
            "",
            None,
            "Loudspeaker of each channel, as the container or the coding states it (WAVE mask, FLAC order, CAF chan).",
            "ITU-R BS.2051-3 (names)",
        ),
    )
    bears_nonfinite = True

    def __init__(self, sound: SoundFacts) -> None:
        self._sound = sound
        self._frames = 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        self._frames += len(block)

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        sound = self._sound
        return (
            Reading(sound.container),
            Reading(sound.riff_form),
            Reading(sound.coding),
            Reading(sound.rate_hz),
            Reading(sound.channels),
            Reading(sound.bits)
            if sound.bits
            else Reading.missing(NO_BITS.get(sound.coding, "a lossy coding has no bit depth")),
            Reading(self._frames),
            Reading(self._frames / sound.rate_hz),
            Reading(sound.size_bytes),
            Reading(sound.extensible),
            Reading(sound.decoded_by),
            Reading(sound.speakers) if sound.speakers else Reading.missing(NOT_STATED.format(channels=sound.channels)),
        )
