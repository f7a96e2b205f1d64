"""The page for two matched copies, in a real browser, sound included: what is audible before and after the switch."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from delivery.__main__ import run
from tests.report.browser import Watched, needs_browser

pytestmark = needs_browser()
RATE = 44_100
CAPTURE = """
(() => {
  const connect = AudioNode.prototype.connect;
  globalThis.peaks = [];
  AudioNode.prototype.connect = function (target, ...rest) {
    if (target === this.context.destination && !this.tapped) {
      this.tapped = true;
      const tap = new AnalyserNode(this.context, { fftSize: 2048 });
      connect.call(this, tap);
      globalThis.peaks.push(() => {
        const samples = new Float32Array(2048);
        tap.getFloatTimeDomainData(samples);
        return Math.max(...samples.map(Math.abs));
      });
    }
    return connect.call(this, target, ...rest);
  };
})();
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Matched copies of 20 s of noise that swells and of the same 6 dB lower."""
    made = tmp_path_factory.mktemp("listen")
    rng = np.random.default_rng(3)
    swell = 0.2 + 0.1 * np.sin(2 * np.pi * np.arange(20 * RATE) / RATE / 3.7)
    one = swell[:, None] * rng.uniform(-1, 1, (20 * RATE, 2))
    soundfile.write(made / "Master A.wav", one, RATE, "PCM_24")
    soundfile.write(made / "Master B.wav", 0.5 * one, RATE, "PCM_24")
    files = [str(made / "Master A.wav"), str(made / "Master B.wav")]
    assert run(["compare", *files, "--no-cache", "--listen", str(made / "out")]) == 0
    assert run(["compare", *files, "--no-cache", "--listen", str(made / "blind"), "--blind"]) == 0
    return made


def page_of(browser: Any, file: Path) -> Watched:
    watched = Watched(browser.new_page(viewport={"width": 900, "height": 900}))
    watched.page.add_init_script(CAPTURE)
    watched.page.goto(file.as_uri())
    return watched


def heard(watched: Watched) -> list[float]:
    watched.page.wait_for_timeout(150)
    peaks: list[float] = watched.page.evaluate("peaks.slice(-2).map((read) => read())")
    return peaks


def test_copies_are_equally_loud_and_the_quieter_one_keeps_its_samples(folder: Path) -> None:
    first, _ = soundfile.read(folder / "out" / "Master A, matched.wav", always_2d=True)
    second, _ = soundfile.read(folder / "out" / "Master B, matched.wav", always_2d=True)
    original, _ = soundfile.read(folder / "Master B.wav", always_2d=True)
    assert len(first) == len(second) == len(original)
    assert np.array_equal(second, original)
    assert 20 * np.log10(np.std(first) / np.std(second)) == pytest.approx(0, abs=0.01)


def test_the_switch_moves_the_sound_from_one_copy_to_the_other(browser: Any, folder: Path) -> None:
    watched = page_of(browser, folder / "out" / "listen.html")
    page = watched.page
    page.keyboard.press("Space")
    page.locator("#play", has_text="Stop").wait_for()
    before = heard(watched)
    page.keyboard.press("2")
    after = heard(watched)
    assert before[0] > 0.05
    assert before[1] < 1e-4
    assert after[0] < 1e-4
    assert after[1] > 0.05
    assert watched.errors == []
    assert [url for url in watched.requests if not url.startswith("file:")] == []
    page.close()


def test_both_copies_are_decoded_to_the_samples_that_were_written(browser: Any, folder: Path) -> None:
    watched = page_of(browser, folder / "out" / "listen.html")
    decode = """async (copy) => {
      const text = document.querySelector(`script.sound[data-of="0"][data-copy="${copy}"]`).textContent.trim();
      const bytes = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
      const context = new OfflineAudioContext(2, 44100, 44100);
      const buffer = await context.decodeAudioData(bytes.buffer);
      return [buffer.length, ...buffer.getChannelData(0).slice(1000, 1064)];
    }"""
    first, second = (watched.page.evaluate(decode, copy) for copy in (0, 1))
    assert first[0] == second[0] == 15 * RATE
    assert first[1:] == pytest.approx(second[1:], abs=1e-4)
    assert np.ptp(first[1:]) > 0.01
    watched.page.close()


def test_a_blind_run_by_keyboard_alone_ends_with_its_probability(browser: Any, folder: Path) -> None:
    watched = page_of(browser, folder / "blind" / "listen.html")
    page = watched.page
    assert "Master" not in page.inner_text("main").replace("Master A and Master B", "")
    assert (folder / "blind" / "which-is-which.txt").read_text(encoding="utf-8").startswith("P: Master ")
    page.focus("#start")
    page.keyboard.press("Enter")
    for _ in range(5):
        page.focus("#is-first")
        page.keyboard.press("Enter")
    page.focus("#end")
    page.keyboard.press("Enter")
    result = page.inner_text("#result")
    right = int(result.split()[0])
    from math import comb

    tail = sum(comb(5, k) for k in range(right, 6)) / 2**5
    assert result.startswith(f"{right} of 5 right.")
    assert float(result.split("probability of ")[1].removesuffix(" %.")) == pytest.approx(100 * tail, abs=0.051)
    assert watched.errors == []
    page.close()


def test_axe_finds_nothing(browser: Any, folder: Path) -> None:
    from axe_playwright_python.sync_playwright import Axe

    for scheme in ("light", "dark"):
        watched = page_of(browser, folder / "blind" / "listen.html")
        watched.page.emulate_media(color_scheme=scheme)
        found = Axe().run(watched.page)
        assert found.violations_count == 0, found.generate_report()
        watched.page.close()


def test_two_recordings_are_refused_and_nothing_is_written(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rng = np.random.default_rng(9)
    soundfile.write(folder / "Other.wav", 0.1 * rng.uniform(-1, 1, (20 * RATE, 2)), RATE, "PCM_24")
    files = [str(folder / "Master A.wav"), str(folder / "Other.wav")]
    assert run(["compare", *files, "--no-cache", "--listen", str(folder / "none")]) == 2
    assert not (folder / "none").exists()
    assert "one recording in two files" in capsys.readouterr().err
