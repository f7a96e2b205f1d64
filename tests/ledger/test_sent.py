"""The ledger of deliveries keeps what was sent, through trouble of every kind."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest

from delivery.ledger.sent import Sent, SentLedger

CODES = ("OSL-014", "2000000140018", 1, 1, "ZZOSL2600001", "aa", 225.0)
ONE = Sent("k", "Harbour Arithmetic", *CODES, "Low Water", "", "Merrow", "cd", "")


def test_found_again_by_code_recording_or_bar_code(tmp_path: Path) -> None:
    ledger = SentLedger(tmp_path / "new folder" / "sent.sqlite3")
    other = replace(ONE, position=2, isrc="ZZOSL2600002", audio_hash="bb")
    ledger.record([ONE, other])
    again = SentLedger(ledger.path)
    assert again.like(isrc=["ZZOSL2600001"]) == (ONE,)
    assert again.like(audio_hash=["bb", "cc", ""]) == (other,)
    assert again.like(isrc=["ZZOSL2600001"], upc=["2000000140018"]) == (ONE, other)
    assert again.like(isrc=["X"]) == again.like() == ()


def test_an_empty_code_finds_nobody(tmp_path: Path) -> None:
    ledger = SentLedger(tmp_path / "sent")
    ledger.record([replace(ONE, isrc="", upc="")])
    assert ledger.like(isrc=[""], upc=[""]) == ()


def test_the_same_delivery_again_is_kept_once(tmp_path: Path) -> None:
    ledger = SentLedger(tmp_path / "sent")
    ledger.record([ONE])
    ledger.record([replace(ONE, specs="cd store")])
    assert ledger.like(isrc=[ONE.isrc]) == (replace(ONE, specs="cd store"),)
    ledger.record([replace(ONE, revision=2)])
    assert len(ledger.like(isrc=[ONE.isrc])) == 2


def test_more_codes_than_one_question_takes(tmp_path: Path) -> None:
    ledger = SentLedger(tmp_path / "sent")
    many = [replace(ONE, position=n, isrc=f"ZZOSL26{n:05}") for n in range(1, 1501)]
    ledger.record(many)
    assert len(ledger.like(isrc=[one.isrc for one in many])) == 1500


def test_asking_makes_no_file(tmp_path: Path) -> None:
    assert SentLedger(tmp_path / "sent").like(isrc=["X"]) == ()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "content", [b"not a database, but long enough to be looked at" * 40, b"SQLite format 3\0" + bytes(500)]
)
def test_a_damaged_file_is_remarked_and_left_alone(tmp_path: Path, content: bytes) -> None:
    """It is the only record: nothing is set aside or begun anew over it."""
    path = tmp_path / "sent"
    path.write_bytes(content)
    ledger = SentLedger(path)
    assert ledger.like(isrc=["X"]) == ()
    ledger.record([ONE])
    (remark,) = ledger.remarks  # said once
    assert "cannot be used" in remark
    assert "Move it elsewhere to begin a new one" in remark
    assert path.read_bytes() == content


def test_a_newer_layout_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "sent"
    store = sqlite3.connect(path)
    store.execute("PRAGMA user_version = 99")
    store.close()
    ledger = SentLedger(path)
    ledger.record([ONE])
    assert "layout 99" in ledger.remarks[0]


def test_no_place_to_write(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x", encoding="utf-8")
    ledger = SentLedger(tmp_path / "file" / "sent")
    ledger.record([ONE])
    assert ledger.remarks
