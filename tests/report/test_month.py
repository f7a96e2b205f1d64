"""The report of a month: counts by client, and the same numbers in every form."""

from __future__ import annotations

import csv
import io
import json
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from delivery.errors import Unusable
from delivery.ledger.deliveries import DeliveryLedger
from delivery.ledger.handovers import HandoverLedger
from delivery.ledger.past import Handover
from delivery.ledger.same_release import identity_of
from delivery.report.data import month_csv, month_json
from delivery.report.view.month import CAUTION, MonthView
from delivery.tasks.month import month_report, rendered
from tests.ledger.deliveries import past, recording

MINUTE = tuple(recording(number, duration_s=60.0) for number in (1, 2, 3))
FENN = past(songs=3, recordings=MINUTE, release_key="fenn\n\n\n")
SINGLE = {"release_key": "other\n\n\n", "catalogue_number": "OSL-020", "title": "Other", "client": ""}


@pytest.fixture
def ledger(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> DeliveryLedger:
    """November: Ada Fenn's release, a new master in its revision, sent again to another recipient; a label's single."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    (tmp_path / "studio.yaml").write_text("name: Lantern Room Mastering\n", encoding="utf-8")
    found = DeliveryLedger(tmp_path / "ledger.sqlite3")
    longer = (*MINUTE[:2], replace(MINUTE[2], duration_s=120.0))
    for fingerprint, changed in {
        "october": {"dated": "2026-10-30"},
        "first": {"dated": "2026-11-03", "label": "=Ostrelune", "revision": 1, **SINGLE},
        "second": {"dated": "2026-11-05", "revision": 2, "recordings": longer},
        "replaced": {"dated": "2026-11-06", "revision": 2, "path": "/same"},
        "again": {"dated": "2026-11-07", "revision": 2, "path": "/same", "client": "ADA  Fenn", "recordings": longer},
        "undated": {"dated": ""},
    }.items():
        found.record(replace(FENN, **{"fingerprint": fingerprint, "path": f"/{fingerprint}"} | changed))
    return found


def counts(view: MonthView) -> dict[str, tuple[str, ...]]:
    return {client.client: client.counts for client in (*view.clients, view.total)}


def test_counts_by_client(ledger: DeliveryLedger) -> None:
    """Three songs of four minutes in two packages of three files: counted by hand."""
    view = month_report("2026-11", "", ledger)
    assert counts(view) == {
        "Ada Fenn": ("3", "6", "4.0", "1", "1", "1"),
        "=Ostrelune (label)": ("3", "3", "3.0", "0", "0", "1"),
        "All": ("6", "9", "7.0", "1", "1", "2"),
    }
    (fenn,) = (client for client in view.clients if client.client == "Ada Fenn")
    assert [(row.day, row.kind) for row in fenn.deliveries] == [
        ("2026-11-05", "revision"),
        ("2026-11-07", "re-delivery"),
    ]
    assert view.notes[0].startswith("1 build is left out")
    assert view.notes[1].startswith("1 package of the ledger belongs to no month")
    assert view.notes[-1] == CAUTION


def test_a_build_that_was_replaced_makes_no_re_delivery_of_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Built with --replace until it was right: one revision was sent, and sent once."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    found = DeliveryLedger(tmp_path / "ledger.sqlite3")
    for fingerprint, revision, path in (("a", 1, "/1"), ("b", 2, "/2"), ("c", 2, "/2"), ("d", 2, "/elsewhere")):
        changed = {"dated": "2026-11-05", "revision": revision, "path": path, "recordings": MINUTE}
        found.record(replace(FENN, fingerprint=fingerprint, **changed))
    (fenn,) = month_report("2026-11", "", found).clients
    assert [row.kind for row in fenn.deliveries] == ["new", "revision", "re-delivery"]


def test_an_approval_of_the_last_delivery_closes_it(ledger: DeliveryLedger) -> None:
    ledger.approve(identity_of(FENN), "Ada Fenn", "2026-11-08", [one.audio_hash for one in MINUTE])
    assert counts(month_report("2026-11", "fenn", ledger)) == {
        "Ada Fenn": ("3", "6", "4.0", "1", "1", "0"),
        "All": ("3", "6", "4.0", "1", "1", "0"),
    }


def test_an_undated_package_counts_in_the_month_of_its_first_hand_over(ledger: DeliveryLedger) -> None:
    HandoverLedger(ledger.path).note("undated", Handover("Plant", "M", "2026-12-02"))
    view = month_report("2026-12", "", ledger)
    assert [row.day for row in view.clients[0].deliveries] == ["2026-12-02"]
    assert view.notes == (CAUTION,)


@pytest.mark.parametrize("month", ["2026-13", "2026-00", "2026", "11", "2026-1", "november"])
def test_no_such_month(ledger: DeliveryLedger, month: str) -> None:
    with pytest.raises(Unusable, match="--month"):
        month_report(month, "", ledger)


def test_csv_reads_back_and_calculates_nothing(ledger: DeliveryLedger) -> None:
    content = month_csv.render(month_report("2026-11", "", ledger))
    rows = list(csv.reader(io.StringIO(content.decode("utf-8-sig"))))
    assert rows[0][:5] == ["month", "client", "songs", "parts", "minutes"]
    assert rows[1:] == [
        ["2026-11", "'=Ostrelune (label)", "3", "3", "3.0", "0", "0", "1"],
        ["2026-11", "Ada Fenn", "3", "6", "4.0", "1", "1", "1"],
    ]


def test_the_workbook_as_another_library_reads_it(ledger: DeliveryLedger) -> None:
    """python-calamine: texts are texts, numbers are numbers."""
    from python_calamine import CalamineWorkbook

    content = rendered(month_report("2026-11", "", ledger), "xlsx")
    book = CalamineWorkbook.from_filelike(io.BytesIO(content))
    assert book.sheet_names == ["November 2026", "Deliveries"]
    clients = book.get_sheet_by_name("November 2026").to_python()
    assert clients[1:] == [
        ["=Ostrelune (label)", 3, 3, 3, 0, 0, 1],
        ["Ada Fenn", 3, 6, 4, 1, 1, 1],
        ["All", 6, 9, 7, 1, 1, 2],
    ]
    deliveries = book.get_sheet_by_name("Deliveries").to_python()
    assert [row[:2] for row in deliveries[1:]] == [
        ["=Ostrelune (label)", "2026-11-03"],
        ["Ada Fenn", "2026-11-05"],
        ["Ada Fenn", "2026-11-07"],
    ]


@pytest.mark.parametrize("form", ["csv", "xlsx", "pdf"])
def test_the_same_month_gives_the_same_bytes(ledger: DeliveryLedger, form: str) -> None:
    view = month_report("2026-11", "", ledger)
    assert rendered(view, form) == rendered(view, form)


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext installed")
def test_the_pdf_prints_the_same_numbers(ledger: DeliveryLedger, tmp_path: Path) -> None:
    view = month_report("2026-11", "", ledger)
    (tmp_path / "month.pdf").write_bytes(rendered(view, "pdf"))
    done = subprocess.run(
        ["pdftotext", "-layout", "month.pdf", "-"], cwd=tmp_path, capture_output=True, encoding="utf-8", check=True
    )
    lines = [line.split() for line in done.stdout.splitlines()]
    for name, expected in counts(view).items():
        assert [*name.split(), *expected] in lines
    assert "November 2026" in done.stdout
    assert "Lantern Room Mastering" in done.stdout


def test_an_empty_month_is_a_report_too(ledger: DeliveryLedger) -> None:
    view = month_report("2020-02", "", ledger)
    assert view.clients == ()
    for form in ("csv", "xlsx", "pdf"):
        assert rendered(view, form)
    with pytest.raises(Unusable, match="one of csv, xlsx, pdf"):
        rendered(view, "docx")


def test_the_json_document_is_plain(ledger: DeliveryLedger) -> None:
    document = json.loads(json.dumps(month_json.document(month_report("2026-11", "", ledger))))
    assert document["total"] == {
        "songs": 6, "parts": 9, "minutes": 7.0, "revisions": 1, "redeliveries": 1, "open_approvals": 2,
    }  # fmt: skip
    assert [client["client"] for client in document["clients"]] == ["=Ostrelune (label)", "Ada Fenn"]
