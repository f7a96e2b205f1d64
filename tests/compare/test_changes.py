"""Differences between two data documents: each kind by itself, and nothing where nothing differs."""

from __future__ import annotations

import copy
from collections.abc import Callable
from dataclasses import fields
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile as sf

from delivery.compare.changes import _tone, changes
from delivery.model.changes import About, Audio, Changes
from delivery.model.release import Release, Track
from delivery.pipeline import Options, check, resolve_request
from delivery.report.data.document import document
from delivery.report.data.release import production, release_copy, track_copy
from delivery.report.view.changes import changes_lines, headline
from tests.albums import Song, sound, write_album

Document = dict[str, Any]
RATE_HZ = 44_100
TITLES = ("Low Water", "Tally of Lamps", "Salt Ledger", "Glass Tide")


@pytest.fixture(scope="module")
def album(tmp_path_factory: pytest.TempPathFactory) -> Path:
    songs = [Song(title, RATE_HZ, 4.0, -20.0, seed=at) for at, title in enumerate(TITLES, start=1)]
    return write_album(tmp_path_factory.mktemp("album"), songs, ["store-master-24", "cd-rate-16"])


@pytest.fixture(scope="module")
def before(album: Path) -> Document:
    return document(check(resolve_request(album), Options()))


def said(before: Document, after: Document) -> tuple[str, ...]:
    found = changes(before, after)
    return headline(found), *changes_lines(found)


def with_change(before: Document, change: Callable[[Document], Any]) -> Document:
    after = copy.deepcopy(before)
    change(after)
    return after


def test_nothing_differs_from_itself_or_from_another_number_of_the_revision(before: Document) -> None:
    after = with_change(before, lambda told: told["release"].update(revision=2))
    assert changes(before, after).nothing
    assert said(before, after) == ("Nothing has changed since revision 1.",)


def set_track(at: int, **values: Any) -> Callable[[Document], None]:
    return lambda told: told["sources"][at].update(values)


def set_release(**values: Any) -> Callable[[Document], None]:
    return lambda told: told["release"].update(values)


WAIVER = {"rule": "tail_s", "by": "A. Moreau", "why": "hidden track", "track": 3, "spec": None}
APPROVAL = {"by": "Imke Sandvoort", "date": "2026-05-12", "audio_hashes": ["ab"], "holds": True, "says": "..."}
KINDS = [
    (set_track(1, title="Zebra"), About.TITLES, "Track 2, Zebra: Title now Zebra (was Tally of Lamps)."),
    (set_track(0, version="Edit"), About.TITLES, "Track 1, Low Water (Edit): Version now Edit (was not stated)."),
    (set_release(title="Other"), About.TITLES, "Title now Other (was Harbour Arithmetic)."),
    (
        set_track(2, isrc="ZZOSL2600009"),
        About.CODES,
        "Track 3, Salt Ledger: ISRC now ZZ-OSL-26-00009 (was ZZ-OSL-26-00003).",
    ),
    (set_release(upc="2000000140025"), About.CODES, "UPC / EAN now 2000000140025 (was 2000000140018)."),
    (
        set_track(0, composers=["Odile Merrow", "Tam Varrick"]),
        About.CREDITS,
        "Track 1, Low Water: Composers: added Tam Varrick.",
    ),
    (set_track(3, gap_before_s=2.5), About.GAPS, "Track 4, Glass Tide: Gap before now 2.5 s (was not stated)."),
    (set_release(p_line="2026 Ostrelune"), About.LABEL_COPY, "℗ now 2026 Ostrelune (was not stated)."),
    (
        set_release(waivers=[WAIVER]),
        About.WAIVERS,
        "Waiver added: track 3, tail_s, A. Moreau, hidden track.",
    ),
    (
        set_release(approval=APPROVAL),
        About.APPROVAL,
        "Approval: Imke Sandvoort, 2026-05-12, of these masters (was: none).",
    ),
    (
        set_release(approval={**APPROVAL, "holds": False, "tracks": ["1", "2", "3", "5"]}),
        About.APPROVAL,
        "Approval: Imke Sandvoort, 2026-05-12, of tracks 1 to 3, 5 (was: none).",
    ),
    (
        lambda told: told["specs"][1].update(edition="2"),
        About.SPECS,
        "Spec cd-rate-16: edition 2 (was not stated).",
    ),
    (
        lambda told: told["specs"].pop(0),
        About.SPECS,
        "Spec store-master-24: no longer in this delivery (Store master, 24 bit).",
    ),
    (
        lambda told: told["specs"][0].update(digest="0" * 64),
        About.SPECS,
        "Spec store-master-24: other contents, digest 00000000 (was ",
    ),
    (lambda told: told["program"].update(version="9.9"), About.PROGRAM, "Made by version 9.9 of the program (was "),
    (lambda told: told["studio"].update(engineer="T. Wren"), About.STUDIO, "Studio, Engineer now T. Wren (was "),
    (
        set_track(1, production={"band": False}),
        About.LABEL_COPY,
        "Track 2, Tally of Lamps: Values for discs, records and masters now no (was not stated).",
    ),
]


@pytest.mark.parametrize(("change", "about", "sentence"), KINDS, ids=[sentence[:40] for _, _, sentence in KINDS])
def test_each_kind_of_change_is_one_value_and_one_sentence(
    before: Document, change: Callable[[Document], Any], about: About, sentence: str
) -> None:
    after = with_change(before, change)
    found = changes(before, after)
    assert [value.about for value in found.values] == [about]
    assert not found.new_audio
    assert headline(found) == "Compared with revision 1: same audio, 1 change."
    (line,) = changes_lines(found)
    assert line.startswith(sentence)


def test_order_with_added_and_removed_tracks(before: Document) -> None:
    def reorder(told: Document) -> None:
        one, two, _, four = told["sources"]
        told["sources"] = [two, one, four]
        for number, source in enumerate(told["sources"], start=1):
            source.update(track=number, number=number)

    assert said(before, with_change(before, reorder)) == (
        "Compared with revision 1: 1 track left out and 3 tracks with another number.",
        "Tracks 1 to 3: same samples.",
        "Track 3, Salt Ledger: no longer on the release.",
        "Track numbers: 1 Tally of Lamps (was 2), 2 Low Water (was 1), 3 Glass Tide (was 4).",
    )


def remeasured(album: Path, changed: np.ndarray[Any, np.dtype[np.float64]], tmp_path: Path) -> Document:
    """The album again with other audio for track 1."""
    folder = tmp_path / "masters"
    folder.mkdir()
    for file in album.parent.iterdir():
        (folder / file.name).write_bytes(file.read_bytes())
    sf.write(folder / "01 Low Water.wav", changed, RATE_HZ, subtype="PCM_24")
    return document(check(resolve_request(folder / "release.yaml"), Options()))


MASTER = sound(Song(TITLES[0], RATE_HZ, 4.0, -20.0, seed=1))


def bass(x: np.ndarray[Any, np.dtype[np.float64]]) -> np.ndarray[Any, np.dtype[np.float64]]:
    """3 dB more up to the upper edge of the third-octave band at 80 Hz (IEC 61260-1: 89.1 Hz), by its spectrum."""
    spectrum = np.fft.rfft(x, axis=0)
    spectrum[np.fft.rfftfreq(len(x), 1 / RATE_HZ) < 89.1] *= 10 ** (3 / 20)
    return np.fft.irfft(spectrum, len(x), axis=0) * (x != 0)  # silence stays silence


SILENCE = np.zeros((RATE_HZ // 4, 2))
AUDIO = [
    (MASTER * 10 ** (-0.8 / 20), "0.8 dB quieter"),
    (np.concatenate([SILENCE, MASTER]), "0.250 s longer, 0.25 s more silence at the beginning"),
    (np.concatenate([MASTER, SILENCE]), "0.250 s longer, 0.25 s more silence at the end"),
    (bass(MASTER), "other tone at equal loudness (+3.0 dB below 80 Hz)"),
    (np.ascontiguousarray(MASTER[:, ::-1]), "other samples; level, length, beginning, end and tone as before"),
]


@pytest.mark.parametrize(("changed", "says"), AUDIO, ids=[says for _, says in AUDIO])
def test_audio_changes_are_reported(
    album: Path, before: Document, tmp_path: Path, changed: np.ndarray[Any, np.dtype[np.float64]], says: str
) -> None:
    """The change that was made to the samples is the change reported, to the digit."""
    assert said(before, remeasured(album, changed, tmp_path)) == (
        "Compared with revision 1: 1 track with new audio.",
        f"Track 1, Low Water: {says}.",
        "Tracks 2 to 4: same samples.",
    )


def spectrum(upper_db: float, duration_s: float, lead_in_s: float = 0.0, error_db: float = 0.3) -> Document:
    """A source with two bands, one of them above 10 kHz."""
    figures = {
        "audio_hash": f"{upper_db} {duration_s}",
        "duration_s": duration_s,
        "lead_in_s": lead_in_s,
        "third_octave_hz": [1_000.0, 12_589.0],
        "third_octave_re_loudness_db": [-10.0, upper_db],
        "third_octave_se_db": [0.1, error_db],
    }
    return {"measured": {"figures": figures}}


@pytest.mark.parametrize(
    ("upper_db", "duration_s", "lead_in_s", "found"),
    [
        (-29.4, 45.0, 0.0, [0.6]),
        (-29.4, 45.0, 0.02, [0.6]),  # a fade at another level
        (-29.4, 45.0, 0.3, []),  # later by what was cut off at the end
        (-29.4, 46.5, 0.0, []),
        (-28.9, 46.5, 0.0, [1.1]),
        (-29.6, 45.0, 0.0, []),
    ],
)
def test_a_change_of_tone_is_larger_than_what_another_length_makes_uncertain(
    upper_db: float, duration_s: float, lead_in_s: float, found: list[float]
) -> None:
    """Twice the error of a difference of two levels of 0.3 dB each is 0.85 dB; files of one length have none."""
    tone = _tone(spectrum(-30.0, 45.0), spectrum(upper_db, duration_s, lead_in_s))
    assert [round(band.change_db, 3) for band in tone] == found


def test_a_fade_at_another_level_is_no_other_silence() -> None:
    """The same fade crosses the threshold of silence 10 ms earlier when all of it is 0.9 dB quieter."""
    turned_down = Audio("1", "Low Water", same_samples=False, level_db=-0.9, tail_s=0.011)
    cut = Audio("1", "Low Water", same_samples=False, level_db=0.0, tail_s=0.011)
    assert [changes_lines(Changes("revision 1", "2", audio=(audio,))) for audio in (turned_down, cut)] == [
        ("Track 1, Low Water: 0.9 dB quieter.",),
        ("Track 1, Low Water: 0.01 s more silence at the end.",),
    ]


def test_the_same_samples_in_another_file_are_named(before: Document) -> None:
    after = with_change(before, set_track(2, sha256="0" * 64))
    assert not changes(before, after).nothing
    assert "Track 3: same samples in another file (header, chunks or tags)." in said(before, after)


def test_every_value_of_a_release_and_its_tracks_is_compared() -> None:
    """What a release file states and the document leaves out would be 'nothing changed'."""
    release = Release(Path("release.yaml"), "Title", "Artist", ())
    track = Track(1, Path("One.wav"), "One")
    elsewhere = {
        "path", "tracks", "artwork", "deliver_to", "approval", "approved_by", "outdated", "lines", "to_confirm",
        "texts", "identities", "credits", "track_count",
    }  # fmt: skip
    kept = set(release_copy(release)) | set(_names_of(release))
    assert {field.name for field in fields(Release) if field.init} - kept <= elsewhere
    kept = set(track_copy(track)) | set(_names_of(track))
    assert {field.name for field in fields(Track)} - kept <= {"position", "file", "to_confirm", "texts"}


def _names_of(stated: Release | Track) -> set[str]:
    """Names that `production` can give: it gives those whose value is no longer the default."""

    changed = copy.copy(stated)
    for field in fields(stated):
        object.__setattr__(changed, field.name, "stated")
    return set(production(changed))
