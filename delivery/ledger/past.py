"""The nouns of the ledger of deliveries: one package as it was delivered, its recordings and its files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, slots=True)
class DeliveredRecording:
    """A master in one delivery."""

    position: int
    isrc: str
    audio_hash: str
    """Of the master."""
    duration_s: float
    title: str
    version: str
    artist: str


@dataclass(frozen=True, slots=True)
class DeliveredFile:
    """A sound file in one delivery."""

    spec: str
    track: int | None
    """Position of its track; None: a whole disc or side."""
    path: str
    """Inside the package, '/' as separator."""
    sha256: str
    audio_hash: str


@dataclass(frozen=True, slots=True)
class Handover:
    """A package left: a note by a person."""

    recipient: str
    sender: str
    day: str
    """'2026-11-29'."""
    how: str = ""
    """'upload', 'drive by courier' ..."""
    answer: str = ""
    """What the recipient answered; empty: nothing yet."""
    answer_day: str = ""


@dataclass(frozen=True, slots=True)
class PastDelivery:
    """One package, as it was delivered."""

    fingerprint: str
    """Of its tag manifest, as printed; empty in rows of the first ledger."""
    release_key: str
    """Identifies the release in all its revisions. In the ledger: that of its first delivery, whatever was corrected
    since."""
    title: str
    version: str
    artist: str
    label: str
    client: str
    catalogue_number: str
    upc: str
    revision: int
    dated: str
    """As stated, '2026-11-29'; empty if not."""
    package: str
    """Name of its folder."""
    path: str
    """Where it was at the time; it may have moved, or another one may have replaced it: compare the fingerprint."""
    sealed_by: str
    """Fingerprint of the key that sealed it; empty: not sealed."""
    specs: tuple[Mapping[str, Any], ...]
    """Each with ``id``, ``title``, ``edition``, ``checked`` and ``digest``."""
    waivers: tuple[Mapping[str, Any], ...]
    """Each with ``rule``, ``by``, ``why``, ``track`` and ``spec``."""
    recordings: tuple[DeliveredRecording, ...] = ()
    files: tuple[DeliveredFile, ...] = ()
    approvals: tuple[tuple[str, str], ...] = ()
    """Who, and on which day: approvals of exactly this audio."""
    handovers: tuple[Handover, ...] = ()
    replaced: bool = False
    """A later build took its place in the same folder, and no hand-over of it is noted: most likely it never left."""
    document: Mapping[str, Any] | None = field(default=None, repr=False)
    """The package's data document; None where it was not asked for, and in rows of the first ledger."""
    id: int = 0
    """Number in this ledger, in the order in which packages were recorded; 0: not recorded yet."""


@dataclass(frozen=True, slots=True)
class Standing:
    """State of a delivery among those of its release."""

    again: bool
    """The same revision had been delivered in another package."""
    last_approved: bool
    """The last delivery of the release is approved."""
