"""A spec's name template: text with fields in braces, '{disc_track} {title} ({version})'. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from string import Formatter

from delivery.errors import Unusable

FIELDS: Mapping[str, str] = {
    "track": "track number on its disc; {track:02} gives 01",
    "disc": "disc number; {disc:02} gives 01",
    "disc_track": "01 on a single disc, 1-01 on several",
    "title": "track title",
    "version": "track version; brackets around an empty one are dropped",
    "artist": "artists of the track with its guests, else of the release",
    "release": "release title",
    "catalogue": "catalogue number",
    "isrc": "ISRC, 12 characters",
    "rate": "sample rate in kHz: 44.1",
    "bits": "bit depth; empty for lossy codings",
    "spec": "id of the spec",
    "part": "side A or disc 1 for joined songs; empty elsewhere",
}
"""Fields that may appear in a template's braces, with their values."""

_NUMBERS = frozenset({"track", "disc"})


@dataclass(frozen=True, slots=True)
class Piece:
    """A field of a template, or literal text."""

    literal: str
    """Literal text before the field."""
    field: str | None
    """None: end of the template."""
    width: str
    """'02' for {track:02}."""

    @property
    def faults(self) -> tuple[str, ...]:
        """What is wrong with it, in sentences."""
        if self.field is None:
            return ()
        if self.field not in FIELDS:
            return (f"unknown field {{{self.field}}}",)
        if self.width and (self.field not in _NUMBERS or not re.fullmatch(r"0[1-9]", self.width)):
            return (f"{{{self.field}:{self.width}}} cannot be: only {{track:02}} and {{disc:02}} take a width",)
        return ()


def pieces_of(template: str) -> tuple[Piece, ...]:
    """Split the template into pieces, an end piece included; nothing is evaluated.

    Raises
    ------
    Unusable : the braces do not match
    """
    try:
        parsed = [*Formatter().parse(template), ("", None, "", None)]
    except ValueError as fault:
        remedy = "Close every brace; write {{ and }} for braces in the name."
        raise Unusable(f"name template {template!r}", str(fault), "matching braces", remedy) from fault
    return tuple(
        Piece(literal, f"{name}!{conversion}" if conversion else name, width or "")
        for literal, name, width, conversion in parsed
    )


def template_fields(template: str) -> tuple[str, ...]:
    """The names in braces, in order, known or not.

    Raises
    ------
    Unusable : the braces do not match
    """
    return tuple(piece.field for piece in pieces_of(template) if piece.field is not None)


def template_faults(template: str) -> tuple[str, ...]:
    """Faults of a template, one plain sentence each; empty if there are none."""
    if not template.strip():
        return ("the template is empty",)
    try:
        return tuple(fault for piece in pieces_of(template) for fault in piece.faults)
    except Unusable as fault:
        return (f"{fault.found}: {fault.remedy}",)


def checked_pieces(template: str) -> tuple[Piece, ...]:
    """Split a template that has no faults.

    Raises
    ------
    Unusable : the template has a fault
    """
    if faults := template_faults(template):
        remedy = f"Fields are {', '.join(f'{{{name}}}' for name in FIELDS)}."
        raise Unusable(f"name template {template!r}", "; ".join(faults), "fields this program knows", remedy)
    return pieces_of(template)
