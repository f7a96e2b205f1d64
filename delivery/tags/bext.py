"""The broadcast chunk of EBU Tech 3285 version 2 (2011), byte by byte, and coding history lines after EBU R 98. Pure.

The chunk is ASCII. Letters of European alphabets are transliterated as in file names, emoji and letters of other
scripts are left out, and texts too long are cut; the caller compares the stored with the intended text and reports the
difference. Existing texts are kept byte for byte, whatever their encoding.
"""

from __future__ import annotations

import struct
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import Any

from delivery.model.ascii_text import in_ascii, sayable
from delivery.model.figure import Measurement

FIXED_BYTES = 602
_FORM = struct.Struct("<256s32s32s10s8sQH64s5h180s")  # 602 bytes
NO_VALUE = 0x7FFF
"""Value of a loudness figure that was not measured: outside the range -99.99 .. +99.99 (from memory of Tech 3285)."""

LOUDNESS = ("integrated_lufs", "loudness_range_lu", "true_peak_dbtp", "momentary_max_lufs", "short_term_max_lufs")
"""Figures in the order in which the chunk stores them, each as a 16-bit integer of hundredths."""

WIDTHS = {"Description": 256, "Originator": 32, "OriginatorReference": 32, "OriginationDate": 10}
_PLAIN = str.maketrans({"“": '"', "”": '"', "„": '"', "‟": '"', "…": "...", "\u00a0": " "})
"""Characters that a chunk may hold and a file name may not."""


@dataclass(frozen=True, slots=True)
class Bext:
    """The chunk's contents; texts are ASCII, or represent the bytes of an older chunk (one character a byte)."""

    description: str = ""
    originator: str = ""
    originator_reference: str = ""
    origination_date: str = ""
    """'yyyy-mm-dd'."""
    origination_time: str = ""
    """'hh:mm:ss'."""
    time_reference: int = 0
    """First sample since midnight, in samples."""
    umid: bytes = bytes(64)
    loudness: tuple[int, ...] = (NO_VALUE,) * 5
    """Hundredths, in the order of LOUDNESS."""
    coding_history: tuple[str, ...] = ()
    """One line for each process, oldest first."""

    def __bytes__(self) -> bytes:
        """Version 2 of the chunk: 602 fixed bytes and the coding history, each line ended by CR LF."""
        texts = (self.description, self.originator, self.originator_reference)
        when = (self.origination_date, self.origination_time)
        encoded = [text.encode("latin-1") for text in (*texts, *when)]
        history = "".join(line + "\r\n" for line in self.coding_history).encode("latin-1")
        body = _FORM.pack(*encoded, self.time_reference, 2, self.umid, *self.loudness, bytes(180)) + history
        return body + bytes(len(body) % 2)  # libsndfile fails to find chunks after an odd one in RF64

    def texts(self) -> dict[str, str]:
        """Texts by their names in Tech 3285; empty ones left out."""
        found = {
            "Description": self.description,
            "Originator": self.originator,
            "OriginatorReference": self.originator_reference,
            "OriginationDate": self.origination_date,
            "CodingHistory": "\n".join(self.coding_history),
        }
        return {name: _decoded(text) for name, text in found.items() if text}

    def as_texts(self) -> dict[str, str]:
        """All contents of the chunk by their names in Tech 3285; numbers as text, loudness in one."""
        found = self.texts() | {
            "OriginationTime": self.origination_time,
            "TimeReference": str(self.time_reference or ""),
            "UMID": self.umid.hex().upper() if self.umid.strip(b"\0") else "",
            "Loudness": ", ".join(f"{name} {value:.2f}" for name, value in self.figures().items()),
        }
        return {name: text for name, text in found.items() if text}

    def without(self, names: Collection[str]) -> Bext:
        """The chunk with the fields of these names, as in `as_texts`, empty."""
        return replace(self, **{attribute: value for name, attribute, value in _EMPTY if name in names})

    def figures(self) -> dict[str, float]:
        """Loudness by figure name, if stated in the chunk."""
        return {name: n / 100 for name, n in zip(LOUDNESS, self.loudness, strict=True) if abs(n) <= 9999}


_EMPTY: tuple[tuple[str, str, Any], ...] = (
    ("Description", "description", ""),
    ("Originator", "originator", ""),
    ("OriginatorReference", "originator_reference", ""),
    ("OriginationDate", "origination_date", ""),
    ("OriginationTime", "origination_time", ""),
    ("TimeReference", "time_reference", 0),
    ("UMID", "umid", bytes(64)),
    ("Loudness", "loudness", (NO_VALUE,) * 5),
    ("CodingHistory", "coding_history", ()),
)
"""Name of a field, attribute, and its empty value."""


def parse(body: bytes) -> Bext:
    """Parse any version of the chunk; one that is too short is read to its end."""
    parts = _FORM.unpack(body[:FIXED_BYTES].ljust(FIXED_BYTES, b"\0"))
    description, originator, reference, date, time = map(_text, parts[:5])
    time_reference, version, umid, *loudness, _ = parts[5:]
    history = _text(body[FIXED_BYTES:]).replace("\r\n", "\n").replace("\r", "\n")
    return Bext(
        description, originator, reference, date, time, time_reference,
        umid=umid if version >= 1 else bytes(64),
        loudness=tuple(loudness) if version >= 2 else (NO_VALUE,) * 5,
        coding_history=tuple(line for line in history.split("\n") if line),
    )  # fmt: skip


def filled(old: Bext, texts: Mapping[str, str], measurement: Measurement | None, process: str) -> Bext:
    """*old* updated with known values; the rest (time reference, UMID, history of the recording) is kept.

    Parameters
    ----------
    texts : by their names in Tech 3285; ``CodingHistory`` is the whole history, one line for each process
    measurement : of the file itself; None leaves the loudness unchanged
    process : history line for a file that has none; may be empty
    """
    history = tuple(map(to_ascii, texts.get("CodingHistory", "").splitlines())) or old.coding_history
    dated = texts.get("OriginationDate")
    return replace(
        old,
        description=_fit(texts, "Description", old.description),
        originator=_fit(texts, "Originator", old.originator),
        originator_reference=_fit(texts, "OriginatorReference", old.originator_reference),
        origination_date=_fit(texts, "OriginationDate", old.origination_date),
        origination_time="" if dated and dated != old.origination_date else old.origination_time,
        loudness=hundredths(measurement) if measurement else old.loudness,
        coding_history=history or ((process,) if process else ()),
    )


def hundredths(measurement: Measurement) -> tuple[int, ...]:
    """Loudness figures as stored in the chunk: -14.00 LUFS is -1400; NO_VALUE if there is no figure."""
    return tuple(_hundredths(measurement.value(name)) for name in LOUDNESS)


def history_line(rate_hz: int, bits: int | None, channels: int, note: str = "") -> str:
    """One process after EBU R 98: 'A=PCM,F=44100,W=16,M=stereo,T=note'. Commas in the note become semicolons."""
    mode = {1: "mono", 2: "stereo"}.get(channels)
    as_texts = {"F": rate_hz, "W": bits, "M": mode, "T": to_ascii(note).replace(",", ";")}
    return ",".join(["A=PCM", *(f"{key}={value}" for key, value in as_texts.items() if value)])


def to_ascii(text: str) -> str:
    """Printable ASCII nearest to *text*: 'Café – “Été”' gives 'Cafe - "Ete"', 'Łąka 🌊' gives 'Laka'."""
    if text.isascii() and text.isprintable():
        return text
    near = in_ascii("".join(map(_sayable_or_nothing, text.translate(_PLAIN))))
    return " ".join("".join(c if c.isprintable() else " " for c in near).split())


def _fit(texts: Mapping[str, str], name: str, old: str) -> str:
    """The text as far as the field can hold it; the old one if there is none, or if ASCII can represent none of it."""
    return to_ascii(texts.get(name, ""))[: WIDTHS[name]] or old


def _sayable_or_nothing(char: str) -> str:
    return char if char.isascii() or not char.isalnum() or sayable(char) else ""


def _decoded(text: str) -> str:
    """Decode bytes of an older chunk: UTF-8 if valid, else Latin-1."""
    try:
        return text.encode("latin-1").decode("utf-8")
    except UnicodeError:
        return text


def _hundredths(value: float | None) -> int:
    """Nearest integer, halves away from zero as in C's round."""
    if value is None or abs(value) >= 99.995:
        return NO_VALUE
    return int(abs(value) * 100 + 0.5) * (-1 if value < 0 else 1)


def _text(raw: bytes) -> str:
    """Text up to the first NUL, one character per byte, so that it can be written back; control codes become '?'."""
    return "".join(chr(b) if (b >= 0x20 and b != 0x7F) or b in b"\r\n" else "?" for b in raw.partition(b"\0")[0])
