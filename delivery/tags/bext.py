"""The broadcast chunk of EBU Tech 3285 version 2 (2011), byte by byte, and coding history lines after EBU R 98. Pure.

The chunk is ASCII. Letters of European alphabets are spelt by the table that file names use, pictures and letters of
other scripts are left out, and too long texts are cut; the caller compares what was stored with what was meant and
reports the difference. Texts that were there before stay byte for byte, whatever their encoding.
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
"""Stands for a loudness figure that was not measured: outside the range -99.99 .. +99.99 (from memory of Tech 3285)."""

LOUDNESS = ("integrated_lufs", "loudness_range_lu", "true_peak_dbtp", "momentary_max_lufs", "short_term_max_lufs")
"""Figures in the order in which the chunk stores them, each as a 16-bit integer of hundredths."""

WIDTHS = {"Description": 256, "Originator": 32, "OriginatorReference": 32, "OriginationDate": 10}
_PLAIN = str.maketrans({"“": '"', "”": '"', "„": '"', "‟": '"', "…": "...", "\u00a0": " "})
"""Marks that a chunk may hold and a file name may not."""


@dataclass(frozen=True, slots=True)
class Bext:
    """The chunk's contents; texts are ASCII, or stand for the bytes of an older chunk (one character a byte)."""

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
        return body + bytes(len(body) % 2)  # libsndfile loses its way behind an odd one in RF64

    def texts(self) -> dict[str, str]:
        """By the names Tech 3285 gives them; what is empty is left out."""
        found = {
            "Description": self.description,
            "Originator": self.originator,
            "OriginatorReference": self.originator_reference,
            "OriginationDate": self.origination_date,
            "CodingHistory": "\n".join(self.coding_history),
        }
        return {name: _decoded(text) for name, text in found.items() if text}

    def told(self) -> dict[str, str]:
        """Everything the chunk says, by the names of Tech 3285; numbers as text, loudness in one."""
        found = self.texts() | {
            "OriginationTime": self.origination_time,
            "TimeReference": str(self.time_reference or ""),
            "UMID": self.umid.hex().upper() if self.umid.strip(b"\0") else "",
            "Loudness": ", ".join(f"{name} {value:.2f}" for name, value in self.figures().items()),
        }
        return {name: text for name, text in found.items() if text}

    def without(self, names: Collection[str]) -> Bext:
        """The chunk with the fields of these names, as `told` gives them, empty."""
        return replace(self, **{attribute: value for name, attribute, value in _EMPTY if name in names})

    def figures(self) -> dict[str, float]:
        """Loudness by figure name, where the chunk states one."""
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
"""Name of a field, attribute, and what an empty one holds."""


def parse(body: bytes) -> Bext:
    """Any version of the chunk; one that is too short is read as far as it goes."""
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
    """*old* with what we know better; the rest of it (time reference, UMID, history of the recording) stays.

    Parameters
    ----------
    texts : by the names of Tech 3285; ``CodingHistory`` is the whole history, one line for each process
    measurement : of the file itself; None leaves the loudness as it is
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
    """Loudness figures as the chunk stores them: -14.00 LUFS is -1400; NO_VALUE where there is no figure."""
    return tuple(_hundredths(measurement.value(name)) for name in LOUDNESS)


def history_line(rate_hz: int, bits: int | None, channels: int, note: str = "") -> str:
    """One process after EBU R 98: 'A=PCM,F=44100,W=16,M=stereo,T=note'. Commas in the note become semicolons."""
    mode = {1: "mono", 2: "stereo"}.get(channels)
    told = {"F": rate_hz, "W": bits, "M": mode, "T": to_ascii(note).replace(",", ";")}
    return ",".join(["A=PCM", *(f"{key}={value}" for key, value in told.items() if value)])


def to_ascii(text: str) -> str:
    """Printable ASCII nearest to *text*: 'Café – “Été”' gives 'Cafe - "Ete"', 'Łąka 🌊' gives 'Laka'."""
    if text.isascii() and text.isprintable():
        return text
    near = in_ascii("".join(map(_sayable_or_nothing, text.translate(_PLAIN))))
    return " ".join("".join(c if c.isprintable() else " " for c in near).split())


def _fit(texts: Mapping[str, str], name: str, old: str) -> str:
    """The text as the field can hold it; the old one where there is none, or nothing of it can be said in ASCII."""
    return to_ascii(texts.get(name, ""))[: WIDTHS[name]] or old


def _sayable_or_nothing(char: str) -> str:
    return char if char.isascii() or not char.isalnum() or sayable(char) else ""


def _decoded(text: str) -> str:
    """Bytes of an older chunk as people read them: UTF-8 where they are, else Latin-1."""
    try:
        return text.encode("latin-1").decode("utf-8")
    except UnicodeError:
        return text


def _hundredths(value: float | None) -> int:
    """Nearest, halves away from zero as C's round does."""
    if value is None or abs(value) >= 99.995:
        return NO_VALUE
    return int(abs(value) * 100 + 0.5) * (-1 if value < 0 else 1)


def _text(raw: bytes) -> str:
    """Up to the first NUL, one character a byte, so that what is read can be written; control codes become '?'."""
    return "".join(chr(b) if (b >= 0x20 and b != 0x7F) or b in b"\r\n" else "?" for b in raw.partition(b"\0")[0])
