"""The client's sheet on the page: questions, changes before they are written, the same file as by the command."""

from __future__ import annotations

import shutil
from html import unescape
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest

from delivery import load_release
from delivery.desk.client_sheet import file_name
from delivery.tasks.start import start_from_sheet
from tests.desk.conftest import OWN, Client
from tests.desk.started import Started
from tests.report.browser import needs_browser

SHEET = (
    "No,Title,Artist,ISRC,Composer\n"
    "1,Salt Road,Ada Fenn,ZZOSL2600001,Ada Fenn\n"
    "2,Song 2,Ada Fenn,ZZOSL2600002,Ada Fenn and Bo Quill\n"
    "3,tbc,Ada Fenn,ZZOSL2600003,Bo Quill\n"
)


def drop(client: Client, content: bytes, name: str = "from client.csv") -> str:
    headers = {**OWN, "X-Desk-Token": client.session.token, "X-Name": quote(name)}
    answer = client.ask("POST", f"{client.release}/client-sheet", headers, content=content)
    assert answer.status_code == 200, answer.text
    return unescape(client.get(f"{client.release}/client-sheet").text)


def answer_all(client: Client, choose: int = 0) -> list[str]:
    asked = []
    while question := client.desk.releases()[0].client_sheet.reading.question:  # type: ignore[union-attr]
        asked.append(question)
        data = {"question": question, "choice": str(choose)}
        assert client.post(f"{client.release}/client-sheet/answer", data).status_code == 200
    return asked


def test_an_unread_column_names_no_option_of_the_command_line(client: Client) -> None:
    drop(client, b"No,Title,Foo\n1,Salt Road,x\n2,Song 2,y\n3,Song 3,z\n")
    answer_all(client)
    page = unescape(client.get(f"{client.release}/client-sheet").text)
    assert "The column 'Foo' is not read: give it the name of a field" in page
    assert "--" not in page.partition("<main")[2]


def test_its_questions_are_shown_and_nothing_is_written_before_agreement(client: Client, tmp_path: Path) -> None:
    file, before = client.folder / "release.yaml", (client.folder / "release.yaml").read_bytes()
    same = Path(shutil.copytree(client.folder, tmp_path / "by command"))
    sheet = tmp_path / "from client.csv"
    sheet.write_text(SHEET, encoding="utf-8")
    asked_there: list[str] = []

    def ask(question: str, _choices: object) -> int:
        asked_there.append(question)
        return 0

    start_from_sheet(same, sheet, ask=ask, replace=True)
    assert asked_there, "the sheet has something to ask about"

    page = drop(client, SHEET.encode())
    assert asked_there[0] in page, "with the client's own file name"
    assert len(answer_all(client)) == len(asked_there)
    page = unescape(client.get(f"{client.release}/client-sheet").text)
    assert "The sheet brings" in page
    assert "Salt Road" in page
    assert file.read_bytes() == before
    answer = client.post(f"{client.release}/client-sheet/write", {"digest": client.digest})
    assert answer.status_code == 200, answer.text
    assert file.read_bytes() == (same / "release.yaml").read_bytes(), "as by the command"
    assert load_release(file).tracks[0].isrc == "ZZOSL2600001"
    assert client.post(f"{client.release}/undo", {"digest": client.digest}).json()["undone"] is True
    assert file.read_bytes() == before


def test_a_sheet_with_faults_writes_nothing_unless_the_rest_is_wanted(client: Client) -> None:
    before = (client.folder / "release.yaml").read_bytes()
    broken = "No,Title,ISRC\n1,Salt Road,ZZ-OSL-26-0000\n2,Weir,ZZOSL2600002\n3,Song 3,ZZOSL2600003\n"
    page = drop(client, broken.encode())
    assert "Nothing was written" in page
    assert "ZZ-OSL-26-0000" in page
    assert client.post(f"{client.release}/client-sheet/write", {"digest": client.digest}).status_code == 400
    assert (client.folder / "release.yaml").read_bytes() == before
    assert client.post(f"{client.release}/client-sheet/leave-out", {}).status_code == 200
    answer_all(client)
    assert client.post(f"{client.release}/client-sheet/write", {"digest": client.digest}).status_code == 200
    assert [track.title for track in load_release(client.folder / "release.yaml").tracks][1] == "Weir"


def test_a_change_elsewhere_is_never_overwritten_and_names_are_text(client: Client) -> None:
    shown = client.digest
    page = client.get(f"{client.release}/client-sheet").text
    assert "Choose the sheet" in page
    drop(client, SHEET.encode(), "../<b>../x.csv")
    assert "<b>" not in client.get(f"{client.release}/client-sheet").text
    answer_all(client)
    file = client.folder / "release.yaml"
    file.write_text(file.read_text(encoding="utf-8") + "# more\n", encoding="utf-8")
    other = file.read_bytes()
    assert client.post(f"{client.release}/client-sheet/write", {"digest": shown}).status_code == 409
    assert file.read_bytes() == other


@pytest.mark.parametrize(
    ("given", "here"),
    [
        ("From Ada, final (2).XLSX", "From Ada, final (2).xlsx"),
        ("C:\\Users\\ada\\list.csv", "list.csv"),
        ("../../etc/list.csv", "list.csv"),
        ("..", "sheet"),
        ("\0\n/.csv", "csv"),
        ('a<b>"c.csv', "abc.csv"),
        ("名" * 300 + ".ods", "名" * 60 + ".ods"),
    ],
)
def test_messages_name_the_clients_file_as_far_as_it_can_be_one(given: str, here: str, tmp_path: Path) -> None:
    assert file_name(given) == here
    (tmp_path / here).write_bytes(b"")
    assert [path.name for path in tmp_path.iterdir()] == [here]


@pytest.mark.parametrize("content", [b"", b"\0\1\2", b"PK\x03\x04 no workbook"])
def test_what_is_no_sheet_is_one_message(client: Client, content: bytes) -> None:
    headers = {**OWN, "X-Desk-Token": client.session.token, "X-Name": "a.xlsx"}
    answer = client.ask("POST", f"{client.release}/client-sheet", headers, content=content)
    assert answer.status_code == (200 if content else 400)
    assert "Traceback" not in client.get(f"{client.release}/client-sheet").text


@pytest.mark.thorough(1)
@needs_browser()
@pytest.mark.slow
@pytest.mark.parametrize(("scheme", "width"), [("light", 1280), ("dark", 390)])
def test_a_dropped_sheet_is_answered_and_written_in_the_browser(
    chromium: Any, desk: Started, scheme: str, width: int
) -> None:
    """And axe finds nothing on the page, before and after the answers."""
    from axe_playwright_python.sync_playwright import Axe

    how = {"viewport": {"width": width, "height": 900}, "color_scheme": scheme, "bypass_csp": True}
    watched = desk.page(chromium, **how)
    page = watched.page
    page.click(".releases a")
    page.click("text=Client's sheet")
    payload = {"name": "from client.csv", "mimeType": "text/csv", "buffer": SHEET.encode()}
    page.set_input_files("#pick-sheet", payload)
    page.wait_for_selector(".asking")
    found = [Axe().run(page)]
    page.screenshot(path=str(desk.folder.parent / f"asked-{scheme}-{width}.png"), full_page=True)
    while page.locator(".asking").count():
        page.check(".asking input[value='0']")
        with page.expect_navigation():
            page.click(".asking button")
    found.append(Axe().run(page))
    page.screenshot(path=str(desk.folder.parent / f"brings-{scheme}-{width}.png"), full_page=True)
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0
    page.click("text=Write this into")
    page.wait_for_selector("#c-1-title")
    assert page.input_value("#c-1-title") == "Salt Road"
    assert [one.generate_report() for one in found if one.violations_count] == []
    assert watched.errors == []
