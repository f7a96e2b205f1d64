"""Stems, versions, sections and audits in sentences: every number with its unit, and which way it differs."""

from __future__ import annotations

from dataclasses import replace

import pytest

from delivery.model.audit import Audit, AuditItem, AuditRow, CodeClash, Copy, Duplicates
from delivery.model.finding import Answer, Finding, Result, Weight
from delivery.model.sections import MeasuredSection, Section, SectionLevels, SectionSource, SongSections
from delivery.model.stem_check import StemCheck, StemFault
from delivery.model.version import Change, Piece, Place, Version, VersionKind
from delivery.report.view.audit import clash_sentence, copies_sentence, difference, open_musts, total_sentences
from delivery.report.view.sections import UNITS, sections_view, short_source_note, source_note
from delivery.report.view.stems import stem_sentences
from delivery.report.view.version import version_sentence

STEMS = StemCheck("Main.wav", ("drums.wav", "voice.wav"), 48_000, -80.0, unlike=("voice.wav is shorter.",))


def test_stems_that_add_up() -> None:
    assert stem_sentences(STEMS) == ("2 stems add up to Main.wav: residual -80.0 dB.", "voice.wav is shorter.")
    alone = replace(STEMS, stems=("drums.wav",), residual_db=-60.0, unlike=())
    assert stem_sentences(alone) == ("1 stem adds up to Main.wav: residual -60.0 dB.",)
    assert stem_sentences(replace(alone, residual_db=-3.0))[0].startswith("1 stem does not add up to Main.wav")
    silent = replace(STEMS, residual_db=None, unlike=())
    assert stem_sentences(silent) == ("Main.wav is silent: its 2 stems cannot be compared with it.",)


def test_stems_that_do_not_add_up_and_no_stem_explains_it() -> None:
    summary, why = stem_sentences(replace(STEMS, residual_db=-59.9, unlike=()))
    assert summary == "2 stems do not add up to Main.wav: residual -59.9 dB."
    assert why.startswith("No delay or level of one stem explains it: processing of the mix bus")


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        (StemFault("voice.wav", 48, 0.0, False), "voice.wav late by 48 samples (1.0 ms)"),
        (StemFault("voice.wav", -1, 0.0, False), "voice.wav early by 1 sample (0.0 ms)"),
        (StemFault("voice.wav", 0, 0.1, False), "voice.wav 0.1 dB too loud"),
        (StemFault("voice.wav", 0, -2.04, True), "voice.wav 2.0 dB too quiet and inverted in polarity"),
        (StemFault("voice.wav", 24, 0.09, True), "voice.wav late by 24 samples (0.5 ms) and inverted in polarity"),
    ],
)
def test_what_is_wrong_with_a_stem(fault: StemFault, said: str) -> None:
    check = replace(STEMS, residual_db=-12.0, unlike=(), faults=(fault,), mended_db=-90.1)
    assert stem_sentences(check) == (
        f"2 stems do not add up to Main.wav: residual -12.0 dB; {said}.",
        "After correction, nothing is left.",
    )
    left = stem_sentences(replace(check, mended_db=-90.0, faults=(fault, fault)))
    assert left[0].endswith(f"; {said}; {said}.")
    assert left[1] == "After correction, -90.0 dB is left."


SAME = Version(48_000, 480_000, 480_000, (Piece(0, 0, 480_000),), residual_db=-120.0)


def place(from_s: float, until_s: float, change: Change = Change.LESS) -> Place:
    return Place(change, from_s, until_s)


def said(version: Version, kind: VersionKind = VersionKind.INSTRUMENTAL) -> str:
    return version_sentence(version, kind)


def test_a_version_of_the_same_length() -> None:
    assert said(SAME) == "instrumental: same length, same head, nothing differs."
    assert said(replace(SAME, residual_db=-89.9)) == "instrumental: same length, same head, the same throughout."
    assert said(replace(SAME, residual_db=None)).endswith("the same throughout.")
    louder = replace(SAME, gain_db=0.05)
    assert said(louder) == "instrumental: same length, same head, 0.05 dB louder, nothing differs."
    assert "quieter" in said(replace(SAME, gain_db=-1.0))
    assert "dB" not in said(replace(SAME, gain_db=-0.049))
    nothing = replace(SAME, pieces=())
    assert said(nothing) == "instrumental: another recording, nothing of the main is found in it."


@pytest.mark.parametrize(
    ("other", "length"),
    [
        (480_001, "1 sample longer"),
        (479_521, "479 samples shorter"),
        (479_520, "9.990 s long, 0.010 s (480 samples) shorter"),
        (528_000, "11.000 s long, 1.000 s (48000 samples) longer"),
    ],
)
def test_a_version_of_another_length(other: int, length: str) -> None:
    assert said(replace(SAME, other_frames=other)) == f"instrumental: {length}, same head, nothing differs."


@pytest.mark.parametrize(
    ("piece", "head"),
    [
        (Piece(0, 12, 100), "begins 12 samples late"),
        (Piece(0, 1, 100), "begins 1 sample late"),
        (Piece(72_000, 0, 100), "begins 72000 samples into the main (0:01.500)"),
    ],
)
def test_where_a_version_begins(piece: Piece, head: str) -> None:
    assert said(replace(SAME, pieces=(piece,))) == f"instrumental: same length, {head}, nothing differs."


def test_an_edit_is_made_of_stretches() -> None:
    pieces = (Piece(0, 0, 48_000), Piece(96_000, 48_000, 48_000))
    edit = said(replace(SAME, pieces=pieces, other_frames=96_000), VersionKind.EDIT)
    assert "2 stretches of the main in this order: 0:00.000 to 0:01.000, 0:02.000 to 0:03.000" in edit
    assert "; cut at sample 48000, nothing differs" in edit
    many = tuple(Piece(96_000 * at, 48_000 * at, 48_000) for at in range(8))
    long = said(replace(SAME, pieces=many), VersionKind.EDIT)
    assert "8 stretches" in long
    assert "0:10.000 to 0:11.000 and 2 more; cut at sample 48000, 96000, 144000, 192000, 240000 and 288000" in long


def test_where_a_version_differs() -> None:
    less = replace(SAME, places=(place(1.0, 2.5),), same_share=0.9)
    assert said(less).endswith("differs only where the main has something more, such as the voice: 0:01.0 to 0:02.5.")
    more = replace(less, places=(place(1.0, 2.5, Change.MORE),))
    assert said(more).endswith("differs only where it has something more than the main: 0:01.0 to 0:02.5.")
    both = replace(less, places=(place(1.0, 2.5), place(3.0, 4.0, Change.MORE)))
    assert said(both).endswith("differs only in two places: 0:01.0 to 0:02.5, 0:03.0 to 0:04.0.")
    muted = replace(less, places=(place(1.0, 1.2, Change.MUTED), place(3.0, 4.0)))
    assert said(muted).endswith(
        "one place muted: 0:01.0 to 0:01.2, differs where the main has something more, such as the voice: "
        "0:03.0 to 0:04.0."
    )
    many = replace(less, places=tuple(place(float(at), at + 0.5, Change.MUTED) for at in range(11)))
    assert "11 places muted: 0:00.0 to 0:00.5, " in said(many)
    assert said(many).endswith("0:05.0 to 0:05.5 and 5 more.")
    part = replace(less, same_share=0.49, silent_share=0.256)
    assert said(part, VersionKind.A_CAPPELLA).endswith("a part of the main, silent for 26 % of it.")
    assert "a part of the main" not in said(replace(part, same_share=0.5))
    assert "a part of the main" not in said(replace(part, places=more.places))


QUIET = MeasuredSection(Section("verse", 0.0, 10.0), SectionLevels(-16.04, -3.0, -12.5, 14.0, 11.0))
LOUD = MeasuredSection(Section("chorus", 10.0, 20.0), SectionLevels(-12.5, -2.0, None, 10.0))


def test_sections_of_a_song() -> None:
    view = sections_view(SongSections("Low\tWater", SectionSource.STATED, (QUIET, LOUD)))
    assert view.title == "Low Water"
    assert view.opening == "Loudest: chorus (0:10.0, -12.5 LUFS), 3.5 LU above verse (0:00.0, -16.0 LUFS)."
    assert view.rows == (
        ("verse", "0:00.0", "-16.0", "", "-3.0", "-12.5", "14.0", "11.0"),
        ("chorus", "0:10.0", "-12.5", "+3.5", "-2.0", "mono", "10.0", "-"),
    )
    assert view.notes == ("Sections: stated in the release file.", UNITS)


def test_a_song_without_sections_or_with_one() -> None:
    one = sections_view(SongSections("One", SectionSource.FOUND, (QUIET,)))
    assert one.opening == "One section, verse (0:00.0, -16.0 LUFS)."
    none = sections_view(SongSections("One", SectionSource.FOUND, ()))
    assert (none.opening, none.rows, none.notes) == ("No sections: too short, or alike throughout.", (), ())
    unread = sections_view(SongSections("One", SectionSource.FOUND, (QUIET,), problem="no such file"))
    assert (unread.opening, unread.rows) == ("no such file", ())


def test_how_sections_came_about() -> None:
    assert source_note(SectionSource.FOUND).endswith(
        "(checkerboard novelty on a self-similarity matrix; Foote, 2000). State your own as 'sections' of the track in "
        "release.yaml."
    )
    assert short_source_note(SectionSource.STATED) == "Sections: stated in the release file."
    assert short_source_note(SectionSource.FOUND).endswith("(Foote, 2000), unless release.yaml has them.")


AUDIT = Audit(("/m",), ("cd",), 1_200, 0, 0, {}, (), (), (), (), (), 3_660.0, 0)


def test_an_audit_that_found_nothing() -> None:
    assert total_sentences(AUDIT) == (
        "1200 files, 1 h 1 min of music.",
        "No recording is there more than once.",
        "No ISRC is on two recordings, and no recording has two.",
    )
    assert total_sentences(replace(AUDIT, files=1, duration_s=29.6))[0] == "1 file, 30 s of music."
    assert total_sentences(replace(AUDIT, duration_s=1_500.0))[0] == "1200 files, 25 min of music."


def test_an_audit_that_found_something() -> None:
    results = {"cd": {Result.READY: 3, Result.REMARKS: 1_000, Result.NOT_READY: 2}, "lp": {}}
    groups = (Duplicates((Copy("a"), Copy("b"), Copy("c"))), Duplicates((Copy("d"), Copy("e"))))
    clashes = (
        CodeClash(("ZZOSL2600001",), ("a", "d")),
        CodeClash(("ZZOSL2600002", "ZZOSL2600003"), ("a", "b")),
        CodeClash(("ZZOSL2600004", "ZZOSL2600005"), ("d", "e")),
    )
    audit = replace(AUDIT, results=results, unreadable=1, duplicates=groups, clashes=clashes)
    assert total_sentences(audit)[1:] == (
        "cd: 1,003 ready as they are, 2 not.",
        "lp: 0 ready as they are, 0 not.",
        "1 file could not be read.",
        "2 recordings more than once, in 5 files.",
        "ISRCs: 1 on several recordings; 2 recordings with several.",
    )
    assert clash_sentence(clashes[0]) == "ISRC ZZ-OSL-26-00001 is on 2 recordings: a; d"
    assert clash_sentence(clashes[1]) == "One recording has 2 ISRCs, ZZ-OSL-26-00002, ZZ-OSL-26-00003: a; b"


@pytest.mark.parametrize(
    ("copy", "words"),
    [
        (Copy("b"), "the same samples"),
        (Copy("b", exact=False), "the same recording"),
        (Copy("b", exact=False, offset_s=0.5), "the same recording"),
        (Copy("b", False, 0.05, -6.0), "0.05 s later, 6.0 dB quieter"),
        (Copy("b", False, -0.5, 1.0), "0.50 s earlier, 1.0 dB louder"),
        (Copy("b", False, 0.0, 3.0), "3.0 dB louder"),
        (Copy("b", False, 0.0, 0.0), "other samples, same level and start"),
        (Copy("b", False, 0.004, -0.04), "other samples, same level and start"),
        (Copy("b", False, -0.006, 0.06), "0.01 s earlier, 0.1 dB louder"),
    ],
)
def test_how_a_copy_differs(copy: Copy, words: str) -> None:
    """A difference that would be printed as nought is none."""
    assert difference(copy) == words
    assert copies_sentence(Duplicates((Copy("a"), copy, copy))) == f"One recording: a; b ({words}); b ({words})"


def test_what_keeps_an_audited_file_from_being_ready() -> None:
    peak = Finding("true_peak_max_dbtp", "cd", 1, Answer.NOT_MET, True, Weight.FACT, "-0.2 dBTP", "at most -1 dBTP")
    findings = (
        peak,
        replace(peak, spec="lp"),
        replace(peak, must=False, found="-0.3 dBTP"),
        Finding("integrated_lufs", "cd", 1, Answer.NOT_MEASURED, True, Weight.FACT, why="too short"),
    )
    row = AuditRow(AuditItem("a", "/m/a"), "A", findings=findings)
    assert open_musts(row) == (
        "true_peak_max_dbtp: found -0.2 dBTP, wanted at most -1 dBTP",
        "integrated_lufs: not measured (too short)",
    )
