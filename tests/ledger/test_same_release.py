"""A delivery is found again after a correction, and no other release is taken for it."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from delivery.ledger import migrations
from delivery.ledger.deliveries import DeliveryLedger
from delivery.ledger.handovers import HandoverLedger
from delivery.ledger.past import Handover
from delivery.ledger.same_release import ReleaseIdentity, identity_of
from tests.ledger.deliveries import past, recording

ALBUM = past("album", songs=6)
NEW_AUDIO = tuple(recording(number, audio_hash=f"{number + 90:032x}") for number in range(1, 7))
NO_CODES: dict[str, Any] = {"upc": "", "catalogue_number": ""}


def now(**changed: Any) -> ReleaseIdentity:
    return identity_of(replace(ALBUM, **changed))


def found(ledger: DeliveryLedger, identity: ReleaseIdentity) -> str:
    last = ledger.last_of(identity)
    return last.fingerprint if last else ""


def without_isrcs(songs: int) -> tuple[Any, ...]:
    return tuple(recording(number, isrc="") for number in range(1, songs + 1))


@pytest.fixture
def ledger(tmp_path: Path) -> DeliveryLedger:
    ledger = DeliveryLedger(tmp_path / "ledger.sqlite3")
    ledger.record(ALBUM)
    return ledger


@pytest.mark.parametrize(
    "changed",
    [
        {"title": "Harbor Arithmetic"},
        {"title": "Harbor Arithmetic", "catalogue_number": "OSL-041"},
        {"title": "Harbor Arithmetic", "upc": "2000000140025"},
        {"title": "Harbor Arithmetic", **NO_CODES},
        {"title": "Harbor Arithmetic", **NO_CODES, "recordings": NEW_AUDIO},
        {"title": "Harbor Arithmetic", **NO_CODES, "recordings": without_isrcs(6)},
        {"title": "Harbor Arithmetic", **NO_CODES, "recordings": without_isrcs(6)[2:]},
        {"version": "Remastered", "recordings": NEW_AUDIO},
        {"artist": "Merrow"},
        {"label": "Ostrelune"},
        {"recordings": ()},
        {"upc": "", "recordings": ()},
        {**NO_CODES, "recordings": without_isrcs(6)},
    ],
)
def test_found_after_a_correction(ledger: DeliveryLedger, changed: dict[str, Any]) -> None:
    assert found(ledger, now(**changed)) == "album"


@pytest.mark.parametrize(
    "changed",
    [
        {"title": "Song 1", **NO_CODES, "recordings": ALBUM.recordings[:1]},
        {"title": "Harbour Arithmetic", **NO_CODES, "recordings": ALBUM.recordings[:1]},
        {"title": "Song 1", "recordings": ALBUM.recordings[:1]},  # with the album's codes, by mistake
        {"title": "Half of it", **NO_CODES, "recordings": ALBUM.recordings[:3]},
        {"title": "Other", "recordings": (recording(50),)},
        {"catalogue_number": "OSL-014LP", "upc": "2000000140032"},  # the vinyl: the same recordings, another product
        {"version": "Clean", "upc": "2000000140032"},
        {"artist": "Another", "title": "Cover", **NO_CODES},
        {"label": "Another", "artist": "Another", "upc": "", "recordings": (recording(50),)},
        {"artist": "Another", **NO_CODES, "recordings": (recording(50),)},
    ],
)
def test_another_release_is_not_found(ledger: DeliveryLedger, changed: dict[str, Any]) -> None:
    assert found(ledger, now(**changed)) == ""


def test_a_single_and_its_album_of_the_same_name_stay_apart(ledger: DeliveryLedger) -> None:
    single = replace(ALBUM, fingerprint="single", revision=5, recordings=ALBUM.recordings[:1], **NO_CODES)
    ledger.record(single)
    ledger.record(replace(single, fingerprint="single again", revision=6))
    assert found(ledger, identity_of(single)) == "single again"
    assert found(ledger, now()) == "album"
    assert found(ledger, now(upc="", title="Harbor Arithmetic")) == "album"


def test_releases_of_one_key_get_keys_of_their_own(ledger: DeliveryLedger) -> None:
    ledger.record(replace(ALBUM, fingerprint="single", upc="", label="", artist="Another", recordings=()))
    keys = {each.release_key for each in ledger.of_numbers([1, 2])}
    assert len(keys) == 2


def test_a_corrected_title_continues_the_release(ledger: DeliveryLedger) -> None:
    """A later revision under another title takes the place of what is out, and counts as one release."""
    notes = HandoverLedger(ledger.path)
    notes.note("album", Handover("Ada Fenn", "M", "2026-11-21"))
    ledger.record(replace(ALBUM, fingerprint="second", title="Harbor Arithmetic", release_key="other", revision=2))
    assert [each.newer_revision for each in notes.out()] == [2]
    assert found(ledger, now()) == "second"
    hashes = [one.audio_hash for one in ALBUM.recordings]
    assert ledger.approve(now(title="A Third Title"), "Ada Fenn", "2026-11-24", hashes) == 2


def test_the_stronger_likeness_wins(ledger: DeliveryLedger) -> None:
    ledger.record(replace(ALBUM, fingerprint="by title", revision=9, upc="", catalogue_number="", recordings=()))
    other = replace(ALBUM, fingerprint="by upc", title="Other", upc="2000000140049", catalogue_number="OSL-020")
    ledger.record(replace(other, recordings=NEW_AUDIO))
    assert found(ledger, identity_of(replace(other, recordings=NEW_AUDIO, catalogue_number=""))) == "by upc"


def test_a_ledger_of_the_version_before_is_brought_forward(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Deliveries recorded under two keys because the title was corrected are one release again."""
    ledger = DeliveryLedger(tmp_path / "ledger.sqlite3")
    with monkeypatch.context() as before:
        before.setattr(migrations, "STEPS", migrations.STEPS[:3])
        before.setattr(migrations, "LATEST", 3)
        ledger.record(ALBUM)
        ledger.record(replace(ALBUM, fingerprint="second", title="Harbor Arithmetic", revision=2))
        with sqlite3.connect(ledger.path) as store:
            store.execute("UPDATE delivery SET release_key = 'split' WHERE fingerprint = 'second'")
    assert found(ledger, now(title="A Third Title")) == "second"
    assert sorted(ledger.keys_of(now())) == sorted(["split", ALBUM.release_key])
