"""Deliveries are found by words, codes, bytes and sound; months and earlier packages are reported apart."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.ledger.deliveries import DeliveryLedger
from delivery.ledger.handovers import HandoverLedger
from delivery.ledger.migrations import LATEST, STEPS
from delivery.ledger.past import Handover, PastDelivery
from delivery.ledger.same_release import identity_of
from delivery.ledger.store import connect
from tests.ledger.deliveries import file_of, past, recording


@pytest.fixture
def ledger(tmp_path: Path) -> DeliveryLedger:
    return DeliveryLedger(tmp_path / "ledger.sqlite3")


def fingerprints(found: tuple[PastDelivery, ...]) -> list[str]:
    return [each.fingerprint for each in found]


def everything(ledger: DeliveryLedger) -> tuple[PastDelivery, ...]:
    return ledger.of_numbers(ledger.named(""))


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("", ["b", "a"]),
        ("harbour", ["b", "a"]),
        ("ARITHMETIC glass", ["b", "a"]),
        ("cafe", ["b"]),
        ("CAFÉ", ["b"]),
        ("Café des Noyés", ["b"]),  # a song in two words and an accent of its own
        ("osl-014", ["b", "a"]),
        ("2000000140018", ["b", "a"]),
        ("ada fenn", ["a"]),
        ("ada fenn cafe", []),
        ("100%", []),  # no wildcards
        ("_", []),
        ("'; DROP TABLE delivery", []),
    ],
)
def test_every_word_must_be_there(ledger: DeliveryLedger, query: str, found: list[str]) -> None:
    ledger.record(past("a"))
    ledger.record(past("b", client="", recordings=(recording(title="Cafe\u0301 des Noyés"),)))
    assert fingerprints(ledger.of_numbers(ledger.named(query))) == found


def test_by_code_bytes_and_sound(ledger: DeliveryLedger) -> None:
    ledger.record(past("a", songs=2))
    ledger.record(past("b", files=(file_of(1, "flac"),)))
    assert fingerprints(ledger.with_isrc("ZZOSL2600002")) == ["a"]
    assert fingerprints(ledger.with_isrc("ZZOSL2600001")) == ["b", "a"]
    assert fingerprints(ledger.with_isrc("")) == []
    assert fingerprints(ledger.with_bytes(file_of(1).sha256)) == ["a"]
    assert fingerprints(ledger.with_bytes(file_of(1, "flac").sha256)) == ["b"]
    assert fingerprints(ledger.with_sound(f"{1:032x}")) == ["b", "a"]
    assert fingerprints(ledger.with_sound("")) == []


def test_a_month_by_the_stated_date_else_by_the_first_hand_over(ledger: DeliveryLedger) -> None:
    ledger.record(past("first", dated="2026-11-01"))
    ledger.record(past("last", dated="2026-11-30"))
    ledger.record(past("earlier", dated="2026-10-31"))
    ledger.record(past("later", dated="2026-12-01"))
    ledger.record(past("undated", dated=""))
    ledger.record(past("handed over", dated=""))
    notes = HandoverLedger(ledger.path)
    for day in ("2026-11-07", "2026-12-07"):
        notes.note("handed over", Handover("Plant", "M", day))
        notes.note("earlier", Handover("Plant", "M", day))  # its own date counts
    assert fingerprints(ledger.in_month("2026-11")) == ["first", "last", "handed over"]
    assert fingerprints(ledger.in_month("2026-12")) == ["later"]
    assert ledger.undated() == 1


def test_the_same_revision_in_an_earlier_package(ledger: DeliveryLedger) -> None:
    for fingerprint, revision in (("a", 1), ("b", 1), ("c", 2)):
        ledger.record(past(fingerprint, revision=revision))
    found = everything(ledger)
    standings = ledger.standings(found)
    assert {each.fingerprint: standings[each.id].again for each in found} == {"a": False, "b": True, "c": False}


def test_whether_the_last_delivery_of_a_release_is_approved(ledger: DeliveryLedger) -> None:
    """An approval of an earlier revision is none of the last one."""
    ledger.record(past("a"))
    ledger.record(past("other", release_key="x", approvals=(("M", "2026-11-20"),)))
    ledger.approve(identity_of(past()), "M", "2026-11-21", [f"{1:032x}"])
    approved = lambda: {  # noqa: E731
        each.fingerprint: ledger.standings([each])[each.id].last_approved for each in everything(ledger)
    }
    assert approved() == {"a": True, "other": True}
    ledger.record(past("b", revision=2))
    assert approved() == {"a": False, "b": False, "other": True}


def test_a_build_that_another_took_the_place_of(ledger: DeliveryLedger) -> None:
    """Unless it was handed over: then it counts as sent, whatever is in the folder now."""
    notes = HandoverLedger(ledger.path)
    ledger.record(past("a", path="/one"))
    notes.note("a", Handover("Plant", "M", "2026-11-07"))
    ledger.record(past("b", path="/one"))
    ledger.record(past("c", path="/one"))
    ledger.record(past("d", path="/two"))
    assert [each.fingerprint for each in everything(ledger) if each.replaced] == ["b"]


def test_an_approval_is_noted_where_the_audio_is_exactly_this(ledger: DeliveryLedger) -> None:
    one, two, other = (f"{number:032x}" for number in (1, 2, 3))
    ledger.record(past("both", songs=2))
    ledger.record(past("first alone", recordings=(recording(1),)))
    ledger.record(past("changed", recordings=(recording(1), recording(2, audio_hash=other))))
    ledger.record(past("swapped", recordings=(recording(1, audio_hash=two), recording(2, audio_hash=one))))
    ledger.record(past("other release", release_key="x", songs=2))
    assert ledger.approve(identity_of(past()), "Ada Fenn", "2026-11-24", [one[:8], two]) == 2
    assert ledger.approve(identity_of(past()), "Ada Fenn", "2026-11-24", [one[:8], two]) == 2  # noted once
    noted = {each.fingerprint: each.approvals for each in everything(ledger)}
    approval = (("Ada Fenn", "2026-11-24"),)
    assert noted == {"both": approval, "first alone": approval, "changed": (), "swapped": (), "other release": ()}


@pytest.mark.parametrize("steps", range(1, LATEST + 1))
def test_a_ledger_of_each_earlier_layout_is_brought_forward(
    ledger: DeliveryLedger, monkeypatch: pytest.MonkeyPatch, steps: int
) -> None:
    with monkeypatch.context() as earlier:
        earlier.setattr("delivery.ledger.migrations.STEPS", STEPS[:steps])
        earlier.setattr("delivery.ledger.migrations.LATEST", steps)
        ledger.record(past("a", songs=2))
    assert fingerprints(DeliveryLedger(ledger.path).with_isrc("ZZOSL2600002")) == ["a"]
    store, fresh = connect(ledger.path), connect(None)
    layout = "SELECT type, name, sql FROM sqlite_master ORDER BY type, name"
    assert store.execute(layout).fetchall() == fresh.execute(layout).fetchall()
    assert store.execute("PRAGMA user_version").fetchone()[0] == LATEST
    store.close()
    fresh.close()
