"""Versions of one song compared with their main: read, and said in a sentence for each."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import astuple
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from delivery.audio.blocks import sound_facts
from delivery.audio.forward import forward
from delivery.compare.versions import version_of
from delivery.errors import DeliveryError
from delivery.meters import meters_version, sources_digest
from delivery.model.figure import Measurement, Reading
from delivery.model.source import Source
from delivery.model.track import Track
from delivery.model.version import Change, Piece, Place, Version, VersionKind, kind_of
from delivery.report.view.version import version_sentence

if TYPE_CHECKING:
    from delivery.ledger.cache import MeasurementCache

FIGURE = "version_of_main"
"""Name in the cache."""
SECOND_WEIGHT = 0.7
"""Of the second channel beside the first: added so, they never cancel."""
PIECE_S = 10


def compare_version(main: Path, other: Path) -> Version:
    """*other* as a version of *main*, at the lower of both rates; both are held in memory, one channel each.

    Raises
    ------
    Unreadable : one of them cannot be read
    """
    rate_hz = min(sound_facts(main).rate_hz, sound_facts(other).rate_hz)
    return version_of(_one_channel(main, rate_hz), _one_channel(other, rate_hz), rate_hz)


def kept_version(main: Source, other: Source, cache: MeasurementCache | None = None) -> Version:
    """As `compare_version`; what was found for the same sound of both is taken from *cache*.

    Raises
    ------
    Unreadable : one of them cannot be read
    """
    sounds = [_sound_of(source) for source in (main, other)]
    if cache is None or not all(sounds):
        return compare_version(main.track.file, other.track.file)
    key = hashlib.sha256("\n".join(sounds).encode()).hexdigest()
    meters = f"{meters_version()}, {FIGURE} {sources_digest('compare')}"
    kept = cache.get(key, meters)
    row = kept.value(FIGURE) if kept else None
    if row is not None:
        return _from_row(row)
    found = compare_version(main.track.file, other.track.file)
    cache.put(key, meters, Measurement({FIGURE: Reading(astuple(found))}))
    return found


def _sound_of(source: Source) -> str:
    """Hash of its samples, where it was measured, or of its bytes; empty if neither is known."""
    return str((source.measurement and source.measurement.value("audio_hash")) or source.sha256)


def _from_row(row: Sequence[Any]) -> Version:
    """A version from the row that is kept of it: its fields in order."""
    rate_hz, main_frames, other_frames, pieces, gain_db, same_share, residual_db, places, silent_share = row
    return Version(
        rate_hz,
        main_frames,
        other_frames,
        tuple(Piece(*piece) for piece in pieces),
        gain_db,
        same_share,
        residual_db,
        tuple(Place(Change(change), from_s, until_s) for change, from_s, until_s in places),
        silent_share,
    )


def _one_channel(file: Path, rate_hz: int) -> NDArray[np.float32]:
    facts = sound_facts(file)
    frames = -(-facts.frames * rate_hz // facts.rate_hz)
    found = np.empty(frames, np.float32)
    with forward(file, rate_hz) as sound:
        for start in range(0, frames, PIECE_S * rate_hz):
            planar = sound.read(start, min(PIECE_S * rate_hz, frames - start)).T
            found[start : start + planar.shape[1]] = (
                planar[0] if len(planar) == 1 else planar[0] + SECOND_WEIGHT * planar[1]
            )
    return found


def version_remarks(sources: Sequence[Source], cache: MeasurementCache | None = None) -> Iterator[str]:
    """A sentence for each track that is a version of another one; see `kept_version`."""
    for source, main in declared_versions(sources):
        kind = kind_of(source.track.version) or VersionKind.UNNAMED
        named = f"track {source.track.position} beside track {main.track.position}"
        try:
            yield f"{named}: {version_sentence(kept_version(main, source, cache), kind)}"
        except DeliveryError as problem:
            yield f"{named}: not compared: {problem}"


def declared_versions(sources: Sequence[Source]) -> Iterator[tuple[Source, Source]]:
    """Versions with their mains: by `version_of`, else a track whose version names it an instrumental, a clean version
    and so on, and the track of the same title without a version. Only what could be measured.
    """
    usable = [source for source in sources if source.measurement is not None]
    places = {source.track.position: source for source in usable}
    mains: dict[str, Source] = {}
    for source in usable:
        if not source.track.version:
            mains.setdefault(source.track.title.casefold(), source)
    for source in usable:
        main = _main_of(source.track, places, mains)
        if main is not None and main is not source:
            yield source, main


def _main_of(track: Track, places: dict[int, Source], mains: dict[str, Source]) -> Source | None:
    if track.version_of is not None:
        return places.get(track.version_of)
    return mains.get(track.title.casefold()) if kind_of(track.version) else None
