"""One gain for the album, from its loudness as one programme: songs keep their balance, the ceiling is looked at."""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile as sf

from delivery.chain.album_gain import album_gain
from delivery.intake import load_spec
from delivery.model.chain import StepKind
from delivery.model.figure import Measurement, Reading
from delivery.model.finding import Answer, Finding
from delivery.pipeline import judge_part
from delivery.pipeline import songs as making
from delivery.pipeline.request import resolve_request
from delivery.pipeline.run import Built, Options, build
from tests.albums import Song, write_album, write_spec
from tests.judges import needs

REQUIRES = (
    "{container: {must: [wav]}, coding: {must: [pcm]}, bits: {must: [24]}, rate_hz: {must: [44100]}, "
    "true_peak_max_dbtp: {must: -1.0}, album_integrated_lufs: {must: {at_least: -19, at_most: -17, target: -18}}}"
)
ALBUM = "{gain: to_target, gain_scope: album}"


def made(folder: Path, songs: list[Song], requires: str = REQUIRES) -> Built:
    folder.mkdir()
    write_spec(folder, "as-one", requires, ALBUM)
    return build(resolve_request(write_album(folder, songs, ["as-one"])), folder.parent / "out", Options())


def gains(built: Built) -> list[float]:
    steps = [part.chain.step(StepKind.GAIN) for part in built.delivery.parts if part.chain]
    return [step.settings["gain_db"] if step else 0.0 for step in steps]


SONGS = [
    Song("Loud", rate_hz=44_100, seconds=6, level_dbfs=-16, seed=4),
    Song("Soft", rate_hz=44_100, seconds=12, level_dbfs=-22, seed=5),
]


@needs("ffmpeg")
def test_the_album_as_one_programme_meets_the_target(tmp_path: Path) -> None:
    """Judged by ffmpeg's loudness meter over all files in a row; its figures have one decimal."""
    built = made(tmp_path / "masters", SONGS)
    assert built.package
    one, other = gains(built)
    assert one == other != 0
    files = sorted((built.package / "data" / "as-one").glob("*.wav"))
    whole = np.concatenate([sf.read(file)[0] for file in files])
    sf.write(tmp_path / "whole.wav", whole, 44_100, subtype="PCM_24")
    command = ["ffmpeg", "-hide_banner", "-i", str(tmp_path / "whole.wav"), "-af", "ebur128", "-f", "null", "-"]
    output = subprocess.run(command, check=True, capture_output=True, text=True, timeout=60).stderr
    loudness = float(output.rsplit("I:", 1)[1].split("LUFS")[0])
    assert loudness == pytest.approx(-18.0, abs=0.15)
    songs = [part.shipped.measurement.value("integrated_lufs") for part in built.delivery.parts if part.shipped]
    assert songs[0] - songs[1] == pytest.approx(6.0, abs=0.3)  # as approved


def test_the_figures_are_shown_and_the_finding_is_of_the_written_files(tmp_path: Path) -> None:
    built = made(tmp_path / "masters", SONGS)
    because = [part.chain.step(StepKind.GAIN).because for part in built.delivery.parts if part.chain]  # type: ignore[union-attr]
    assert because[0] == because[1]
    assert "the album as one programme measures -1" in because[0]
    assert "the spec aims at -18.00" in because[0]
    assert "dBTP, on track 1, the ceiling is -1.00 dBTP" in because[0]
    (finding,) = [finding for finding in built.delivery.findings if finding.rule == "album_integrated_lufs"]
    assert finding.answer is Answer.MET
    assert finding.found.startswith("-18.0")


def measured(peak_dbtp: float) -> Measurement:
    return Measurement({"true_peak_dbtp": Reading(peak_dbtp), "integrated_lufs": Reading(-20.0)})


@pytest.mark.parametrize(
    ("album_lufs", "peaks_dbtp", "gain_db", "sentence"),
    [
        (-18.5, (-9.0, -3.0), 0.0, ""),  # in the window: nothing is turned
        (-22.0, (-9.0, -6.0), 4.0, "the ceiling is -1.00 dBTP"),
        (-22.0, (-9.0, -4.5), 3.495, "limited by the ceiling of -1.00 dBTP"),  # -18.5 still lies in the window
        (-22.0, (-9.0, -3.5), 4.0, "on track 2, the ceiling is -1.00 dBTP"),  # it would not: the judge names the song
        (-14.0, (-9.0, 0.5), -4.0, "-3.50 dBTP, on track 2"),
    ],
)
def test_the_tightest_song_decides_for_all(
    tmp_path: Path, album_lufs: float, peaks_dbtp: tuple[float, float], gain_db: float, sentence: str
) -> None:
    """Sums by hand: target -18, window -19 to -17, ceiling -1 dBTP, half a printed hundredth kept."""
    spec = load_spec(write_spec(tmp_path, "as-one", REQUIRES, ALBUM))
    songs = [(str(number), measured(peak)) for number, peak in enumerate(peaks_dbtp, start=1)]
    found = album_gain(spec, songs, album_lufs)
    assert found
    assert found.gain_db == pytest.approx(gain_db)
    assert sentence in found.because


def test_a_song_over_the_ceiling_is_named_and_nothing_is_made(tmp_path: Path) -> None:
    """The spike would pass the ceiling at the gain that all songs need."""
    requires = REQUIRES.replace("{at_least: -19, at_most: -17, target: -18}", "{at_least: -12.1, target: -12}")
    built = made(tmp_path / "masters", SONGS, requires)
    refused = [part.track for part in built.delivery.parts if not part.shipped]
    short = [part.track for part in built.delivery.parts for f in part.findings if f.rule == "true_peak_max_dbtp"]
    assert refused
    assert set(refused) <= set(short)


def test_without_every_song_there_is_no_gain(tmp_path: Path) -> None:
    spec = load_spec(write_spec(tmp_path, "as-one", REQUIRES, ALBUM))
    found = album_gain(spec, [("1", measured(-3.0))], None)
    assert found
    assert found.gain_db == 0.0


def test_files_whose_album_is_beside_the_window_do_not_stay(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The answer is that of the written files, whatever was predicted: here they are made to read 6 LU louder."""
    judged = making.album_as_shipped

    def as_if_louder(*given: Any) -> tuple[Finding, ...]:
        with monkeypatch.context() as once:
            once.setattr(judge_part, "loudness_of", lambda *_songs, **_how: Reading(-12.0))
            return judged(*given)

    monkeypatch.setattr(making, "album_as_shipped", as_if_louder)
    built = made(tmp_path / "masters", SONGS)
    assert [finding.found for finding in built.delivery.findings if finding.answer is Answer.NOT_MET] == ["-12.00 LUFS"]
    assert not any(part.shipped for part in built.delivery.parts)
    assert not list((tmp_path / "out").rglob("*.wav"))
