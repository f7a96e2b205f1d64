"""The page on which two files, or a song and a reference playlist, are set beside each other."""

from __future__ import annotations

import shutil
import time
from html import unescape
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from delivery import figures
from delivery.report.view.pair import pair_view
from delivery.report.view.words import typographic
from delivery.tasks.pair import compare_pair
from tests.desk.conftest import Client
from tests.desk.started import Started
from tests.report.browser import needs_browser

PATIENCE_S = 120.0
RATE_HZ = 44_100
LOUDER_DB = 4.0
CAPTURE = """
(() => {
  const connect = AudioNode.prototype.connect;
  globalThis.gains = [];
  AudioNode.prototype.connect = function (target, ...rest) {
    if (this instanceof GainNode && target === this.context.destination) globalThis.gains.push(this.gain);
    return connect.call(this, target, ...rest);
  };
})();
"""


def song(path: Path, seed: int = 5, gain: float = 1.0) -> None:
    """Forty seconds of noise that rises and falls every few seconds, so that two files can be aligned."""
    chance = np.random.default_rng(seed)
    steps = np.repeat(chance.uniform(0.02, 0.2, 80), RATE_HZ // 2)
    soundfile.write(path, gain * steps[:, None] * chance.standard_normal((len(steps), 2)), RATE_HZ, "PCM_24")


@pytest.fixture(scope="module")
def two(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    folder = tmp_path_factory.mktemp("two")
    song(folder / "Mix.wav")
    song(folder / "Master.wav", gain=10 ** (LOUDER_DB / 20))
    return folder / "Mix.wav", folder / "Master.wav"


@pytest.fixture(autouse=True)
def own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for kind in ("DATA", "CACHE", "CONFIG"):
        monkeypatch.setenv(f"XDG_{kind}_HOME", str(tmp_path / "own" / kind))


def compared(client: Client, path: str, **data: str) -> str:
    answer = client.post(f"compare/{path}", data)
    assert answer.status_code == 200, answer.text
    end = time.monotonic() + PATIENCE_S
    while client.desk.comparing.ticket is not None and time.monotonic() < end:
        time.sleep(0.05)
    return unescape(client.get("compare").text)


def test_two_files_are_compared_in_the_words_of_the_command(client: Client, two: tuple[Path, Path]) -> None:
    files = [Path(shutil.copy(file, client.folder)) for file in two]
    page = compared(client, "pair", one=str(files[0]), other=str(files[1]))
    view = pair_view(compare_pair(*files), "Mix.wav", "Master.wav", figures())
    assert [text for text in view.sentences if typographic(text) not in page] == []
    copies = [soundfile.read(client.desk.comparing.copy(name)) for name in ("0-0.wav", "0-1.wav")]
    levels = [float(np.sqrt(np.mean(sound**2))) for sound, _ in copies]
    assert 20 * np.log10(levels[1] / levels[0]) == pytest.approx(0, abs=0.05), "at equal loudness"
    assert client.get("compare/sound/0-1.wav").content[:4] == b"RIFF"
    assert client.get("compare/sound/..%2f0-1.wav").status_code == 404
    assert client.get("compare/sound/one.wav").status_code == 404, "excerpts alone are served"


def test_two_recordings_are_not_matched(client: Client) -> None:
    song(client.folder / "Other.wav", seed=9)
    song(client.folder / "One.wav", seed=5)
    page = compared(client, "pair", one=str(client.folder / "One.wav"), other=str(client.folder / "Other.wav"))
    assert "Blind trials" not in page
    assert "Other.wav" in page


def test_a_reference_is_made_of_a_folder_and_a_song_set_beside_it(client: Client) -> None:
    peers = client.folder / "peers"
    peers.mkdir()
    for number in range(3):
        song(peers / f"Peer {number}.wav", seed=20 + number)
    assert "Kept as" in compared(client, "keep", name="peers of a test", folder=str(peers))
    assert "one of that name" in compared(client, "keep", name="peers of a test", folder=str(peers))
    page = compared(client, "reference", songs=str(peers / "Peer 1.wav"), name="peers of a test")
    assert "beside" in page
    assert "Third octaves at matched loudness" in page


@pytest.mark.parametrize("path", ["", "relative.wav", "/etc/hostname", "{folder}/none.wav", "{folder}/../outside.wav"])
def test_only_opened_folders_are_compared(client: Client, path: str, tmp_path: Path) -> None:
    song(tmp_path / "outside.wav")
    data = {"one": path.format(folder=client.folder), "other": str(client.folder / "01 Song.wav")}
    assert client.post("compare/pair", data).status_code == 400
    assert client.post("compare/keep", {"name": "x", "folder": data["one"]}).status_code == 400
    assert client.desk.comparing.ticket is None


@pytest.mark.thorough(1)
@needs_browser()
@pytest.mark.slow
@pytest.mark.parametrize(("scheme", "width"), [("light", 1280), ("dark", 390)])
def test_two_candidates_are_switched_by_number_keys_while_they_play(
    chromium: Any, own_desk: Started, two: tuple[Path, Path], scheme: str, width: int
) -> None:
    """The browser states the gains of both voices: one plays, the other is silent. axe finds nothing."""
    from axe_playwright_python.sync_playwright import Axe

    for file in two:
        shutil.copy(file, own_desk.folder)
    how = {"viewport": {"width": width, "height": 900}, "color_scheme": scheme, "bypass_csp": True}
    watched = own_desk.page(chromium, **how)
    page = watched.page
    page.add_init_script(CAPTURE)
    page.click("a[href='compare']")
    page.fill("#one", str(own_desk.folder / "Mix.wav"))
    page.fill("#other", str(own_desk.folder / "Master.wav"))
    page.keyboard.press("Enter")
    page.wait_for_selector("#play")

    def gains() -> list[float]:
        return [round(float(gain), 2) for gain in page.evaluate("globalThis.gains.slice(-2).map((one) => one.value)")]

    def wait_for(wanted: list[float]) -> None:
        end = time.monotonic() + PATIENCE_S
        while gains() != wanted:
            assert time.monotonic() < end, gains()
            time.sleep(0.05)

    page.focus("body")
    page.keyboard.press(" ")
    wait_for([1, 0])
    page.keyboard.press("2")
    wait_for([0, 1])
    page.keyboard.press("1")
    wait_for([1, 0])
    page.click("#start")
    for _ in range(3):
        page.click("#is-first")
    page.click("#end")
    assert "of 3 right" in page.inner_text("#result")
    page.fill("#one", "/1/2")
    page.keyboard.press("End")
    page.keyboard.type("2")
    wait_for([1, 0])  # typing in a field switches nothing
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0
    page.evaluate("window.scrollTo(0, 0)")
    page.screenshot(path=str(own_desk.folder.parent / f"compare-{scheme}-{width}.png"), full_page=True)
    assert watched.errors == []
