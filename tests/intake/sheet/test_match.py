"""Rows find their files, or say why not; nothing is guessed."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from delivery.audio.blocks import SoundFacts
from delivery.intake.begin.file_names import guess
from delivery.intake.begin.masters import Master
from delivery.intake.sheet.match import LEAVE_OUT, Ask, Matched, match
from delivery.intake.sheet.row import Row


def master(name: str, seconds: float = 0.0, disc: int | None = None, **tags: str) -> Master:
    facts = SoundFacts(Path(name), "wav", "RIFF", "pcm", 48_000, 2, round(seconds * 48_000), 24, 1) if seconds else None
    return Master(name, disc, guess(Path(name).stem), tags, facts)


def row(number: int | None, title: str, **values: Any) -> Row:
    reported = {"number": number, "title": title, **values}
    return Row((number or 0) + 1, {key: value for key, value in reported.items() if value is not None}, {"title": "B2"})


def matched(rows: Sequence[Row], masters: Sequence[Master], ask: Ask | None = None) -> Matched:
    return match(rows, masters, "copy.csv", ask)


def names(found: Matched) -> list[str]:
    return [master.name for _, master in found.pairs]


def test_by_number_and_title() -> None:
    found = matched([row(1, "Low Water"), row(2, "Lamps")], [master("02 Lamps.wav"), master("01 Low Water.wav")])
    assert names(found) == ["01 Low Water.wav", "02 Lamps.wav"]
    assert found.remarks == found.faults == found.spare == ()


def test_by_title_alone_whatever_accents_case_and_dashes() -> None:
    found = matched(
        [row(None, "Øresund – för två"), row(None, "Été")], [master("ete.wav"), master("oresund for tva.wav")]
    )
    assert names(found) == ["oresund for tva.wav", "ete.wav"]


@pytest.mark.parametrize(
    "masters",
    [
        [master("Tuesday bounce.wav", title="Low Water"), master("Lamps.wav", title="Sketch four")],
        [master("Low Water.wav", title="Sketch four"), master("Tuesday bounce.wav", title="Lamps")],
        [master("Low Water.wav", title="Low Water demo"), master("Lamps.wav", title="Lamps")],
    ],
)
def test_the_better_of_a_files_tag_and_its_name_counts(masters: list[Master]) -> None:
    """Either may be left over from a session; what agrees with the sheet is the evidence."""
    found = matched([row(None, "Low Water"), row(None, "Lamps")], masters)
    assert names(found) == [one.name for one in masters]
    assert found.remarks == found.faults == found.spare == ()


def test_by_number_alone_where_files_have_no_titles() -> None:
    found = matched([row(1, "Low Water"), row(2, "Lamps")], [master("Track 01.wav"), master("Track 02.wav")])
    assert names(found) == ["Track 01.wav", "Track 02.wav"]
    found = matched([row(1, "Low Water"), row(2, "Lamps")], [master("01 master.wav"), master("02 master.wav")])
    assert names(found) == ["01 master.wav", "02 master.wav"]


def test_by_length_alone_is_enough_when_it_is_clear() -> None:
    rows = [row(None, "Low Water", duration=225.0), row(None, "Lamps", duration=250.0)]
    found = matched(rows, [master("a1.wav", 250.4, title=""), master("b7.wav", 225.2)])
    assert names(found) == []  # the names say something else, and length alone is weak
    assert len(found.faults) == 2
    found = matched(rows, [master("Audio 2.wav", 250.4), master("Audio 1.wav", 225.2)])
    assert names(found) == ["Audio 1.wav", "Audio 2.wav"]


def test_codes_outrank_names() -> None:
    rows = [row(1, "Low Water", isrc="ZZOSL2600001"), row(2, "Lamps", isrc="ZZOSL2600002")]
    found = matched(rows, [master("02 x.wav", isrc="ZZ-OSL-26-00001"), master("01 y ZZOSL2600002.wav")])
    assert names(found) == ["02 x.wav", "01 y ZZOSL2600002.wav"]
    assert "the file has the number 2" in found.remarks[0]


def test_the_sheets_order_counts_where_titles_are_sure() -> None:
    found = matched([row(1, "Lamps"), row(2, "Low Water")], [master("01 Low Water.wav"), master("02 Lamps.wav")])
    assert names(found) == ["02 Lamps.wav", "01 Low Water.wav"]
    assert found.remarks == (
        "2 files are matched with rows that differ: 02 Lamps.wav for row 2 ('Lamps'): the file has the number "
        "2; 01 Low Water.wav for row 3 ('Low Water'): the file has the number 1.",
    )


def test_a_misspelling_is_reported() -> None:
    found = matched([row(1, "The Arithmetic of Harbours")], [master("01 The Arithmetik of Harbours.wav")])
    assert names(found) == ["01 The Arithmetik of Harbours.wav"]
    assert "its title there is 'The Arithmetik of Harbours'" in found.remarks[0]


def test_versions_of_one_title() -> None:
    rows = [row(1, "Low Water"), row(2, "Low Water", version="Instrumental")]
    found = matched(rows, [master("Low Water (Instrumental).wav"), master("Low Water.wav")])
    assert names(found) == ["Low Water.wav", "Low Water (Instrumental).wav"]


def test_discs() -> None:
    rows = [row(1, "Low Water", disc=1), row(1, "Lamps", disc=2)]
    found = matched(rows, [master("CD2/01.wav", disc=2), master("CD1/01.wav", disc=1)])
    assert names(found) == ["CD1/01.wav", "CD2/01.wav"]
    found = matched(rows, [master("CD2/01 master.wav", disc=2), master("CD1/01 master.wav", disc=1)])
    assert names(found) == ["CD1/01 master.wav", "CD2/01 master.wav"]


def test_a_file_column_decides_alone() -> None:
    found = matched([row(1, "Low Water", file="takes\\B.WAV")], [master("01 Low Water.wav"), master("takes/b.wav")])
    assert names(found) == ["takes/b.wav"]
    assert [one.name for one in found.spare] == ["01 Low Water.wav"]


@pytest.mark.parametrize(
    ("rows", "masters", "text"),
    [
        # two takes of one song
        (
            [row(None, "Low Water")],
            ["Low Water.wav", "low_water.wav"],
            "found 2 files that may be it: Low Water.wav, low_water.wav",
        ),
        # more rows than files
        ([row(1, "Low Water"), row(2, "Lamps")], ["01 Low Water.wav"], "row 3 ('Lamps'): found no file left"),
        # right number, another song, nothing else to go by
        ([row(1, "Low Water")], ["01 Lamps.wav"], "row 2 ('Low Water'): found no matching file"),
        # two rows for one file
        (
            [row(None, "Low Water"), row(None, "low water")],
            ["Low Water.wav"],
            "found only Low Water.wav, a weak match",
        ),
    ],
)
def test_what_is_not_sure_is_refused(rows: list[Row], masters: list[str], text: str) -> None:
    found = matched(rows, [master(name) for name in masters])
    assert text in "\n".join(map(str, found.faults))
    assert all(fault.remedy for fault in found.faults)


def test_a_question_offers_the_likely_files_only() -> None:
    requested: list[tuple[str, Sequence[str]]] = []

    def answer(question: str, choices: Sequence[str]) -> int | None:
        requested.append((question, choices))
        return 1

    files = [master("Low Water.wav", 10), master("low_water.wav", 12), master("Lamps.wav", 9)]
    found = matched([row(1, "Low Water"), row(2, "Lamps")], files, answer)
    assert names(found) == ["low_water.wav", "Lamps.wav"]
    assert requested == [
        ("Which file is row 2 ('Low Water')?", ["Low Water.wav (0:10)", "low_water.wav (0:12)", LEAVE_OUT])
    ]


def test_none_of_them_is_an_answer() -> None:
    found = matched([row(1, "Low Water")], [master("a.wav")], lambda _question, _choices: None)
    assert names(found) == []
    assert len(found.faults) == 1


def test_a_master_of_another_length_is_another_master() -> None:
    """Same title but 40 s longer than another file of that title: the one that lasts as long is it."""
    files = [master("Low Water.wav", 265.0), master("low_water.wav", 225.3)]
    assert names(matched([row(1, "Low Water", duration=225.0)], files)) == ["low_water.wav"]
    assert names(matched([row(1, "Low Water", duration=225.0)], files[:1])) == ["Low Water.wav"]
    assert names(matched([row(1, "Lamps", duration=225.0)], [master("Track 1.wav", 265.0)])) == []


def test_a_clock_time_fits_by_either_of_its_meanings() -> None:
    rows = [row(1, "Long", duration=62.0, duration_or=3720.0), row(2, "Short", duration=225.0, duration_or=13500.0)]
    found = matched(rows, [master("Track 1.wav", 3720.5), master("Track 2.wav", 225.5)])
    assert names(found) == ["Track 1.wav", "Track 2.wav"]


def test_more_words_on_one_side_need_a_number_or_a_length_beside_them() -> None:
    long, short = "Tally of Lamps final master 2", "Tally of Lamps"
    assert names(matched([row(2, long)], [master("02 Tally of Lamps.wav")])) == ["02 Tally of Lamps.wav"]
    assert names(matched([row(2, short)], [master("02 Merrow Tally of Lamps v3.wav")])) == [
        "02 Merrow Tally of Lamps v3.wav"
    ]
    assert names(matched([row(None, short)], [master("Tally of Lamps Instrumental.wav")])) == []
    assert names(matched([row(2, "It")], [master("02 Let It Rain.wav")])) == []


def test_the_version_column_distinguishes_recordings_of_one_song() -> None:
    rows = [
        row(1, "Low Water"),
        row(2, "Low Water", version="Instrumental Version"),
        row(3, "Low Water (Radio Edit)"),
        row(4, "Low Water", version="Live at Saltmouth"),
    ]
    files = [
        master("Low Water Radio Edit MASTER v3.wav"),
        master("Low Water (Live at Saltmouth).wav"),
        master("Low Water INSTRUMENTAL v2.wav"),
        master("Low Water MASTER v2.wav"),
    ]
    found = matched(rows, files)
    assert names(found) == [files[at].name for at in (3, 2, 0, 1)]
    assert found.remarks == found.faults == ()


def test_another_version_is_another_recording() -> None:
    (fault,) = matched([row(None, "Low Water", version="Instrumental")], [master("Low Water (Radio Edit).wav")]).faults
    assert "row 1 ('Low Water', Instrumental): found no matching file" in str(fault)
    found = matched([row(1, "Low Water", version="Instrumental")], [master("01 Low Water.wav")])
    assert found.remarks == (
        "01 Low Water.wav is matched with row 2 ('Low Water', Instrumental), although its name does not contain "
        "'Instrumental'.",
    )


def test_studio_words_at_the_end_are_no_part_of_a_title() -> None:
    titles = ["Low Water", "Lamps", "Ledger", "Tally", "Quay", "Salt", "Rope", "Ebb", "Net", "Tar"]
    ends = [
        "MASTER v2",
        "master v1",
        "final",
        "bounce 2026-03-01",
        "24-96",
        "v7",
        "MASTER",
        "mix 3",
        "rev 2",
        "(final)",
    ]
    files = [master(f"{title} {end}.wav") for title, end in zip(titles, ends, strict=True)]
    found = matched([row(at, title) for at, title in enumerate(titles, start=1)], files)
    assert names(found) == [file.name for file in files]
    assert found.remarks == found.faults == ()


def test_a_row_is_left_out_by_one_answer() -> None:
    def leave(_question: str, choices: Sequence[str]) -> int | None:
        return choices.index(LEAVE_OUT)

    found = matched([row(1, "Low Water"), row(2, "Lamps")], [master("01 Low Water.wav")], leave)
    assert names(found) == ["01 Low Water.wav"]
    assert (found.faults, [one["title"] for one in found.without_file]) == ((), ["Lamps"])
    assert found.remarks == ("row 3 ('Lamps') has no file: left out.",)


def test_a_new_bounce_beside_a_known_file_is_one_question() -> None:
    rows, files = [row(None, "Low Water")], [master("Low Water v1.wav"), master("Low Water v2.wav")]
    known = {"Low Water v1.wav": {"title": "Low Water"}}
    (fault,) = match(rows, files, "copy.csv", None, known).faults
    assert "2 files that may be it: Low Water v1.wav, Low Water v2.wav" in str(fault)
    assert names(match(rows, files, "copy.csv", None, {**known, "Low Water v2.wav": {}})) == ["Low Water v1.wav"]
