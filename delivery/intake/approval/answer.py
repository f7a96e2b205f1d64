"""What a client answered about a delivery."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date


@dataclass(frozen=True, slots=True)
class Request:
    """A change the client asks for."""

    what: str
    track: str = ""
    """Number of the track as printed; '': the whole release."""
    at_s: float | None = None
    """Seconds from the start; None: throughout."""
    place: str = ""
    """Where it was read, for messages: 'answer.txt:4'."""


@dataclass(frozen=True, slots=True)
class Answer:
    """Tracks approved and changes requested, by the numbers printed in mail and sheet."""

    approved: tuple[str, ...] = ()
    requests: tuple[Request, ...] = ()
    everything: bool = False
    """All tracks are approved, except those named in requests."""
    by: str = ""
    """'' if the text does not state it."""
    dated: date | None = None
    audio_hashes: Mapping[str, str] = field(default_factory=dict)
    """Audio that the client heard, by track number; at least eight digits each. Empty: not stated."""
    label_copy: str = ""
    """Hash of the label copy that the client saw; '': not stated."""
    revision: int | None = None
