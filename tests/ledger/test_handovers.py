"""What left and waits for an approval or an answer."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from delivery.ledger.deliveries import DeliveryLedger
from delivery.ledger.handovers import HandoverLedger
from delivery.ledger.past import Handover
from delivery.ledger.same_release import identity_of
from tests.ledger.deliveries import past

FIRST = Handover("Ada Fenn", "M", "2026-11-21", "upload")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "ledger.sqlite3"
    DeliveryLedger(path).record(past("a"))
    return path


def waiting(path: Path) -> list[tuple[str, str, bool, bool]]:
    """Package, recipient, approved, answered."""
    out = HandoverLedger(path).out()
    return [(each.delivery.fingerprint, each.handover.recipient, each.approved, each.answered) for each in out]


def approve(path: Path, day: str) -> None:
    assert DeliveryLedger(path).approve(identity_of(past()), "Ada Fenn", day, [f"{1:032x}"])


def test_nothing_is_out_before_it_is_handed_over(path: Path) -> None:
    assert waiting(path) == []


def test_the_same_note_again_is_kept_once(path: Path) -> None:
    notes = HandoverLedger(path)
    for handover in (FIRST, FIRST, replace(FIRST, day="2026-11-22")):
        assert notes.note("a", handover)
    assert [each.handover.day for each in notes.out()] == ["2026-11-21", "2026-11-22"]


def test_an_approval_after_the_hand_over_is_also_the_answer(path: Path) -> None:
    HandoverLedger(path).note("a", FIRST)
    assert waiting(path) == [("a", "Ada Fenn", False, False)]
    approve(path, "2026-11-21")
    assert waiting(path) == []


def test_what_was_approved_before_it_left_still_waits_for_an_answer(path: Path) -> None:
    """Files for a plant, from approved masters: did they arrive?"""
    approve(path, "2026-11-20")
    notes = HandoverLedger(path)
    notes.note("a", replace(FIRST, recipient="Blue Plant"))
    assert waiting(path) == [("a", "Blue Plant", True, False)]
    notes.answer("a", "Blue Plant", "received", "2026-11-23")
    assert waiting(path) == []


def test_an_answer_alone_approves_nothing(path: Path) -> None:
    notes = HandoverLedger(path)
    notes.note("a", FIRST)
    notes.note("a", replace(FIRST, recipient="Blue Plant"))
    notes.answer("a", "Ada Fenn", "more bass, please", "2026-11-23")
    assert waiting(path) == [("a", "Ada Fenn", False, True), ("a", "Blue Plant", False, False)]


def test_a_later_revision_to_the_same_recipient_takes_its_place(path: Path) -> None:
    notes = HandoverLedger(path)
    notes.note("a", FIRST)
    notes.note("a", replace(FIRST, recipient="Blue Plant"))
    DeliveryLedger(path).record(past("b", revision=2))
    assert [each.newer_revision for each in notes.out()] == [2, 2]
    notes.note("b", replace(FIRST, day="2026-11-25"))
    assert waiting(path) == [("a", "Blue Plant", False, False), ("b", "Ada Fenn", False, False)]


def test_a_package_built_again_keeps_its_hand_overs(path: Path) -> None:
    HandoverLedger(path).note("a", FIRST)
    DeliveryLedger(path).record(past("a", songs=2))
    assert waiting(path) == [("a", "Ada Fenn", False, False)]
