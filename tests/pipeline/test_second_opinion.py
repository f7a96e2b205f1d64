"""Another meter gets the same samples; where it cannot, it gives the reason."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile

from delivery.__main__ import run
from delivery.model.second_opinion import SecondOpinion
from delivery.pipeline.sound_files import bare_tracks
from delivery.pipeline.sources import take_in
from delivery.tasks.second_opinion import second_opinion, second_opinions
from tests.signals import Array, noise, sine


def requested(folder: Path, x: Array, rate_hz: int = 48_000) -> SecondOpinion:
    path = folder / "master.wav"
    soundfile.write(path, x, rate_hz, subtype="FLOAT")
    return second_opinion(take_in(bare_tracks((path,)), None, 1)[0])


@pytest.mark.parametrize("rate_hz", [44_100, 48_000, 96_000])
@pytest.mark.parametrize(("gains", "lufs"), [((1.0,), -23.0), ((1.0, 0.0), -23.0), ((1.0, 1.0), -20.0)])
def test_both_are_near_the_truth_and_near_each_other(
    tmp_path: Path, rate_hz: int, gains: tuple[float, ...], lufs: float
) -> None:
    """ITU-R BS.1770-5, Annex 1: 997 Hz at 0 dBFS in one channel reads -3.01 LKFS; two channels add 3.01 LU."""
    opinion = requested(tmp_path, sine(997, rate_hz, 5, level_dbfs=-19.99) * list(gains), rate_hz)
    assert opinion.integrated_lufs == pytest.approx(lufs, abs=0.05)
    assert opinion.difference_lu == pytest.approx(0, abs=0.05)
    assert opinion.program.startswith("pyloudnorm ")


@pytest.mark.parametrize(
    ("x", "why"),
    [
        (np.zeros((48_000, 2)), "silent"),
        (noise(48_000, 0.3), "too short"),
        (noise(48_000, 2, channels=4), "4 channels"),
        (np.full((48_000, 2), np.nan), "not numbers"),
    ],
)
def test_a_missing_second_opinion_has_a_reason(tmp_path: Path, x: Array, why: str) -> None:
    opinion = requested(tmp_path, x)
    assert opinion.integrated_lufs is opinion.difference_lu is None
    assert why in opinion.why_missing


def test_a_file_too_long_to_hold_is_not_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("delivery.tasks.second_opinion.MOST_SAMPLES", 95_999)
    opinion = requested(tmp_path, noise(48_000, 1))
    assert opinion.integrated_lufs is None
    assert "too long" in opinion.why_missing


def test_a_file_that_is_gone_or_was_never_sound_has_none(tmp_path: Path) -> None:
    path = tmp_path / "master.wav"
    soundfile.write(path, noise(48_000, 1), 48_000)
    (tmp_path / "text.wav").write_text("no sound", encoding="utf-8")
    sources = take_in(bare_tracks((path, tmp_path / "text.wav")), None, 1)
    path.unlink()
    reported = second_opinions(sources)
    assert [each.integrated_lufs for each in reported.values()] == [None, None]
    assert all(each.why_missing for each in reported.values())


def test_the_command_prints_both_forms(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "master.wav"
    soundfile.write(path, noise(48_000, 2), 48_000)
    assert run(["measure", "--no-cache", "--json", "--second-opinion", str(path)]) == 0
    (file,) = json.loads(capsys.readouterr().out)["files"]
    reported = file["second_opinion"]
    assert reported["difference_lu"] == reported["integrated_lufs"] - file["measurement"]["integrated_lufs"]
    assert run(["measure", "--no-cache", "--second-opinion", str(path)]) == 0
    assert (
        f"{reported['integrated_lufs']:.2f} LUFS, {reported['difference_lu']:+.3f} LU from ours"
        in capsys.readouterr().out
    )
    soundfile.write(path, np.zeros((48_000, 2)), 48_000)
    assert run(["measure", "--no-cache", "--second-opinion", str(path)]) == 0
    assert "not available: silent: nothing louder than -70 LUFS" in " ".join(capsys.readouterr().out.split())


def test_it_is_loaded_only_on_request(tmp_path: Path) -> None:
    """It brings scipy, which takes longer to load than all that a short file needs."""
    path = tmp_path / "master.wav"
    soundfile.write(path, noise(48_000, 2), 48_000)
    code = (
        "import sys; from delivery.__main__ import run\n"
        f"assert run(['measure', '--no-cache', {str(path)!r}]) == 0\n"
        "print([name for name in ('pyloudnorm', 'scipy') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert done.stdout.splitlines()[-1] == "[]"
