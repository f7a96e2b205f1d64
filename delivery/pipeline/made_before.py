"""Files made by an earlier build: what they measured is in the ledger's cache, their bytes are in an earlier package.

A file is known by the digest of everything that decides its bytes (`part_digest`). What is known is found without its
file; so a trim that depends on all songs is found again without making the first attempts.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from delivery.ledger.cache import MeasurementCache
from delivery.model.figure import Measurement, Reading
from delivery.model.part import Shipped, TagReport
from delivery.pack import layout
from delivery.pipeline.earlier import Earlier
from delivery.tags.bare import mark_of, write_bare

_KEPT, _RENDERED, _BARE = "made", "rendered", "bare"
"""In the cache, beside the versions of meters: these are files, not masters, what their samples are known by, and the
mark of a file before tags were written into it."""
_MADE_AS = "made_as"
"""Digest of a file with the samples of that rendering."""
_MARK = "mark"
_OWN = ("made_sha256", "made_md5", "made_size_bytes", "made_gain_db", "made_song_hashes")
"""Kept with the figures of the file."""
_BLAKE3 = "made_blake3"
"""Kept too; rows of earlier versions have none."""


@dataclass(frozen=True, slots=True)
class Known:
    """A file as an earlier build made it, by its digest."""

    shipped: Shipped
    """Without the report about its tags, which is read again from the file."""
    gain_db: float
    """Of the chain that made it in the end."""
    song_hashes: tuple[str, ...] = ()
    """Of a disc or side."""


@dataclass(frozen=True, slots=True)
class MadeBefore:
    """Where files made before are known from, and where their bytes lie."""

    cache: MeasurementCache | None = None
    files: Mapping[str, Path] = field(default_factory=dict)
    """SHA-256 -> a file of an earlier package."""

    def knows(self, digest: str) -> bool:
        """True if a file of that digest was made before, and files of earlier packages are at hand."""
        return self.cache is not None and bool(self.files) and self.cache.has(digest, _KEPT)

    def known(self, digest: str, path: str) -> Known | None:
        """The file of that digest, to be delivered as *path*; None: it has to be made."""
        kept = self.cache.get(digest, _KEPT) if self.cache and self.files else None
        if kept is None or any(name not in kept for name in _OWN):
            return None
        figures = _without_own(kept)
        sha256, md5, size_bytes, gain_db, song_hashes = (kept.value(name) for name in _OWN)
        blake3 = str(kept.value(_BLAKE3) or "") if _BLAKE3 in kept else ""
        shipped = Shipped(path, size_bytes, sha256, md5, figures, TagReport({}), blake3=blake3)
        return Known(shipped, gain_db, tuple(song_hashes))

    def figures_of(self, rendering: str) -> Measurement | None:
        """What a file with the samples of that rendering measured, whatever its tags; None: it was never made.

        They hold for a file only if its samples have their audio hash.
        """
        found = self.cache.get(rendering, _RENDERED) if self.cache else None
        kept = self.cache.get(str(found.value(_MADE_AS)), _KEPT) if self.cache and found else None
        return _without_own(kept) if kept else None

    def remember_bare(self, rendering: str, file: Path) -> None:
        """Keep the mark of the rendered *file*, which has no tags yet."""
        if self.cache is not None and rendering:
            self.cache.put(rendering, _BARE, Measurement({_MARK: Reading(mark_of(file))}))

    def fetch_bare(self, rendering: str, target: Path) -> bool:
        """Make *target*, as rendering would, from a file with the same samples and other tags; False: there is none.

        Its samples have to be checked still.

        Raises
        ------
        OSError : it cannot be written
        """
        found = self.cache.get(rendering, _RENDERED) if self.cache and self.files else None
        kept = self.cache.get(str(found.value(_MADE_AS)), _KEPT) if self.cache and found else None
        mark = self.cache.get(rendering, _BARE) if self.cache and kept else None
        source = self.files.get(str(kept.value("made_sha256"))) if kept and mark else None
        if source is None or mark is None or not source.is_file():
            return False
        if write_bare(source, target) and mark_of(target) == mark.value(_MARK):
            return True
        target.unlink(missing_ok=True)
        return False

    def remember(
        self,
        digest: str,
        shipped: Shipped,
        gain_db: float,
        song_hashes: Sequence[str] = (),
        rendering: str = "",
    ) -> None:
        """Keep what this build made.

        Parameters
        ----------
        rendering : its digest as `part_digest.of_rendering`; empty: none
        """
        if self.cache is None:
            return
        if rendering:
            self.cache.put(rendering, _RENDERED, Measurement({_MADE_AS: Reading(digest)}))
        own = (shipped.sha256, shipped.md5, shipped.size_bytes, gain_db, tuple(song_hashes))
        readings = {name: Reading(value) for name, value in zip(_OWN, own, strict=True)}
        readings[_BLAKE3] = Reading(shipped.blake3)
        self.cache.put(digest, _KEPT, shipped.measurement.with_readings(readings))

    def without(self, lost: Collection[str]) -> MadeBefore:
        """The same without the bytes of some files, by SHA-256: they are damaged."""
        return replace(self, files={sha256: file for sha256, file in self.files.items() if sha256 not in lost})


def _without_own(kept: Measurement) -> Measurement:
    return Measurement({name: reading for name, reading in kept.items() if name not in (*_OWN, _BLAKE3)})


NOTHING = MadeBefore()


def files_of(known: Iterable[Earlier]) -> dict[str, Path]:
    """SHA-256 -> path of every delivered file in the packages that still lie where they were."""
    found: dict[str, Path] = {}
    for each in known:
        for made in (*_made(each.document, "parts"), *_made(each.document, "images")):
            path = made.get("path")
            if each.package and isinstance(path, str) and not layout.escapes(path):
                found[str(made.get("sha256"))] = layout.on_disk(each.package, path)
    return found


def _made(document: Mapping[str, Any], key: str) -> list[Mapping[str, Any]]:
    """Every file the data names; data that is not as it should be names none."""
    parts = document.get(key)
    shipped = [each.get("shipped") for each in parts if isinstance(each, Mapping)] if isinstance(parts, list) else []
    return [each for each in shipped if isinstance(each, Mapping)]
