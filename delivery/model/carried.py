"""Tags, chunks and pictures of a file, and which of them a spec lets through. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

LABEL_COPY = "label_copy"
"""Kind of an item that identifies the recording: a known field."""
ENCODER = "encoder"
"""Kind of an item that names the program that wrote the file; not a reason to rewrite a copy."""

KEEP_TAGS: Mapping[str, str] = {
    "bext": "the broadcast chunk: originator, description, dates, time reference, UMID, coding history",
    "comments": "comments and descriptions",
    "lyrics": "lyrics",
    "pictures": "pictures other than the cover that the spec embeds",
    "replay_gain": "ReplayGain and other playback gains",
    "others": "every other text or private frame that is no field of label copy",
}
"""Values of the spec key ``keep_tags``."""

KEEP_CHUNKS: Mapping[str, str] = {
    "cue_points": "cue points, markers and their labels",
    "loops": "sampler loops and instrument data",
    "ixml": "iXML of recorders and editing programs",
    "adm": "axml, chna and their like: descriptions of immersive sound",
    "cart": "traffic data of radio automation (AES46)",
    "unknown": "chunks of unknown kinds",
}
"""Values of the spec key ``keep_chunks``."""


@dataclass(frozen=True, slots=True, order=True)
class Item:
    """One tag, chunk or picture of a file."""

    kind: str
    """LABEL_COPY, ENCODER, or a value of ``keep_tags`` or ``keep_chunks``."""
    place: str
    """'ID3 TSRC', 'Vorbis COMMENT', 'bext Description', 'chunk LGWV'."""
    text: str
    """Its text; its size if it is not text."""
    field: str = ""
    """Id of the field, if known."""


@dataclass(frozen=True, slots=True)
class Replaced:
    """A text of the master that the delivered file replaces."""

    item: Item
    now: str


@dataclass(frozen=True, slots=True)
class Passage:
    """What becomes of the items of one master in one delivered file."""

    kept: tuple[Item, ...] = ()
    """Passed on unchanged, or with positions scaled to the new sample rate."""
    removed: tuple[Item, ...] = ()
    """Not in the delivered file; fields that label copy states identically are not counted."""
    replaced: tuple[Replaced, ...] = ()


@dataclass(frozen=True, slots=True)
class Positions:
    """Map a position in the master to one in the delivered file."""

    from_hz: int
    to_hz: int
    shift: int = 0
    """Samples of the delivered file before the master's first."""

    def at(self, sample: int) -> int:
        """The same instant in the delivered file, halves rounded up, never before its beginning."""
        return max(0, self.length(sample) + self.shift)

    def length(self, samples: int) -> int:
        """The same duration in the delivered file, halves rounded up."""
        return (2 * samples * self.to_hz + self.from_hz) // (2 * self.from_hz)

    @property
    def unchanged(self) -> bool:
        """True if all positions keep their sample numbers."""
        return self.from_hz == self.to_hz and not self.shift
