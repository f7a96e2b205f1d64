"""The recording code in broadcast wave: chunk ``axml`` (EBU Tech 3285 s5), content after EBU Tech 3352. Pure.

This content occurs in many forms: with or without prefixes, declarations, hyphens, padding. Names are matched
without their prefix. A chunk that holds something else (ADM, ITU-R BS.2088) is never touched.
"""

from __future__ import annotations

import re
from contextlib import suppress
from xml.parsers import expat

_CODE = re.compile(r"[A-Z]{2}[A-Z0-9]{3}[0-9]{7}")
_FORM = (
    '<ebucore:ebuCoreMain xmlns:dc="http://purl.org/dc/elements/1.1/"'
    ' xmlns:ebucore="urn:ebu:metadata-schema:ebuCore_2012">\n'
    "  <ebucore:coreMetadata>\n"
    '    <ebucore:identifier typeLabel="GUID" typeDefinition="Globally Unique Identifier" formatLabel="ISRC"'
    ' formatDefinition="International Standard Recording Code"'
    ' formatLink="http://www.ebu.ch/metadata/cs/ebu_IdentifierTypeCodeCS.xml#3.7">\n'
    "      <dc:identifier>ISRC:{isrc}</dc:identifier>\n"
    "    </ebucore:identifier>\n"
    "  </ebucore:coreMetadata>\n"
    "</ebucore:ebuCoreMain>\n"
)


def storable(isrc: str) -> bool:
    """True for the storage form of ISO 3901: 12 characters, no hyphens; nothing else belongs in this chunk."""
    return _CODE.fullmatch(isrc) is not None


def with_isrc(old: bytes, isrc: str) -> bytes | None:
    """The chunk that carries *isrc*: a new one if *old* is empty, else *old* with its code replaced.

    None when *old* holds other metadata and no code: then it is unchanged.
    """
    if not old.strip(b"\0 \r\n\t"):
        made = _FORM.format(isrc=isrc).encode("ascii")
        return made + b"\n" * (len(made) % 2)  # many readers fail on chunks of odd length
    raw = _identifiers(old)
    if not raw:
        return None
    for text in raw:
        old = old.replace(text.encode("utf-8"), f"ISRC:{isrc}".encode("ascii"))
    return old + b"\n" * (len(old) % 2) if isrc_of(old) == isrc else None


def without_isrc(body: bytes) -> bytes:
    """The chunk with the recording code removed from its identifier, otherwise unchanged."""
    for text in _identifiers(body):
        body = body.replace(text.encode("utf-8"), b"")
    return body + b"\n" * (len(body) % 2)


def isrc_of(body: bytes) -> str:
    """The code in the chunk, in storage form; empty if there is none or the XML is malformed before it."""
    return next(iter(isrcs_of(body)), "")


def isrcs_of(body: bytes) -> tuple[str, ...]:
    """Every code in the chunk, in storage form, in order."""
    return tuple(_bare(text) for text in _identifiers(body))


def _bare(text: str) -> str:
    return re.sub(r"[\s-]", "", text).upper().removeprefix("ISRC:").removeprefix("ISRC")


def _identifiers(body: bytes) -> list[str]:
    """Texts of identifiers labelled ISRC that hold a well-formed code."""
    reader = _Reader()
    parser = expat.ParserCreate()
    parser.StartElementHandler = reader.start
    parser.EndElementHandler = reader.end
    parser.CharacterDataHandler = reader.text
    parser.EntityDeclHandler = reader.refuse  # a declared entity could grow without bound
    # Content before a fault is used: padding and cut ends are common.
    with suppress(expat.ExpatError, _Refused, ValueError, LookupError):
        parser.Parse(body.rstrip(b"\0 \r\n\t"), True)
    return [text for text in reader.found if storable(_bare(text))]


class _Refused(Exception):
    pass


class _Reader:
    def __init__(self) -> None:
        self.found: list[str] = []
        self._labelled = 0
        self._on_characters: list[str] | None = None

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name.rpartition(":")[2] != "identifier":
            return
        labels = {attributes.get("formatLabel", "").upper(), attributes.get("typeLabel", "").upper()}
        self._labelled += "ISRC" in labels or self._labelled > 0
        self._on_characters = [] if self._labelled else None

    def end(self, name: str) -> None:
        if name.rpartition(":")[2] != "identifier":
            return
        if self._on_characters is not None:
            self.found.append("".join(self._on_characters).strip())
        self._on_characters = None
        self._labelled = max(0, self._labelled - 1)

    def text(self, text: str) -> None:
        if self._on_characters is not None:
            self._on_characters.append(text)

    def refuse(self, *_: object) -> None:
        raise _Refused
