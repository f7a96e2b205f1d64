"""Versions beside their main, planted in real music: muted words, an instrumental, cut-downs, unlike recordings.

The truths are planted by numpy on pieces of a Debian package of free music; a voice is a passage of another piece.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from delivery.ledger.cache import MeasurementCache
from delivery.model.release import Track
from delivery.model.version import Change, Version, VersionKind, kind_of
from delivery.pipeline import versions
from delivery.pipeline.sources import take_in
from delivery.pipeline.versions import compare_version, declared_versions, kept_version, version_remarks
from delivery.report.view.version import version_sentence
from tests.music import PIECES, needs_music

Sound = NDArray[np.float32]
RATE = 48_000
pytestmark = needs_music


@cache
def piece(number: int) -> Sound:
    """60 s of a piece, (frames, 2)."""
    with soundfile.SoundFile([path for path in PIECES if soundfile.info(path).samplerate == RATE][number]) as file:
        file.seek(20 * RATE)
        return np.asarray(file.read(60 * RATE, dtype="float32", always_2d=True)[:, [0, -1]])


@cache
def song() -> Sound:
    """A backing, and a voice from 10 to 20 s and from 35 to 50 s."""
    found = piece(0).copy()
    for start, end in ((10, 20), (35, 50)):
        found[start * RATE : end * RATE] += 0.7 * piece(1)[start * RATE : end * RATE]
    return 0.5 * found


def written(folder: Path, name: str, sound: Sound) -> Path:
    soundfile.write(folder / name, sound, RATE, "FLOAT")
    return folder / name


def test_a_clean_version_names_its_muted_places_to_50_ms(tmp_path: Path) -> None:
    muted = [(11.203, 11.617), (36.5, 36.81), (44.305, 44.9)]
    clean = song().copy()
    for start, end in muted:
        clean[round(start * RATE) : round(end * RATE)] = 0
    found = compare_version(written(tmp_path, "a.wav", song()), written(tmp_path, "b.wav", 0.8 * clean))
    assert [place.change for place in found.places] == [Change.MUTED] * 3
    for place, (start, end) in zip(found.places, muted, strict=True):
        assert place.from_s == pytest.approx(start, abs=0.05)
        assert place.until_s == pytest.approx(end, abs=0.05)
    assert found.gain_db == pytest.approx(20 * np.log10(0.8), abs=0.05)
    assert version_sentence(found, VersionKind.CLEAN) == (
        "clean version: same length, same head, 1.94 dB quieter, three places muted: "
        "0:11.2 to 0:11.6, 0:36.5 to 0:36.8, 0:44.3 to 0:44.9."
    )


def test_a_word_taken_out_of_the_mix_is_found(tmp_path: Path) -> None:
    """The backing goes on: only what the main holds besides is gone."""
    clean = song().copy()
    start, end = round(12.5 * RATE), round(13.1 * RATE)
    clean[start:end] = 0.5 * piece(0)[start:end]
    found = compare_version(written(tmp_path, "a.wav", song()), written(tmp_path, "b.wav", clean))
    assert found.places
    assert found.places[0].from_s == pytest.approx(12.5, abs=0.05)
    assert found.places[-1].until_s == pytest.approx(13.1, abs=0.05)
    assert {place.change for place in found.places} == {Change.LESS}


def test_an_instrumental_differs_only_while_the_voice_sings(tmp_path: Path) -> None:
    found = compare_version(written(tmp_path, "a.wav", song()), written(tmp_path, "b.wav", 0.5 * piece(0)))
    inside = [any(a - 0.05 <= place.from_s and place.until_s <= b + 0.05 for a, b in ((10, 20), (35, 50)))
              for place in found.places]  # fmt: skip
    assert inside
    assert all(inside)
    assert found.gain_db == pytest.approx(0, abs=0.05)
    said = version_sentence(found, VersionKind.INSTRUMENTAL)
    assert said.startswith("instrumental: same length, same head, differs only where the main has something more")


def test_an_a_cappella_is_a_part_of_the_main(tmp_path: Path) -> None:
    voice = song() - 0.5 * piece(0)
    found = compare_version(written(tmp_path, "a.wav", song()), written(tmp_path, "b.wav", voice))
    assert found.whole
    assert found.offset_frames == 0
    assert "a part of the main, silent for" in version_sentence(found, VersionKind.A_CAPPELLA)


def test_a_voice_that_comes_again_stays_where_it_is(tmp_path: Path) -> None:
    """The same 12 s sung twice, the first time under a backing 6 dB louder: they fit the second place better."""
    voice = np.zeros_like(piece(0))
    for start in (8, 40):
        voice[start * RATE : (start + 12) * RATE] = piece(1)[10 * RATE : 22 * RATE]
    backing = piece(0).copy()
    backing[: 25 * RATE] *= 2
    found = compare_version(
        written(tmp_path, "a.wav", 0.3 * (backing + voice)), written(tmp_path, "b.wav", 0.3 * voice)
    )
    assert found.whole
    assert found.offset_frames == 0


def test_a_cut_down_is_reported_to_the_sample(tmp_path: Path) -> None:
    """Three stretches, one of them from before the one in front of it."""
    pieces = [(3 * RATE + 17, 10 * RATE), (40 * RATE + 5, 8 * RATE + 333), (22 * RATE, 12 * RATE - 350)]
    edit = np.concatenate([song()[start : start + frames] for start, frames in pieces])
    assert len(edit) == 30 * RATE - 17
    found = compare_version(written(tmp_path, "a.wav", song()), written(tmp_path, "b.wav", edit))
    assert [(piece.main, piece.frames) for piece in found.pieces] == pieces
    assert found.places == ()
    said = version_sentence(found, VersionKind.EDIT)
    assert "3 stretches of the main in this order: 0:03.000 to 0:13.000, 0:40.000 to 0:48.007" in said
    assert f"cut at sample {10 * RATE} and {18 * RATE + 333}" in said


def test_a_late_head_is_reported_in_samples(tmp_path: Path) -> None:
    late = np.concatenate([np.zeros((441, 2), np.float32), song()])
    found = compare_version(written(tmp_path, "a.wav", song()), written(tmp_path, "b.wav", late))
    assert found.offset_frames == 441
    assert "begins 441 samples late, nothing differs" in version_sentence(found, VersionKind.UNNAMED)


@pytest.mark.parametrize("other", [1, 2])
def test_another_recording_holds_nothing_of_it(tmp_path: Path, other: int) -> None:
    found = compare_version(written(tmp_path, "a.wav", song()), written(tmp_path, "b.wav", piece(other)[::-1].copy()))
    assert found.pieces == ()
    assert "another recording" in version_sentence(found, VersionKind.UNNAMED)


def test_kinds_are_read_from_names() -> None:
    named = {
        "Song (Instrumental)": VersionKind.INSTRUMENTAL, "Song_clean_48k": VersionKind.CLEAN, "TV Mix": VersionKind.TV,
        "A Cappella": VersionKind.A_CAPPELLA, "Radio Edit": VersionKind.EDIT, "Song 30s": VersionKind.EDIT,
        "Song": None, "Northern Remix": None, "Live in Oslo": None,
    }  # fmt: skip
    assert {text: kind_of(text) for text in named} == named


def test_declared_versions_are_remarked_on(tmp_path: Path) -> None:
    """By version_of, and by the title's own version; a remix is no version."""
    clean = song().copy()
    clean[round(11.2 * RATE) : round(11.6 * RATE)] = 0
    tracks = (
        Track(1, written(tmp_path, "1.wav", song()), "Song"),
        Track(2, written(tmp_path, "2.wav", clean), "Song", version="Clean"),
        Track(3, written(tmp_path, "3.wav", piece(1)), "Song", version="Remix"),
        Track(4, written(tmp_path, "4.wav", 0.5 * piece(0)), "Other title", version_of=1),
    )
    sources = take_in(tracks, None, 1)
    declared = [(one.track.position, main.track.position) for one, main in declared_versions(sources)]
    assert declared == [(2, 1), (4, 1)]
    first, second = version_remarks(sources)
    assert first == (
        "track 2 beside track 1: clean version: same length, same head, one place muted: 0:11.2 to 0:11.6."
    )
    assert second.startswith("track 4 beside track 1: version: same length, same head, differs only")


def test_a_version_is_compared_once_for_the_same_sound(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is kept is all that was found; another sound is compared anew, and so is another order."""
    clean = song().copy()
    clean[round(11.2 * RATE) : round(11.6 * RATE)] = 0
    files = written(tmp_path, "1.wav", song()), written(tmp_path, "2.wav", clean)
    tracks = Track(1, files[0], "Song"), Track(2, files[1], "Song", version="Clean")
    compared: list[tuple[str, str]] = []

    def counted(main: Path, other: Path) -> Version:
        compared.append((main.name, other.name))
        return compare_version(main, other)

    monkeypatch.setattr(versions, "compare_version", counted)
    with MeasurementCache(tmp_path / "ledger.db") as cache:
        sources = take_in(tracks, cache, 1)
        first = list(version_remarks(sources, cache))
        assert compared == [("1.wav", "2.wav")]
        assert list(version_remarks(sources, cache)) == first
        one, other = sources
        assert kept_version(one, other, cache) == compare_version(*files)
        assert compared == [("1.wav", "2.wav")]
        kept_version(other, one, cache)
        assert compared[1:] == [("2.wav", "1.wav")]
