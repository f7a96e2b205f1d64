"""A spec of one's own on the desk: each field is checked as the file will be read, and releases find it at once."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from delivery.schema import difference
from delivery.tasks.specs import find_spec
from tests.desk.conftest import Client
from tests.desk.started import Started
from tests.report.browser import needs_browser

HEAD = {"title": "My shop", "about": "Their guide.", "source": "Guide, page 3", "checked": "2026-11-01", "edition": ""}
DRAFT = {"name": "my-shop", "parent": "store-flac-24", **HEAD}
WANTED = {
    "word:true_peak_max_dbtp": "must",
    "limit:true_peak_max_dbtp": "-2",
    "source:true_peak_max_dbtp": 'page 4: "loud"',
    "word:rate_hz": "should",
    "limit:rate_hz": "[44100, 48000]",
    "word:finite_samples": "",
}


@pytest.fixture(autouse=True)
def own_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return tmp_path / "config" / "delivery"


def test_a_spec_is_written_where_every_release_finds_it(client: Client, own_settings: Path) -> None:
    told = client.post("new-spec/check", {**DRAFT, **WANTED}).json()
    assert told["faults"] == {}
    assert client.post("new-spec", {**DRAFT, **WANTED}).json() == {"go": "specs/my-shop"}
    assert (own_settings / "specs" / "my-shop.yaml").is_file()
    spec = find_spec("my-shop")
    assert spec.lineage[0] == "store-flac-24"
    peak = spec.required()["true_peak_max_dbtp"]
    assert (peak.must, peak.limit, peak.source) == (True, -2, 'page 4: "loud"')
    assert told["apart"] == difference(find_spec("store-flac-24"), spec), "as `delivery spec diff` says it"
    assert "my-shop" in client.get("specs").text
    assert "my-shop" in client.get(f"{client.release}/specs").text
    chosen = {"digest": client.digest, "specs": ["my-shop"]}
    assert client.post(f"{client.release}/specs", chosen).status_code == 200
    assert "exists yet" not in str(client.desk.releases()[0].problem)


@pytest.mark.parametrize(
    ("changed", "field", "said"),
    [
        ({"name": "My shop"}, "name", "small letters"),
        ({"name": "../x"}, "name", "small letters"),
        ({"name": "cd-rate-16"}, "name", "does not exist yet"),
        ({"checked": "yesterday"}, "checked", "a date such as"),
        ({"title": ""}, "", "title"),
        ({"limit:true_peak_max_dbtp": "4"}, "true_peak_max_dbtp", "at most 0"),
        ({"limit:true_peak_max_dbtp": ""}, "true_peak_max_dbtp", "number in dBTP"),
        ({"limit:true_peak_max_dbtp": "-1\nrequires: {}"}, "true_peak_max_dbtp", "number in dBTP"),
        ({"limit:rate_hz": "[44100, 48000"}, "rate_hz", "not closed"),
        ({"limit:rate_hz": "44.1"}, "rate_hz", "list"),
    ],
)
def test_a_fault_is_shown_at_its_field_and_nothing_is_written(
    client: Client, own_settings: Path, changed: dict[str, str], field: str, said: str
) -> None:
    data = {**DRAFT, **WANTED, **changed}
    for path in ("new-spec/check", "new-spec"):
        faults = client.post(path, data).json()["faults"]
        assert said in faults[field], faults
    assert not own_settings.exists()


def test_all_faulty_limits_are_reported_together_and_unknown_rules_refused(client: Client) -> None:
    both = {"limit:rate_hz": "[", "limit:true_peak_max_dbtp": "]"}
    assert set(client.post("new-spec/check", {**DRAFT, **WANTED, **both}).json()["faults"]) == {
        "rate_hz",
        "true_peak_max_dbtp",
    }
    assert client.post("new-spec", {**DRAFT, "word:no_such_rule": "must"}).status_code == 400
    assert client.post("new-spec", {**DRAFT, "word:rate_hz": "perhaps"}).status_code == 400
    assert client.post("new-spec", {**DRAFT, "parent": "none-of-this-name"}).json()["faults"]


@pytest.mark.thorough
@needs_browser()
@pytest.mark.slow
def test_a_spec_is_filled_in_by_keyboard_and_written(chromium: Any, desk: Started) -> None:
    watched = desk.page(chromium, viewport={"width": 1280, "height": 900})
    page = watched.page
    page.click("a[href='specs']")
    page.click("text=New spec")
    page.fill("#f-name", "Their Shop")
    page.keyboard.press("Tab")
    page.wait_for_selector("#why-name")
    page.fill("#f-name", "their-shop")
    page.fill("#f-title", "Their shop")
    page.fill("#f-about", "By their guide")
    page.keyboard.press("Tab")
    page.wait_for_selector("#why-name", state="detached")
    page.locator("details.rules", has=page.locator("#f-true_peak_max_dbtp")).locator("summary").click()
    page.select_option("[data-rule=true_peak_max_dbtp]", "must")
    page.fill("#f-true_peak_max_dbtp", "2")
    page.click("text=Write the spec")
    page.wait_for_selector("#f-true_peak_max_dbtp:focus")
    assert "at most 0" in page.inner_text("#why-true_peak_max_dbtp")
    page.fill("#f-true_peak_max_dbtp", "-3")
    page.keyboard.press("Tab")
    page.wait_for_selector("#apart li")
    page.screenshot(path=str(desk.folder.parent / "new-spec.png"), full_page=True)
    page.click("text=Write the spec")
    page.wait_for_selector("h1:has-text('Their shop')")
    assert "at most -3.00 dBTP" in page.inner_text("main")
    assert watched.errors == []
