"""Writers, works, places and samples of a release file: read whole, or refused with line, found, wanted, remedy."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.errors import Faulty
from delivery.intake import load_release, load_studio
from delivery.model.release import Credit, Sample, Track, Writer
from tests.intake.releases import release_file, with_tracks

WHOLE = """\
writers:
  - name: Ilse Merrow
    roles: [composer, lyricist]
    share_percent: 60
    publisher: Quayside Songs
    society: SALT
    ipi: 000-14107338
  - {name: Tam Varrick, share_percent: 40}
composers: [Ada Quay]
publishers: [Other Songs]
credits: [{name: Tam Varrick, role: Producer}]
iswc: T-034.524.680-1
title_language: pt
bpm: 92
key: D minor
original_artist: Low Lantern
recording_studio: Saltmouth Chapel
recording_country: PT
recording_year: 2025
preview_start_s: 45
samples:
  - {of: "Low Lantern: Tally Sticks", cleared: true, by: Letter}
  - {of: "Ada: Buoy", cleared: false}
"""


def track(folder: Path, more: str) -> Track:
    return load_release(release_file(folder, with_tracks(more))).tracks[0]


def test_every_key_of_a_track(tmp_path: Path) -> None:
    one = track(tmp_path, WHOLE)
    assert one.writers == (
        Writer("Ilse Merrow", ("composer", "lyricist"), 60.0, "Quayside Songs", "SALT", "00014107338"),
        Writer("Tam Varrick", ("composer",), 40.0),
    )
    assert (one.composers, one.lyricists) == (("Ada Quay", "Ilse Merrow", "Tam Varrick"), ("Ilse Merrow",))
    assert one.publishers == ("Other Songs", "Quayside Songs")
    assert one.credits == (Credit("Tam Varrick", "producer"),)
    assert (one.iswc, one.title_language, one.bpm, one.key) == ("T0345246801", "pt", 92.0, "D minor")
    assert (one.text("original_artist"), one.recording_studio, one.recording_country) == (
        "Low Lantern",
        "Saltmouth Chapel",
        "PT",
    )
    assert (one.recording_year, one.preview_start_s) == (2025, 45.0)
    assert one.samples == (Sample("Low Lantern: Tally Sticks", True, "Letter"), Sample("Ada: Buoy", False))


def test_not_stated_is_another_thing_than_none(tmp_path: Path) -> None:
    assert track(tmp_path, "isrc: ZZOSL2600001").samples is None
    assert track(tmp_path, "samples: []").samples == ()


def test_tracks_inherit_values_of_the_release(tmp_path: Path) -> None:
    text = with_tracks("credits: [{name: Ada, role: mixer}]\nrecording_year: 1999", "explicit: no")
    head = (
        "recording_studio: Chapel\nrecording_country: JP\nrecording_year: 2024\ncredits: [{name: Bo, role: producer}]\n"
    )
    release = load_release(release_file(tmp_path, head + "territories: [Worldwide]\nsubgenre: Sea songs\n" + text))
    one, two = release.tracks
    assert (one.recording_studio, one.recording_year, one.credits) == ("Chapel", 1999, (Credit("Ada", "mixer"),))
    assert (two.recording_country, two.recording_year, two.credits) == ("JP", 2024, (Credit("Bo", "producer"),))
    assert (release.territories, release.subgenre) == (("worldwide",), "Sea songs")


def test_codes_with_a_wrong_check_digit_are_read_unchanged(tmp_path: Path) -> None:
    """They circulate; rules remark on them (ISO 15707, ISO 27729, IPI)."""
    more = "iswc: T-034.524.680-2\nwriters: [{name: Ilse Merrow, ipi: '00014107339'}]"
    head = "isni: [{name: Ilse Merrow, code: 0000 0001 2281 9551}]\n"
    release = load_release(release_file(tmp_path, head + with_tracks(more)))
    assert release.tracks[0].iswc == "T0345246802"
    assert release.tracks[0].writers[0].ipi == "00014107339"
    assert release.isni_of("Ilse Merrow") == "0000000122819551"


@pytest.mark.parametrize(
    ("entry", "sentence"),
    [
        (
            "{name: Ilse Merow, code: 000000012281955X}",
            "isni 1 name: found 'Ilse Merow', a name that .*Write 'Ilse Merrow'",
        ),
        (
            "{name: Nobody, code: 000000012281955X}",
            "found 'Nobody', a name that the release does not have.*take the entry out",
        ),
        ("{name: Ilse Merrow, code: 0001 2281 955X}", "isni 1 code: found '0001 2281 955X', wanted 16 characters"),
        ("{name: Ilse Merrow}", "isni 1: found no 'code'"),
        (
            "{name: Ilse Merrow, code: 000000012281955X}, {name: Ilse Merrow, code: 0000000029534656}",
            "isni 2 name: found 'Ilse Merrow' a second time",
        ),
    ],
)
def test_whom_a_name_means(tmp_path: Path, entry: str, sentence: str) -> None:
    """A code without its bearer, or two for one, is a fault with its line."""
    text = f"isni: [{entry}]\n" + with_tracks("composers: [Ilse Merrow]")
    with pytest.raises(Faulty, match=sentence):
        load_release(release_file(tmp_path, text))


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        (
            "iswc: T-034.524.68",
            r"release\.yaml:5 tracks 1 iswc: found 'T-034.524.68', wanted T and 10 digits.*has 9 characters",
        ),
        (
            "writers: [{name: A B, ipi: '0001410733'}]",
            r"tracks 1 writers 1 ipi: found '0001410733', wanted 11 digits.*has 10 characters",
        ),
        ("writers: [{name: A B, share_percent: 101}]", r"share_percent: found the number 101, wanted .*100"),
        ("writers: [{share_percent: 100}]", r"tracks 1 writers 1.*name"),
        ("writers: [{name: A B, roles: [writer]}]", r"roles 1: found 'writer', wanted"),
        ("recording_country: UK", r"recording_country: found 'UK', wanted a country.*Write GB"),
        ("recording_country: Portugal", r"found 'Portugal'.*Write PT for Portugal"),
        ("recording_country: XQ", r"found 'XQ'.*two letters of ISO 3166-1"),
        ("recording_year: 26", r"recording_year: found the number 26"),
        ("samples: [{of: X}]", r"tracks 1 samples 1.*cleared"),
        ("title_language: Harbourish", r"title_language: found 'Harbourish', wanted a language code"),
        ("bpm: 0", r"bpm: found the number 0"),
    ],
)
def test_what_is_wrong_is_reported_with_its_line(tmp_path: Path, more: str, sentence: str) -> None:
    with pytest.raises(Faulty, match=sentence):
        track(tmp_path, more)


def test_a_territory_that_is_none(tmp_path: Path) -> None:
    with pytest.raises(Faulty, match=r"release\.yaml:1 territories 1: found 'Europe', wanted worldwide, or a country"):
        load_release(release_file(tmp_path, "territories: [Europe]\n" + with_tracks("explicit: no")))


def test_spellings_accepted_in_the_studio_file(tmp_path: Path) -> None:
    (tmp_path / "studio.yaml").write_text(
        "accepted_titles:\n  - {artist: Merrow, titles: [lOW wATER, X]}\n", encoding="utf-8"
    )
    assert load_studio(tmp_path).accepted_titles == {"Merrow": ("lOW wATER", "X")}
