"""What the first ledger (`sent.sqlite3`) holds is taken over once, and the file is left as it is."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from delivery.ledger.deliveries import DeliveryLedger
from delivery.ledger.first_ledger import path_of_first
from tests.ledger.deliveries import past, recording

TABLE = """
CREATE TABLE sent (id INTEGER PRIMARY KEY AUTOINCREMENT, release NOT NULL, album NOT NULL, catalogue_number NOT NULL,
upc NOT NULL, revision NOT NULL, position NOT NULL, isrc NOT NULL, audio_hash NOT NULL, duration_s NOT NULL,
title NOT NULL, version NOT NULL, artist NOT NULL, specs NOT NULL, dated NOT NULL,
UNIQUE (release, revision, position, audio_hash, isrc));
PRAGMA user_version = 1;
"""
"""As version 0.2.0 laid it out."""
KEY = past().release_key


@pytest.fixture
def first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr("platformdirs.user_data_path", lambda name: tmp_path / name)
    path = path_of_first()
    path.parent.mkdir()
    store = sqlite3.connect(path)
    store.executescript(TABLE)
    rows = [
        (KEY, "Harbour Arithmetic", "OSL-014", "2000000140018", revision, position, f"ZZOSL26{position:05}",
         f"{position:032x}", 225.0, f"Song {position}", "", "Merrow", "cd flac", "2026-10-01")
        for revision in (1, 2) for position in (1, 2)
    ]  # fmt: skip
    store.executemany(f"INSERT INTO sent VALUES (NULL, {', '.join('?' * 14)})", rows)
    store.commit()
    store.close()
    return path


def test_codes_delivered_before_are_known(first: Path) -> None:
    before = first.read_bytes()
    ledger = DeliveryLedger()
    found = ledger.sent_before(isrc=["ZZOSL2600002"])
    assert [(one.album, one.revision, one.position) for one in found] == [
        ("Harbour Arithmetic", 1, 2),
        ("Harbour Arithmetic", 2, 2),
    ]
    assert len(DeliveryLedger().sent_before(upc=["2000000140018"])) == 4  # not taken over twice
    assert ledger.remarks == []
    assert first.read_bytes() == before


@pytest.mark.usefixtures("first")
def test_rows_of_a_fully_recorded_package_are_removed() -> None:
    """The package has more; what the package lacks (a code replaced since) stays."""
    ledger = DeliveryLedger()
    ledger.record(past(recordings=(recording(1), recording(2, isrc="ZZOSL2600099"))))
    assert [one.revision for one in ledger.sent_before(isrc=["ZZOSL2600001"])] == [2, 1]
    assert [one.isrc for one in ledger.sent_before(audio_hash=[f"{2:032x}"]) if one.revision == 1] == [
        "ZZOSL2600002",
        "ZZOSL2600099",
    ]


def test_each_machine_that_shares_the_ledger_brings_its_own(
    first: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Under the same path on each: the machine's name tells them apart."""
    shared = tmp_path / "drive" / "ledger.sqlite3"
    shared.parent.mkdir()
    for machine, isrc in (("one", "ZZOSL2600001"), ("two", "ZZOSL2600077"), ("two", "ZZOSL2600088")):
        monkeypatch.setattr("platform.node", lambda machine=machine: machine)
        with closing(sqlite3.connect(first)) as store, store:
            store.execute("UPDATE sent SET isrc = ? WHERE position = 1", (isrc,))
        DeliveryLedger(shared).sent_before(isrc=["X"])
    found = DeliveryLedger(shared).sent_before(isrc=["ZZOSL2600001", "ZZOSL2600077", "ZZOSL2600088"])
    assert sorted(one.isrc for one in found) == ["ZZOSL2600001"] * 2 + ["ZZOSL2600077"] * 2


@pytest.mark.usefixtures("first")
def test_a_ledger_named_by_the_environment_takes_it_over_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A code that was used twice and not reported is a re-delivery; an old delivery too many is only a remark."""
    (tmp_path / "drive").mkdir()
    monkeypatch.setenv("DELIVERY_LEDGER", str(tmp_path / "drive" / "shared.sqlite3"))
    assert len(DeliveryLedger().sent_before(isrc=["ZZOSL2600001"])) == 2


@pytest.mark.usefixtures("first")
def test_a_machine_that_was_renamed_brings_nothing_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("desk.local", "desk-2.local"):
        monkeypatch.setattr("platform.node", lambda name=name: name)
        assert len(DeliveryLedger().sent_before(isrc=["ZZOSL2600001"])) == 2


def test_a_damaged_one_is_named_and_blocks_nothing(first: Path) -> None:
    first.write_bytes(b"no database" * 500)
    ledger = DeliveryLedger()
    assert ledger.record(past())
    assert "earlier ledger of deliveries" in ledger.remarks[0]
    assert len(ledger.sent_before(isrc=["ZZOSL2600001"])) == 1
