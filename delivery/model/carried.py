"""What a file carries besides its samples: tags, chunks, pictures; and what of it a spec lets through. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

LABEL_COPY = "label_copy"
"""Kind of an item that says which recording this is: a field the tool knows."""
ENCODER = "encoder"
"""Kind of an item that names the program which wrote the file. It is no reason to rewrite a copy."""

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
    "unknown": "chunks this program does not know",
}
"""Values of the spec key ``keep_chunks``."""


@dataclass(frozen=True, slots=True, order=True)
class Item:
    """One thing a file carries besides its samples."""

    kind: str
    """LABEL_COPY, ENCODER, or a value of ``keep_tags`` or ``keep_chunks``."""
    place: str
    """'ID3 TSRC', 'Vorbis COMMENT', 'bext Description', 'chunk LGWV'."""
    text: str
    """What it says; its size where it is no text."""
    field: str = ""
    """Field id where the tool knows it as one."""


@dataclass(frozen=True, slots=True)
class Replaced:
    """A text of the master's own that the delivered file has another text for."""

    item: Item
    now: str


@dataclass(frozen=True, slots=True)
class Passage:
    """What becomes of the items of one master in one delivered file."""

    kept: tuple[Item, ...] = ()
    """Passed on as they are, or with positions scaled to the new sample rate."""
    removed: tuple[Item, ...] = ()
    """Not in the delivered file; fields that label copy states in the same words are not counted."""
    replaced: tuple[Replaced, ...] = ()


@dataclass(frozen=True, slots=True)
class Positions:
    """How a place in the master becomes a place in the delivered file."""

    from_hz: int
    to_hz: int
    shift: int = 0
    """Samples of the delivered file that precede the master's first."""

    def at(self, sample: int) -> int:
        """The same instant in the delivered file, halves rounded up, never before its beginning."""
        return max(0, self.length(sample) + self.shift)

    def length(self, samples: int) -> int:
        """The same duration in the delivered file, halves rounded up."""
        return (2 * samples * self.to_hz + self.from_hz) // (2 * self.from_hz)

    @property
    def unchanged(self) -> bool:
        return self.from_hz == self.to_hz and not self.shift
