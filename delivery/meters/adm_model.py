"""The audio definition model (ITU-R BS.2076) in a BW64 file: its chunks and their faults. Pure.

The chna chunk (ITU-R BS.2088) ties the file's channels to track UIDs; the axml chunk holds the XML that describes them.
"""

from __future__ import annotations

import math
import re
import struct
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from delivery.model.speakers import SIDE_WEIGHT, loudness_weight

SILENT_UID = "ATU_00000000"
COMMON_BELOW = 0x1000
"""Identifiers with a lower number are the common definitions of ITU-R BS.2094, which a file need not repeat."""
COMMON_LFE = frozenset({0x4, 0x20, 0x21})
COMMON_SIDES = frozenset({0x5, 0x6, 0xA, 0xB, 0x18, 0x19})
"""Common channel formats M+110, M-110, M+090, M-090, M+060 and M-060: 60 to 120 degrees to the side, at ear height."""
DIRECT_SPEAKERS = "0001"
REFERENCES = {"audioProgramme": "audioContent", "audioContent": "audioObject"}
"""Element -> references it must have at least once (BS.2076-2, 5.7 and 5.8)."""
_ENTRY = struct.Struct("<H12s14s11sx")
_ID = re.compile(r"[A-Z]{2,3}_([0-9A-Fa-f]{4})([0-9A-Fa-f]{4})")


@dataclass(frozen=True, slots=True)
class TrackEntry:
    """One row of the chna chunk."""

    channel: int
    """From 1."""
    uid: str
    track_format: str
    pack_format: str


def entries_of(chna: bytes) -> tuple[TrackEntry, ...]:
    """The complete rows; empty rows reserved by a writer are left out."""
    rows = (_ENTRY.unpack_from(chna, at) for at in range(4, len(chna) - _ENTRY.size + 1, _ENTRY.size))
    texts = ((row[0], *(text.split(b"\0")[0].decode("ascii", "replace").strip() for text in row[1:])) for row in rows)
    return tuple(TrackEntry(*text) for text in texts if text[0])


class Document:
    """The XML of an axml chunk.

    Raises
    ------
    ValueError : not XML, a document type, or no audio described; the message states which
    """

    def __init__(self, axml: bytes) -> None:
        if b"<!DOCTYPE" in axml or b"<!ENTITY" in axml:
            raise ValueError("the axml chunk declares a document type, which BS.2076 does not use")
        from xml.etree import ElementTree  # few files have such a chunk

        try:
            root = ElementTree.fromstring(axml.rstrip(b"\0"))
        except ElementTree.ParseError as error:
            raise ValueError(f"the axml chunk is not well-formed XML ({error})") from error
        whole = next((element for element in root.iter() if _name(element) == "audioFormatExtended"), None)
        if whole is None:
            raise ValueError("the axml chunk has no audioFormatExtended element")
        self.elements = [element for element in whole.iter() if _id(element)]

    def named(self, kind: str) -> list[Any]:
        """Elements of that *kind*, without namespace."""
        return [element for element in self.elements if _name(element) == kind]

    def by_id(self) -> Mapping[str, Any]:
        """Elements by their ID attribute."""
        return {_id(element).upper(): element for element in self.elements}


def faults_of(chna: bytes, axml: bytes, channels: int, rate_hz: int) -> Iterator[str]:
    """Faults that prevent a renderer from identifying each channel; empty if chunks and XML agree."""
    if not chna:
        yield "there is no chna chunk"
    if not axml:
        yield "there is no axml chunk"
    if not (chna and axml):
        return
    try:
        document = Document(axml)
    except ValueError as problem:
        yield str(problem)
        return
    entries = entries_of(chna)
    yield from _channel_faults(entries, channels)
    yield from _track_faults(entries, document, rate_hz)
    yield from _reference_faults(document)


def weights_of(chna: bytes, axml: bytes, channels: int) -> tuple[float, ...] | None:
    """Loudness weight of each channel after ITU-R BS.1770-5, Annex 3; None where one has no fixed loudspeaker.

    Loudspeakers 60 to 120 degrees to the side and less than 30 degrees above or below count 1.41, low-frequency effects
    nothing, all others 1. Objects, scenes and matrices need a renderer (ITU-R BS.2127) first.
    """
    try:
        known = Document(axml).by_id() if axml else {}
    except ValueError:
        return None
    weights: dict[int, float] = {}
    for entry in entries_of(chna):
        weight = _weight(entry, known)
        if weight is None:
            return None
        weights[entry.channel] = weight
    return tuple(weights.get(channel, 0.0) for channel in range(1, channels + 1)) if weights else None


def _channel_faults(entries: tuple[TrackEntry, ...], channels: int) -> Iterator[str]:
    covered = {entry.channel for entry in entries}
    for channel in sorted(channel for channel in covered if channel > channels):
        yield f"chna names channel {channel} of a file of {channels}"
    for channel in sorted(set(range(1, channels + 1)) - covered):
        yield f"channel {channel} has no track UID in chna"


def _track_faults(entries: tuple[TrackEntry, ...], document: Document, rate_hz: int) -> Iterator[str]:
    """Every track UID of chna is described, and consistently."""
    known = {_id(element).upper(): element for element in document.named("audioTrackUID")}
    for entry in entries:
        element = known.get(entry.uid.upper())
        if element is None:
            yield f"track UID {entry.uid} of channel {entry.channel} is not described in axml"
            continue
        referred = {text.upper() for text in _references(element)}
        for stated in (entry.track_format, entry.pack_format):
            if stated and referred and stated.upper() not in referred:
                yield f"track UID {entry.uid}: chna refers to {stated}, axml does not"
        if element.get("sampleRate", str(rate_hz)) != str(rate_hz):
            yield f"track UID {entry.uid} is described as {element.get('sampleRate')} Hz, the file at {rate_hz} Hz"


def _reference_faults(document: Document) -> Iterator[str]:
    """Every reference resolves, from a programme down to tracks."""
    known = document.by_id()
    for twice in (each for each, count in Counter(map(_id, document.elements)).items() if count > 1):
        yield f"two elements have the identifier {twice}"
    if not document.named("audioProgramme"):
        yield "there is no audioProgramme"
    for element in document.elements:
        own, name = _id(element), _name(element)
        referred = list(_references(element))
        for text in referred:
            if text.upper() not in known and not _is_common(text) and text != SILENT_UID:
                yield f"{own} refers to {text}, which does not exist"
        wanted = REFERENCES.get(name)
        if wanted and not any(_name(child) == f"{wanted}IDRef" for child in element):
            yield f"{own} refers to no {wanted}"
        if name == "audioObject" and not referred:
            yield f"{own} refers to no track"


def _weight(entry: TrackEntry, known: Mapping[str, Any]) -> float | None:
    channel_format = _channel_format(entry, known)
    kind, number = _parts(channel_format)
    if kind != DIRECT_SPEAKERS:
        return None
    if number < COMMON_BELOW:
        return 0.0 if number in COMMON_LFE else SIDE_WEIGHT if number in COMMON_SIDES else 1.0
    element = known.get(channel_format.upper())
    return None if element is None else _weight_of_speaker(element)


def _channel_format(entry: TrackEntry, known: Mapping[str, Any]) -> str:
    """Channel format of a chna row: direct, or through track and stream format; common ones share their number."""
    at = entry.track_format
    for _ in range(3):
        kind, number = _parts(at)
        if at.startswith("AC_") or not kind:
            return at
        if number < COMMON_BELOW:
            return f"AC_{kind}{number:04x}"
        element = known.get(at.upper())
        at = (
            next((text for text in _references(element) if text[:3] in ("AS_", "AC_")), "")
            if element is not None
            else ""
        )
    return at


def _weight_of_speaker(element: Any) -> float | None:
    if any("LFE" in label.upper() for label in _texts(element, "speakerLabel")):
        return 0.0
    angles = _angles(element)
    if angles is None:
        return None
    return loudness_weight(*angles)


def _angles(element: Any) -> tuple[float, float] | None:
    """Azimuth and elevation in degrees, from polar or Cartesian coordinates (X to the right, Y to the front, Z up)."""
    found: dict[str, float] = {}
    for child in element.iter():
        if _name(child) == "position" and not child.get("bound"):
            try:
                found[child.get("coordinate", "")] = float(child.text or "")
            except ValueError:
                return None
    if "azimuth" in found:
        return found["azimuth"], found.get("elevation", 0.0)
    if {"X", "Y"} <= found.keys():
        x, y, z = found["X"], found["Y"], found.get("Z", 0.0)
        return math.degrees(math.atan2(-x, y)), math.degrees(math.atan2(z, math.hypot(x, y)))
    return None


def _name(element: Any) -> str:
    return str(element.tag).rpartition("}")[2]


def _id(element: Any) -> str:
    """'AO_1001' of an audioObject; an audioTrackUID's attribute is UID, others have name+ID."""
    name = _name(element)
    return str(element.get("UID", "") if name == "audioTrackUID" else element.get(f"{name}ID", ""))


def _references(element: Any) -> Iterator[str]:
    for child in element:
        if _name(child).endswith("IDRef") and child.text:
            yield child.text.strip()


def _texts(element: Any, name: str) -> Iterator[str]:
    for child in element.iter():
        if _name(child) == name and child.text:
            yield child.text.strip()


def _parts(text: str) -> tuple[str, int]:
    """Type and number: ('0001', 0x1001) of 'AC_00011001'; ('', 0) if there are none."""
    found = _ID.match(text)
    return (found[1], int(found[2], 16)) if found else ("", 0)


def _is_common(text: str) -> bool:
    kind, number = _parts(text)
    return bool(kind) and 0 < number < COMMON_BELOW and text[:3] != "ATU"
