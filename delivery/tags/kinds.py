"""The kind of a tag by its name, in any tag format. Pure.

Names and four-letter codes as in the documents named in `fields`; ReplayGain names after its 2.0 specification,
``R128_*_GAIN`` after RFC 7845, 5.2.1; iTun* names are common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from delivery.model.carried import ENCODER, LABEL_COPY, Item
from delivery.tags.fields import FIELDS, plain_name

STRUCTURE = "structure"
"""Kind of data that a player needs to play the audio correctly, such as the exact length: never removed, never
reported."""

ELSEWHERE = ("ID3v1", "APEv2", "Lyrics3", "after the last chunk")
"""Places that no delivered file has: their content is always removed."""
WHOLE = ("FLAC CUESHEET",)
"""Places kept or removed as one: a cue sheet that names another recording is removed with its points."""

_FREE: Mapping[str, str] = {
    "COMMENT": "comments", "COMMENTS": "comments", "DESCRIPTION": "comments", "DESC": "comments",
    "LYRICS": "lyrics", "UNSYNCEDLYRICS": "lyrics", "SYNCEDLYRICS": "lyrics",
    "METADATABLOCKPICTURE": "pictures", "COVERART": "pictures", "COVERARTMIME": "pictures",
    "ENCODER": ENCODER, "ENCODEROPTIONS": ENCODER, "ENCODERSETTINGS": ENCODER,
    "ITUNSMPB": STRUCTURE, "WAVEFORMATEXTENSIBLECHANNELMASK": STRUCTURE,
    "ITUNNORM": "replay_gain",
}  # fmt: skip
"""By ``plain_name``; free names mean the same in Vorbis comments, APEv2, TXXX frames and freeform atoms."""
_GAINS = ("REPLAYGAIN", "R128", "MP3GAIN")

_OWN: Mapping[str, Mapping[str, str]] = {
    "id3": {
        "COMM": "comments", "USLT": "lyrics", "SYLT": "lyrics", "APIC": "pictures", "TSSE": ENCODER,
        "RVA2": "replay_gain", "RVAD": "replay_gain", "RGAD": "replay_gain", "XRVA": "replay_gain",
    },
    "mp4": {
        "©cmt": "comments", "desc": "comments", "ldes": "comments", "©lyr": "lyrics", "covr": "pictures",
        "©too": ENCODER,
    },
    "info": {"ICMT": "comments", "ISFT": ENCODER},
}  # fmt: skip


def kind_of(key: str, column: str, free: str | None = "") -> tuple[str, str]:
    """Kind and field id (or '') of the content under *key*.

    Parameters
    ----------
    key : in the tag format's notation: 'TIT2', 'TXXX:BARCODE', 'REPLAYGAIN_TRACK_GAIN'
    column : of the table of fields
    free : prefix of free names, such as 'TXXX:'; None if there are none
    """
    name = plain_name(key)
    if field := _fields(column, free).get(name):
        return LABEL_COPY, field
    if kind := _OWN.get(column, {}).get(key):
        return kind, ""
    if free is not None and name.startswith(plain_name(free)):
        bare = name.removeprefix(plain_name(free))
        if bare.startswith(_GAINS):
            return "replay_gain", ""
        return _FREE.get(bare, "others"), ""
    return "others", ""


def item_of(key: str, text: str, place: str, column: str, free: str | None = "") -> Item | None:
    """The item under *key*; None for data a player needs."""
    kind, field = kind_of(key, column, free)
    return None if kind == STRUCTURE else Item(kind, place, text, field)


def size(body: bytes) -> str:
    """Description of content that is not text."""
    return f"{len(body)} bytes"


@cache
def _fields(column: str, free: str | None) -> Mapping[str, str]:
    """Field id by plain name: our own names, and those other programs use."""
    found: dict[str, str] = {}
    for name, field in FIELDS.items():
        for name_there in field.places(column):
            found.setdefault(plain_name(name_there.rstrip("/")), name)
    for name, field in FIELDS.items():
        others = field.also.split() if free is not None and field.places(column) else ()
        for key in others:
            found.setdefault(plain_name(f"{free}{key}"), name)
    return found
