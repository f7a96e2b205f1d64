"""Which deliveries in the ledger are of one release, also after its title or one of its codes was corrected."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from delivery.ledger.past import PastDelivery

FEWEST_DIGITS = 8
"""Of an audio hash: an approval may state no more."""
MOST_COMPARED = 500
"""Deliveries, the last ones first."""

_TEXTS = ("title", "version", "artist", "label", "catalogue_number", "upc")


@dataclass(frozen=True, slots=True)
class ReleaseIdentity:
    """What distinguishes one release from another; '' for what is not stated or not known."""

    title: str
    version: str
    artist: str
    label: str
    catalogue_number: str
    upc: str
    recordings: tuple[tuple[str, str], ...]
    """ISRC and audio hash of each track."""


def identity_of(delivery: PastDelivery) -> ReleaseIdentity:
    """The identity of the release in *delivery*."""
    return ReleaseIdentity(
        delivery.title,
        delivery.version,
        delivery.artist,
        delivery.label,
        delivery.catalogue_number,
        delivery.upc,
        tuple((one.isrc, one.audio_hash) for one in delivery.recordings),
    )


def same_by(one: ReleaseIdentity, other: ReleaseIdentity) -> int:
    """By what both are one release: 1 UPC, 2 catalogue number, 3 recordings, 4 title; 0: they are different releases.

    A code alone is no proof, since it may be a mistake: the title or most of the recordings must be the same too. Of a
    single and the album that holds it, neither is.
    """
    version, artist = _same(one.version, other.version), _same(one.artist, other.artist)
    title, most = version and _same(one.title, other.title), _share_most(one, other)
    other_number = _contradict(one.catalogue_number, other.catalogue_number)
    other_upc = _contradict(one.upc, other.upc)
    if one.upc and one.upc == other.upc and (title or most):
        return 1
    label = artist or bool(one.label and _same(one.label, other.label))
    if one.catalogue_number and not other_number and other.catalogue_number and version and label and (title or most):
        return 2
    if most and artist and version and not (other_number or other_upc):
        return 3
    if title and artist and not other_number and (most or (not other_upc and _alike_long(one, other))):
        return 4
    return 0


def are_related(one: ReleaseIdentity, other: ReleaseIdentity) -> bool:
    """True if both have one artist, or any recording in common; without, a name that they share is chance."""
    return _same(one.artist, other.artist) or any(
        _same_recording(recording, each) for recording in one.recordings for each in other.recordings
    )


def keys_of(store: sqlite3.Connection, identity: ReleaseIdentity) -> tuple[str, ...]:
    """The keys under which deliveries of this release are recorded, the last one first; empty: there are none."""
    found = [(by, key) for key, other in _candidates(store, identity) if (by := same_by(identity, other))]
    strongest = min((by for by, _key in found), default=0)
    return tuple(dict.fromkeys(key for by, key in found if by == strongest))


def key_for(store: sqlite3.Connection, delivery: PastDelivery) -> str:
    """The key to record *delivery* under: that of its release, else its own, made unlike that of another release."""
    keys = keys_of(store, identity_of(delivery))
    if keys:
        return keys[0]
    key, number = delivery.release_key, 1
    taken = "SELECT 1 FROM delivery WHERE release_key = ? AND fingerprint <> '' LIMIT 1"
    while store.execute(taken, (key,)).fetchone():
        number += 1
        key = f"{delivery.release_key}\n{number}"
    return key


def _candidates(store: sqlite3.Connection, identity: ReleaseIdentity) -> Iterator[tuple[str, ReleaseIdentity]]:
    """Key and identity of each delivery that shares a code, a recording or the title, the last one first."""
    asked: list[tuple[str, tuple[str, ...]]] = [
        ("SELECT id FROM delivery WHERE upc = ? AND upc <> ''", (identity.upc,)),
        ("SELECT id FROM delivery WHERE catalogue_number = ? AND catalogue_number <> ''", (identity.catalogue_number,)),
        ("SELECT id FROM delivery WHERE title = ?", (identity.title,)),
    ]
    for isrc, audio_hash in identity.recordings:
        asked.append(("SELECT delivery FROM recording WHERE isrc = ? AND isrc <> ''", (isrc,)))
        if len(audio_hash) >= FEWEST_DIGITS:
            between = "SELECT delivery FROM recording WHERE audio_hash >= ? AND audio_hash < ? AND audio_hash <> ''"
            asked.append((between, (audio_hash, f"{audio_hash}g")))  # every hash that begins with these digits
    numbers = {row[0] for query, values in asked for row in store.execute(query, values)}
    for number in sorted(numbers, key=lambda number: _turn(store, number), reverse=True)[:MOST_COMPARED]:
        query = f"SELECT fingerprint, release_key, {', '.join(_TEXTS)} FROM delivery WHERE id = ?"
        fingerprint, key, *texts = store.execute(query, (number,)).fetchone()
        if fingerprint:  # the first ledger's rows do not hold the whole release
            of_tracks = "SELECT isrc, audio_hash FROM recording WHERE delivery = ?"
            stated: dict[str, Any] = dict(zip(_TEXTS, texts, strict=True))
            stated["recordings"] = tuple(store.execute(of_tracks, (number,)))
            yield key, ReleaseIdentity(**stated)


def _turn(store: sqlite3.Connection, number: int) -> int:
    row = store.execute("SELECT turn FROM delivery WHERE id = ?", (number,)).fetchone()
    return row[0] if row else 0


def _same(one: str, other: str) -> bool:
    return one.casefold().split() == other.casefold().split()


def _contradict(one: str, other: str) -> bool:
    return bool(one and other) and not _same(one, other)


def _share_most(one: ReleaseIdentity, other: ReleaseIdentity) -> bool:
    """True if more than half of the tracks of each are the same recordings, each counted once."""
    left = list(other.recordings)
    shared = 0
    for recording in one.recordings:
        found = next((each for each in left if _same_recording(recording, each)), None)
        if found is not None:
            left.remove(found)
            shared += 1
    return shared * 2 > max(len(one.recordings), len(other.recordings))


def _same_recording(one: Sequence[str], other: Sequence[str]) -> bool:
    (isrc, heard), (isrc_then, heard_then) = one, other
    short, long = sorted((heard, heard_then), key=len)
    return bool(isrc and isrc == isrc_then) or (len(short) >= FEWEST_DIGITS and long.startswith(short))


def _alike_long(one: ReleaseIdentity, other: ReleaseIdentity) -> bool:
    """True if neither has more than twice the tracks of the other: a single is not the album of its name."""
    fewer, more = sorted((len(one.recordings), len(other.recordings)))
    return fewer * 2 >= more
