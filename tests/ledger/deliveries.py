"""Made-up deliveries for tests of the ledger."""

from __future__ import annotations

import hashlib
import sqlite3
from typing import Any

import pytest

from delivery.ledger.past import DeliveredFile, DeliveredRecording, PastDelivery


def recording(position: int = 1, **changed: Any) -> DeliveredRecording:
    values: dict[str, Any] = {
        "position": position,
        "isrc": f"ZZOSL26{position:05}",
        "audio_hash": f"{position:032x}",
        "duration_s": 225.0,
        "title": f"Song {position}",
        "version": "",
        "artist": "Merrow",
    }
    return DeliveredRecording(**values | changed)


def file_of(track: int, spec: str = "cd", name: str = "") -> DeliveredFile:
    path = f"data/{spec}/{name or f'{track:02} Song.wav'}"
    return DeliveredFile(spec, track, path, hashlib.sha256(path.encode()).hexdigest(), f"{track:032x}")


def past(fingerprint: str = "0a1b 2c3d", songs: int = 1, **changed: Any) -> PastDelivery:
    """Harbour Arithmetic, as one package with *songs* songs for one spec; with a ``release_key`` of its own, another
    release, whose codes and title are not those of Harbour Arithmetic."""
    if "release_key" in changed:
        changed = {"catalogue_number": changed["release_key"], "upc": "", "title": changed["release_key"]} | changed
    values: dict[str, Any] = {
        "fingerprint": fingerprint,
        "release_key": "osl-014\nmerrow\nharbour arithmetic\n",
        "title": "Harbour Arithmetic",
        "version": "",
        "artist": "Merrow & the Glass Tide",
        "label": "Ostrelune Records",
        "client": "Ada Fenn",
        "catalogue_number": "OSL-014",
        "upc": "2000000140018",
        "revision": 1,
        "dated": "2026-11-20",
        "package": "OSL-014 Harbour Arithmetic rev 1",
        "path": f"/deliveries/{fingerprint}",
        "sealed_by": "",
        "specs": ({"id": "cd", "title": "CD", "edition": "", "checked": "2026-11-25", "digest": "d"},),
        "waivers": (),
        "recordings": tuple(recording(number) for number in range(1, songs + 1)),
        "files": tuple(file_of(number) for number in range(1, songs + 1)),
        "document": {"form": 1, "release": {"title": "Harbour Arithmetic"}},
    }
    return PastDelivery(**values | changed)


def waits_for_locks(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """Grows by one for each opening of a ledger's file from now on: how long, in seconds, it waits for a lock."""
    waits_s: list[float] = []
    connect = sqlite3.connect

    def noted(place: Any, timeout: float, **how: Any) -> sqlite3.Connection:
        if place != ":memory:":
            waits_s.append(timeout)
        return connect(place, timeout=timeout, **how)

    monkeypatch.setattr(sqlite3, "connect", noted)
    return waits_s
