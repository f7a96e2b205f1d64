"""The files of a delivery in rows: what each is, whether it was written, and why not."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from delivery import figures
from delivery.model.carrier import Carrier, Programme
from delivery.model.chain import Chain, Target
from delivery.model.figure import Measurement, Reading
from delivery.model.finding import Answer, Finding, Weight
from delivery.model.part import Delivery, Image, Part, Shipped, TagReport
from delivery.model.release import Release, Studio, Track
from delivery.model.source import Source
from delivery.model.spec import Spec
from delivery.report.view.elements import Verdict
from delivery.report.view.finding_rows import Notice
from delivery.report.view.groups import by_rule, groups_of, sentence_of
from delivery.report.view.parts import (
    AS_IT_IS,
    DUAL_MONO,
    REFERENCE,
    ReportContext,
    format_of,
    judged_by,
    part_verdict,
    results,
    route,
    table,
    total_size,
)

DAY = date(2026, 11, 25)
TRACKS = (Track(1, Path("1.wav"), "One", isrc="ZZOSL2600001"), Track(2, Path("2.wav"), "Two", 2, version="Live"))
RELEASE = Release(Path("release.yaml"), "Album", "Merrow", TRACKS)
SPEC = Spec("cd", "A disc", "For the plant.", DAY, ())
PCM = Target("wav", "pcm", 44_100, 2, 24)
FACT = Finding("isrc", "cd", 1, Answer.NOT_MET, True, Weight.FACT)


def shipped(name: str = "01 One.wav", channels: int = 2, size_bytes: int = 1_000_000) -> Shipped:
    measured = {"duration_s": 225.5, "true_peak_dbtp": -1.25, "integrated_lufs": -14.0, "channels": channels}
    readings = {figure: Reading(value) for figure, value in measured.items()}
    return Shipped(f"data/cd/{name}", size_bytes, "ab" * 32, "cd" * 16, Measurement(readings), TagReport({}))


WRITTEN = Part("cd", 1, Chain((), PCM), (), "01 One.wav", shipped())
PLANNED = Part("cd", 2, Chain((), PCM), (), "02 Two.wav")


def delivery(*parts: Part, spec: Spec = SPEC, built: bool = True, images: tuple[Image, ...] = ()) -> Delivery:
    sources = tuple(Source(track, None) for track in TRACKS)
    return Delivery(RELEASE, Studio(), (spec,), sources, parts, built=built, images=images)


def context(whole: Delivery) -> ReportContext:
    return ReportContext(whole, figures())


def test_a_written_and_a_planned_file() -> None:
    one, two = table(context(delivery(WRITTEN, PLANNED)), SPEC).rows
    assert (one.number, one.position, one.file, one.purpose, one.format) == (
        "1", 1, "01 One.wav", "A disc", "24-bit 44.1 kHz WAV",
    )  # fmt: skip
    assert [str(amount) for amount in (one.length, one.true_peak, one.loudness)] == [
        "3:45.500", "-1.25 dBTP", "-14.0 LUFS",
    ]  # fmt: skip
    assert (one.checksum, one.sha256, one.md5, one.size_bytes) == ("abababab", "ab" * 32, "cd" * 16, "1000000")
    assert (one.title, one.isrc, str(one.verdict)) == ("One", "ZZ-OSL-26-00001", "ready")
    assert (two.file, two.title, two.isrc, two.checksum) == ("02 Two.wav", "Two (Live)", "not supplied", "not written")
    assert [str(amount) for amount in (two.length, two.true_peak, two.loudness)] == ["–", "–", "–"]
    assert not any(amount.exists for amount in (two.length, two.true_peak, two.loudness))
    assert (two.sha256, two.md5, two.size_bytes) == ("", "", "")


@pytest.mark.parametrize(
    ("part", "built", "checksum"),
    [
        (replace(PLANNED, problem="the disk is full"), True, "refused"),
        (replace(PLANNED, problem="the disk is full"), False, "not written"),
        (replace(PLANNED, findings=(replace(FACT, track=2),)), True, "refused"),
        (replace(PLANNED, findings=(replace(FACT, answer=Answer.WAIVED),)), True, "not written"),
    ],
)
def test_why_there_is_no_file(part: Part, built: bool, checksum: str) -> None:
    (row,) = table(context(delivery(part, built=built)), SPEC).rows
    assert row.checksum == checksum


def test_a_file_that_has_no_name_and_no_form() -> None:
    (row,) = table(context(delivery(Part("cd", 1, None, (), problem="no such file"))), SPEC).rows
    assert (row.file, row.format, str(row.verdict)) == ("no file", "–", "unusable")


def test_a_listening_copy_is_marked() -> None:
    found = table(context(delivery(WRITTEN)), replace(SPEC, reference_only=True, title=""))
    assert found.rows[0].purpose == f"cd, {REFERENCE}"
    assert found.notes == (f"These files are marked '{REFERENCE}'.",)
    assert (found.title, found.about, found.folder) == ("cd", "For the plant.", "data/cd")


def test_how_the_loudness_of_mono_files_is_counted() -> None:
    mono = delivery(replace(WRITTEN, shipped=shipped(channels=1)))
    assert table(context(mono), SPEC).notes == (AS_IT_IS,)
    doubled = table(context(mono), replace(SPEC, dual_mono=True))
    assert doubled.notes == (DUAL_MONO,)
    assert str(doubled.rows[0].loudness) == "-11.0 LUFS", "two equal loudspeakers are 3.01 LU louder than one"
    assert table(context(delivery(WRITTEN)), SPEC).notes == ()


def test_the_edition_that_was_used() -> None:
    assert judged_by(SPEC) == "cd, checked 2026-11-25"
    whole = replace(SPEC, edition="3", lineage=("base", "more"), digest="0123456789")
    assert judged_by(whole) == "cd, edition 3, based on base, more, checked 2026-11-25, digest 01234567"


@pytest.mark.parametrize(
    ("findings", "said"),
    [
        ((), "ready"),
        ((FACT, FACT), "not ready (2 not met)"),
        ((FACT, replace(FACT, answer=Answer.NOT_MEASURED)), "not ready (1 not met, 1 not measured)"),
        ((replace(FACT, answer=Answer.WAIVED), replace(FACT, must=False)), "ready with remarks (1 waived, 1 to note)"),
        ((replace(FACT, weight=Weight.WEAK_SIGN),), "ready with remarks (1 to note)"),
        ((replace(FACT, answer=Answer.ACCEPTED), replace(FACT, answer=Answer.MET)), "ready"),
    ],
)
def test_the_result_of_a_file_with_the_rules_behind_it(findings: tuple[Finding, ...], said: str) -> None:
    assert str(part_verdict(replace(WRITTEN, findings=findings))) == said


def test_a_file_that_could_not_be_made_counts_no_rules() -> None:
    assert str(part_verdict(replace(WRITTEN, findings=(FACT,), problem="no disk"))) == "unusable"


@pytest.mark.parametrize(
    ("target", "said"),
    [
        (Target("mp3", "mp3", 44_100, 2, None, 320), "320 kbit/s 44.1 kHz MP3"),
        (Target("mp3", "mp3", 48_000, 1, None, None, 0), "VBR V0 48 kHz MP3 mono"),
        (Target("wav", "float", 96_000, 6, 32), "32-bit 96 kHz float WAV 6 channels"),
        (Target("w64", "pcm", 44_100, 2, 24), "24-bit 44.1 kHz W64"),
        (Target("ogg", "vorbis", 44_100, 2, None), "44.1 kHz Vorbis Ogg"),
    ],
)
def test_the_form_of_a_file(target: Target, said: str) -> None:
    assert format_of(target) == said


def test_what_goes_where() -> None:
    found = route(context(delivery(WRITTEN, PLANNED)), SPEC)
    assert (found.title, found.folder, found.files, found.size, found.note) == (
        "A disc", "data/cd", "1 of 2 files", "1.00 MB", "",
    )  # fmt: skip
    assert str(found.verdict) == "ready"
    all_of_it = route(context(delivery(WRITTEN)), replace(SPEC, reference_only=True))
    assert (all_of_it.files, all_of_it.note) == ("1 file", REFERENCE)
    checked = route(context(delivery(PLANNED, PLANNED, built=False)), SPEC)
    assert (checked.files, checked.folder, checked.size) == ("2 files planned", "cd", "")
    refused = route(context(delivery(PLANNED)), SPEC)
    assert refused.files == "0 of 1 file"


def test_the_result_of_a_recipient() -> None:
    bad = replace(PLANNED, findings=(FACT,))
    of_release = (replace(FACT, track=None), replace(FACT, track=None, spec="lp"), replace(FACT, must=False))
    whole = replace(delivery(WRITTEN, bad), findings=of_release)
    assert str(route(context(whole), SPEC).verdict) == ("not ready (1 of 2 files ready; the release itself: 1 fault)")
    remarked = delivery(replace(WRITTEN, findings=(replace(FACT, must=False),)))
    assert str(route(context(remarked), SPEC).verdict) == "ready with remarks"


def test_how_much_was_written() -> None:
    assert total_size(delivery(WRITTEN, WRITTEN)) == "2 files, 2.00 MB"
    assert total_size(delivery(PLANNED)) == ""


def test_songs_against_recipients() -> None:
    """A recipient who does not receive a song has no result for it."""
    store = replace(SPEC, id="store", title="A store")
    bad, remarked = replace(PLANNED, findings=(FACT,)), replace(WRITTEN, findings=(replace(FACT, must=False),))
    whole = replace(delivery(remarked, bad, replace(WRITTEN, spec="store")), specs=(SPEC, store, replace(SPEC, id="x")))
    found = results(context(whole))
    assert found.columns == ("A disc", "A store")
    assert [(number, title, [one and one.word for one in row]) for number, title, row in found.rows] == [
        ("1", "One", ["remarks", "ready"]), ("2", "Two (Live)", ["not ready", None]),
    ]  # fmt: skip


CARRIER = Carrier("vinyl")
SIDE = Programme("cd", "A", CARRIER, CARRIER.pressing, 44_100, (), 44_100 * 90, 0)


def test_a_side_in_a_row() -> None:
    spec = replace(SPEC, carrier=CARRIER)
    image = Image(SIDE, PCM, "side A.wav", shipped=shipped("side A.wav"))
    (row,) = table(context(delivery(spec=spec, images=(image,))), spec).rows
    assert (row.number, row.position, row.file, row.purpose, row.title) == ("A", 0, "side A.wav", "A disc", "Side A")
    assert [str(amount) for amount in (row.length, row.true_peak, row.loudness)] == [
        "1:30.000", "-1.25 dBTP", "-14.0 LUFS",
    ]  # fmt: skip
    assert (row.checksum, row.sha256, row.md5, row.size_bytes) == ("abababab", "ab" * 32, "cd" * 16, "1000000")
    unwritten = replace(image, shipped=None)
    (row,) = table(context(delivery(spec=spec, images=(unwritten,))), spec).rows
    assert (row.checksum, str(row.true_peak), str(row.verdict), row.sha256) == ("not written", "–", "ready", "")
    failed = replace(unwritten, problem="the disk is full")
    (row,) = table(context(delivery(spec=spec, images=(failed,))), spec).rows
    assert (row.checksum, str(row.verdict)) == ("refused", "unusable")
    (row,) = table(
        context(delivery(spec=replace(spec, title=""), images=(failed,), built=False)), replace(spec, title="")
    ).rows
    assert (row.checksum, row.purpose) == ("not written", "cd")


def notice(track: str, rule: str = "true_peak_max_dbtp", **more: object) -> Notice:
    values = {"found": "-0.2 dBTP", "wanted": "at most -1", "remedy": "a lower master (or a gain), or a waiver",
              "refuses": True, "subject": "peaks"} | more  # fmt: skip
    position = int(track) if track.isdecimal() else None
    return Notice(track, position, rule, Verdict("not met", "cross"), "must", ("A disc",), **values)  # type: ignore[arg-type]


def test_a_finding_in_one_sentence() -> None:
    assert sentence_of(notice("1")) == "-0.2 dBTP (required: at most -1): a lower master (or a gain), or a waiver"
    assert sentence_of(notice("1", remedy="")) == "-0.2 dBTP (required: at most -1)"
    assert sentence_of(notice("1", wanted="", remedy="")) == "-0.2 dBTP"
    assert sentence_of(notice("1", why="too short")) == "not measured: too short"


def test_what_is_to_be_settled_by_cause() -> None:
    groups = groups_of([notice("1"), notice("2"), notice("3"), notice("release", rule="upc", remedy="ask", wanted="")])
    one, two = groups.to_settle
    assert (one.tracks, one.text) == (
        "1 to 3", "-0.2 dBTP (required: at most -1): a lower master (or a gain), or a waiver",
    )  # fmt: skip
    assert (one.found, one.remedy) == ("-0.2 dBTP", "a lower master")
    assert (two.tracks, two.rule, two.text) == ("release", "upc", "-0.2 dBTP: ask")
    assert (groups.questions, groups.remarks, groups.remark_count) == ((), (), 0)


def test_remarks_of_one_rule_are_one_item_with_how_many_others() -> None:
    found = ("-0.2 dBTP", "-0.1 dBTP", "-0.2 dBTP", "0.0 dBTP")
    items = by_rule(notice(str(at), found=text, refuses=False) for at, text in enumerate(found, start=1))
    assert [(item.tracks, item.text) for item in items] == [("1 to 4", "-0.2 dBTP; and 2 others")]
    assert by_rule([notice("1"), notice("4", found="x")])[0].text == "-0.2 dBTP; and 1 other"
    long = [notice("1", found="x" * 73)]
    assert by_rule(long, brief=True)[0].text == "x" * 71 + "…", "72 characters, for a line of a terminal"
    assert by_rule(long)[0].text == "x" * 73
    assert by_rule([notice("1", found="x" * 72)], brief=True)[0].text == "x" * 72


def test_own_remarks_come_last_and_are_counted() -> None:
    groups = groups_of([notice("1", refuses=False)], ["A name was shortened."])
    assert [item.text for item in groups.remarks] == ["-0.2 dBTP", "A name was shortened."]
    assert groups.remark_count == 2
