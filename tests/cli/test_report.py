"""`report` as a person uses it: on the terminal, and in a file whose ending sets its format."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from delivery.__main__ import run
from delivery.ledger.deliveries import DeliveryLedger
from tests.ledger.deliveries import past

NOVEMBER = ["report", "--month", "2026-11"]


@pytest.fixture(autouse=True)
def ledger(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DELIVERY_LEDGER", str(tmp_path / "ledger.sqlite3"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    DeliveryLedger().record(past(songs=4))


def test_on_the_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(NOVEMBER) == 0
    lines = [line.split() for line in capsys.readouterr().out.splitlines()]
    assert ["Deliveries", "in", "November", "2026"] in lines
    assert ["Ada", "Fenn", "4", "4", "15.0", "0", "0", "1"] in lines
    assert run([*NOVEMBER, "--all"]) == 0
    assert "2026-11-20" in capsys.readouterr().out
    assert run([*NOVEMBER, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["total"]["minutes"] == 15.0


@pytest.mark.parametrize(
    ("name", "begins"), [("a.csv", b"\xef\xbb\xbfmonth,client"), ("a.XLSX", b"PK"), ("a.pdf", b"%PDF")]
)
def test_the_files_ending_sets_its_form(name: str, begins: bytes, capsys: pytest.CaptureFixture[str]) -> None:
    assert run([*NOVEMBER, "--into", name]) == 0
    assert f"Wrote {name}." in capsys.readouterr().out
    content = Path(name).read_bytes()
    assert content.startswith(begins)
    assert run([*NOVEMBER, "--into", name]) == 2
    assert "an existing file" in capsys.readouterr().err
    assert run([*NOVEMBER, "--into", name, "--replace", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["written"] == name
    assert Path(name).read_bytes() == content


def test_a_form_on_standard_output(capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    assert run([*NOVEMBER, "--as", "csv", "--client", "fenn"]) == 0
    assert b"2026-11,Ada Fenn,4,4,15.0,0,0,1\n" in capfdbinary.readouterr().out


@pytest.mark.parametrize("words", [["--as", "docx"], ["--into", "a"], ["--as", "csv", "--json"]])
def test_forms_that_do_not_exist_or_exclude_each_other(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert run([*NOVEMBER, *words]) == 2
    assert capsys.readouterr().out == ""
    assert not Path("a").exists()
