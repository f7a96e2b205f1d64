"""A new user does the whole job by keyboard alone: from a folder of masters to a package that was handed over."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from delivery import load_release
from tests.desk.started import Started
from tests.desk.test_everyday import tab_to
from tests.report.browser import needs_browser

pytestmark = [needs_browser(), pytest.mark.slow]
SHEET = """No,Title,Artist,ISRC
1,Salt Road,Ada Fenn,ZZOSL2600001
2,Tide Table,Ada Fenn,ZZOSL2600002
3,Low Lamps,Ada Fenn,
"""
SPEC = "store-master-high-rate"


def typed(page: Any, selector: str, text: str) -> None:
    """Go to a field and write over what it holds."""
    tab_to(page, selector)
    page.keyboard.press("ControlOrMeta+a")
    page.keyboard.type(text)


def press_on(page: Any, selector: str) -> None:
    tab_to(page, selector)
    page.keyboard.press("Enter")


def answer_first(page: Any, group: str, form: str, why: str) -> str:
    """Answer the first note of *group* that has this form, with a name and a reason; the id of the note."""
    open_form = f"details.act:has(form[data-form$='/{form}'])"
    found = f"#notes li[id^={group}] {open_form}"
    note = page.evaluate("(found) => document.querySelector(found)?.closest('li').id ?? ''", found)
    if note:
        press_on(page, f"#{note} {open_form} summary")
        typed(page, f"#{note} form[data-form$='/{form}'] input[name=by]", "A. Moreau")
        page.keyboard.press("Tab")
        page.keyboard.type(why)
        page.keyboard.press("Enter")
        page.wait_for_selector(f"#{note}", state="detached")
        page.wait_for_selector("#notes h2, #notes:has-text('Nothing to settle')")
    return str(note)


def test_the_whole_job(chromium: Any, own_desk: Started, tmp_path: Path) -> None:
    folder = tmp_path / "Low Water"
    folder.mkdir()
    for file in own_desk.folder.glob("*.wav"):
        shutil.copy(file, folder)
    sheet = tmp_path / "from the client.csv"
    sheet.write_text(SHEET, encoding="utf-8")
    context = chromium.new_context(viewport={"width": 1280, "height": 900}, permissions=["clipboard-write"])
    watched = own_desk.page(context)
    page = watched.page

    press_on(page, "a[href='open']")
    page.wait_for_selector("#path")
    typed(page, "#path", str(folder))
    page.keyboard.press("Enter")
    page.wait_for_selector("button[data-post='start']")
    press_on(page, f"button[data-post='start'][data-path='{folder}']")
    page.wait_for_selector("#rows tr:nth-child(3)")

    for field, text in {"album": "Low Water", "album_artist": "Ada Fenn", "label": "Ostrelune Records"}.items():
        typed(page, f"#c-0-{field}", text)
        page.keyboard.press("Tab")
    page.wait_for_selector("#undo:not([disabled])")

    press_on(page, "a[href$='/specs'][href^='release/']")
    page.wait_for_selector("form.specs")
    for name in page.eval_on_selector_all("form.specs input", "(all) => all.map((one) => one.name)"):
        one = f"form.specs input[name='{name}']"
        if page.is_checked(one) != (name == SPEC):
            tab_to(page, one)
            page.keyboard.press(" ")
    press_on(page, "form.specs button")
    page.wait_for_selector("#notes h2")

    press_on(page, "a[href$='/client-sheet']")
    page.wait_for_selector("#pick-sheet")
    tab_to(page, "#pick-sheet")
    with page.expect_file_chooser() as chooser:
        page.keyboard.press(" ")
    chooser.value.set_files(str(sheet))
    page.wait_for_selector("button[data-post$='/write']")
    press_on(page, "button[data-post$='/write']")
    page.wait_for_selector("#notes h2")
    page.wait_for_selector("#state-3 a")
    if page.locator("button[data-post$='/confirm']").count():
        press_on(page, "button[data-post$='/confirm']")
        page.wait_for_selector("button[data-post$='/confirm']", state="detached")

    assert answer_first(page, "settle", "waive", "there is no other render"), "44.1 kHz, 88.2 or more required"
    while answer_first(page, "settle", "waive", "agreed with the client"):
        pass
    page.wait_for_selector("#notes:has-text('Nothing to settle')")
    accepted = answer_first(page, "remark", "accept", "heard, it is intended")

    press_on(page, "a[href$='/package']")
    page.wait_for_selector("form.build")
    press_on(page, "form.build button")
    page.wait_for_selector("text=The package is in")
    press_on(page, "button[data-post$='/verify']")
    page.wait_for_selector("text=every checksum holds")
    press_on(page, "details.mail:has(#mail) summary")
    press_on(page, "button[data-copy='mail']")
    page.wait_for_selector("#status:has-text('Copied.')")
    assert "Low Water" in page.inner_text("#mail")

    handing = "form[data-form$='/handover']"
    press_on(page, f"details.mail:has({handing}) summary")
    typed(page, f"{handing} input[name=to]", "Ostrelune Records")
    typed(page, f"{handing} input[name=how]", "upload")
    typed(page, f"{handing} input[name=by]", "A. Moreau")
    typed(page, f"{handing} input[name=day]", "2026-09-18")
    page.keyboard.press("Enter")
    page.wait_for_selector("#package-live li:has-text('2026-09-18 to Ostrelune Records by A. Moreau (upload)')")
    answering = "form[data-form$='/answer']"
    press_on(page, f"details.mail:has({answering}) summary")
    typed(page, f"{answering} input[name=answer]", "received, whole")
    page.keyboard.press("Enter")
    page.wait_for_selector("#package-live li:has-text('received, whole')")
    press_on(page, "nav a[href='history']")
    page.wait_for_selector("td:has-text('Ostrelune Records')")

    press_on(page, "button[data-then='closed']")
    page.wait_for_selector("h1:has-text('Closed')")
    assert own_desk.process.wait(30) == 0
    assert watched.errors == []
    release = load_release(folder / "release.yaml")
    assert [track.title for track in release.tracks] == ["Salt Road", "Tide Table", "Low Lamps"]
    assert [waiver.by for waiver in release.waivers][:1] == ["A. Moreau"]
    assert bool(accepted) == ("heard, it is intended" in (folder / "release.yaml").read_text(encoding="utf-8"))
    package = next(path for path in folder.iterdir() if path.is_dir())
    command = [sys.executable, "-m", "delivery", "history", str(package)]
    told = subprocess.run(command, env=own_desk.environment, check=True, capture_output=True, text=True, cwd=tmp_path)
    assert "Ostrelune Records" in told.stdout, "the same ledger as on the command line"
