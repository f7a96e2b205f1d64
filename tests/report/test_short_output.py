"""Short answers: how many lines an album of 14 songs for five specs may fill, and that nothing is reported twice."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from delivery.cli import _edge
from delivery.model.finding import Answer, Finding
from delivery.model.part import Delivery
from delivery.report.text import full, terminal
from delivery.report.text.blocks import cut
from delivery.report.text.measured import songs_table
from delivery.report.view.finding_rows import Notice
from delivery.report.view.groups import groups_of
from delivery.report.view.make import view_of
from delivery.report.view.notices import notices
from tests import samples
from tests.report.test_terminal import piped

REMARKS = (
    ("mono_loss_octave_max_db", "stereo", "6.77 dB lost at 63 Hz"),
    ("tail_s", "time", "12.14 s"),
    ("click_places_max", "signs", "3 places that may be clicks"),
    ("sibilant_spots_max", "listening", "4 sibilance events"),
    ("loudness_range_max_lu", "loudness", "14.2 LU"),
    ("low_band_phase", "signs", "-0.12"),
    ("not_upsampled", "signs", "a steep edge or a mirror image at 22.05"),
    ("true_peak_max_dbtp", "level", "-0.81 dBTP"),
)
FIELDS = ("genre", "label", "p_line", "c_line", "upc", "release_date", "language", "artwork")
MUSTS = (1, 2, 3, 5, 8, 13, 14)


def long_album() -> Delivery:
    """14 songs, five specs, 7 musts that are not met and 8 x 14 + 8 remarks, each reported by every spec."""
    specs = tuple(samples.spec(f"spec-{n}", f"Spec {n}") for n in range(1, 6))
    whole = samples.delivery(14, specs)
    parts = tuple(replace(part, findings=(*part.findings, *of_track(part.spec, part.track))) for part in whole.parts)
    release = tuple(
        samples.finding("release_fields", spec.id, None, Answer.NOT_MET, must=False, found="not supplied",
                        wanted=field, remedy=f"{field} of the release", subject="label_copy")
        for spec in specs for field in FIELDS
    )  # fmt: skip
    return replace(whole, parts=parts, findings=(*whole.findings, *release), built=False)


def of_track(spec: str, track: int) -> list[Finding]:
    output = [
        samples.finding(rule, spec, track, Answer.NOT_MET, must=False, found=found, wanted="less",
                        remedy="listen, or accept it", subject=subject)
        for rule, subject, found in REMARKS
    ]  # fmt: skip
    if track in MUSTS:
        output.append(
            samples.finding("rate_hz", spec, track, Answer.NOT_MET, found=f"{40 + track} kHz", wanted="96 kHz",
                            remedy="the session's own render if it ran higher, or a waiver", subject="container")
        )  # fmt: skip
    return output


def test_a_first_check_fits_on_a_screen() -> None:
    """At 80 columns: every must with its remedy, each remark's rule once with its tracks in order."""
    view = view_of(long_album(), samples.FIGURES)
    lines = piped(terminal.check_short(view, "album/release.yaml")).splitlines()
    text = "\n".join(lines)
    assert len(lines) <= 50
    assert "To settle (7)" in text
    musts = [line.split() for line in lines if "kHz: the session's own render if it ran higher  [rate_hz]" in line]
    assert [(line[0], line[1]) for line in musts] == [(str(at), str(40 + at)) for at in MUSTS]
    assert "Remarks (112)" in text
    for rule, _, found in REMARKS:
        (line,) = [line for line in lines if line.strip().startswith(rule)]
        assert "1 to 14" in line
        assert found in line
    assert "not supplied: genre, label, p_line, c_line, upc, release_date, language" in " ".join(text.split())
    assert "delivery waive album/release.yaml RULE:TRACK" in text


def test_far_more_musts_than_a_page_can_list_have_a_line_for_each_rule() -> None:
    """Nine rules that 14 tracks do not meet, each with figures of its own: 126 causes."""
    groups = groups_of(view_of(many_musts(built=False), samples.FIGURES).notices)
    assert len(groups.to_settle) == 9 * 14
    lines = piped(terminal.check_short(view_of(many_musts(built=False), samples.FIGURES), "album")).splitlines()
    assert len(lines) <= 50
    assert "To settle (126)" in "\n".join(lines)
    assert sum("1 to 14  1 kHz; and 13 others  [rule_0" in line for line in lines) == 9


@pytest.mark.parametrize("width", [40, 60, 80, 100, 140])
def test_what_is_to_be_settled_is_one_line_each_at_any_width(width: int) -> None:
    """A narrow line ends with the first remedy and the rule; a wide one has the limit and every remedy."""
    lines = piped(terminal.check_short(view_of(long_album(), samples.FIGURES), "x"), width).splitlines()
    musts = [line for line in lines if "[rate_hz]" in line]
    assert len(musts) == len(MUSTS)
    assert all(line.rstrip().endswith("[rate_hz]") and "kHz" in line for line in musts)
    assert ("(required: 96 kHz)" in musts[0]) is ("or a waiver" in musts[0]) is (width >= 100)


def many_musts(*, built: bool) -> Delivery:
    """14 songs that do not meet nine rules."""
    whole = replace(samples.delivery(14, (samples.spec("spec-1", "Spec 1"),)), built=built)
    parts = tuple(
        replace(part, findings=tuple(
            samples.finding(f"rule_{at:02}", "spec-1", part.track, Answer.NOT_MET, found=f"{part.track} kHz",
                            remedy=f"remedy {part.track}")
            for at in range(9)
        ))
        for part in whole.parts
    )  # fmt: skip
    return replace(whole, parts=parts)


def test_a_build_fits_on_half_a_screen() -> None:
    view = view_of(replace(long_album(), built=True), samples.FIGURES)
    assert len(piped(terminal.build_short(view)).splitlines()) <= 25 - 6  # six lines say where the package lies


def test_all_of_it_is_there_on_request() -> None:
    view = view_of(long_album(), samples.FIGURES)
    assert piped(full.check_table(view)).count("1 to 14") >= len(REMARKS)
    one = piped(full.notices_of(view, track=3))
    assert "found  43 kHz" in one
    assert "44 kHz" not in one
    rule = piped(full.notices_of(view, rule="tail_s"))
    assert "12.14 s" in rule
    assert "dB lost" not in rule
    assert "Nothing to settle" in piped(full.notices_of(view, track=3, rule="upc_check_digit"))


def test_one_cause_is_one_line() -> None:
    """A peak too high for two conversions, a ceiling of three specs, a cover that nine rules cannot look at."""
    specs = tuple(samples.spec(f"spec-{n}", f"Spec {n}") for n in range(1, 4))
    whole = samples.delivery(1, specs)
    findings = [
        samples.finding("artwork_kind", spec.id, None, Answer.NOT_MEASURED, must=False,
                        why="the release file names no artwork", subject="artwork")
        for spec in specs
    ]  # fmt: skip
    findings += [replace(one, rule=f"artwork_{at}") for one in findings for at in range(8)]
    parts = tuple(
        replace(part, findings=(
            samples.finding("full_scale", part.spec, 1, Answer.NOT_MET, found=f"+0.4{at} dBFS", wanted="0 dBFS",
                            remedy="a master 0.5 dB lower", subject="level", at_s=(float(at),)),
            samples.finding("true_peak_max_dbtp", part.spec, 1, Answer.NOT_MET, must=False, found=f"-0.{at} dBTP",
                            wanted=f"at most -{at} dBTP", subject="level"),
        ))
        for at, part in enumerate(whole.parts)
    )  # fmt: skip
    groups = groups_of(notices(replace(whole, parts=parts, findings=tuple(findings))))
    assert [item.rule for item in groups.to_settle] == ["full_scale"]
    assert [(item.rule, item.text) for item in groups.questions] == [
        ("artwork_kind and 8 more", "the release file names no artwork")
    ]
    assert [(item.rule, item.tracks) for item in groups.remarks] == [("true_peak_max_dbtp", "1")]
    asked = samples.finding("release_fields", specs[0].id, None, Answer.NOT_MET, found="not supplied", wanted="artwork",
                            subject="label_copy")  # fmt: skip
    groups = groups_of(notices(replace(whole, parts=parts, findings=(*findings, asked))))
    assert [item.rule for item in groups.to_settle] == ["release_fields", "full_scale"]
    assert groups.questions == ()


def with_findings(*found: dict[str, Any]) -> list[Notice]:
    """Notices of a song for as many specs as there are findings, the first finding for the first spec, and so on."""
    specs = tuple(samples.spec(f"spec-{n}", f"Spec {n}") for n in range(1, len(found) + 1))
    whole = samples.delivery(1, specs)
    parts = tuple(
        replace(part, findings=(samples.finding(spec=part.spec, track=1, answer=Answer.NOT_MET, **one),))
        for part, one in zip(whole.parts, found, strict=True)
    )
    return list(notices(replace(whole, parts=parts, findings=())))


def test_of_one_peak_above_several_limits_the_highest_is_printed() -> None:
    """Two conversions raise it differently; a master low enough for the higher one is low enough for both."""
    found = [
        {"rule": "full_scale", "found": f"a sample peak of +0.{at} dBFS", "remedy": f"a master 0.{at} dB lower",
         "subject": "level", "excess_db": at / 10}
        for at in (1, 3, 2)
    ]  # fmt: skip
    (item,) = groups_of(with_findings(*found)).to_settle
    assert item.text == "a sample peak of +0.3 dBFS: a master 0.3 dB lower"


def test_a_must_of_one_spec_is_not_a_remark_for_another_as_well() -> None:
    found = {"rule": "rate_hz", "found": "48 kHz", "subject": "container"}
    groups = groups_of(with_findings({**found, "must": False, "wanted": "96 kHz"}, {**found, "wanted": "88.2 kHz"}))
    assert [item.text for item in groups.to_settle] == ["48 kHz (required: 88.2 kHz)"]
    assert groups.remarks == ()


def test_a_build_with_many_musts_has_a_line_for_each_rule() -> None:
    lines = piped(terminal.build_short(view_of(many_musts(built=True), samples.FIGURES))).splitlines()
    assert len(lines) <= 25 - 6  # six lines are about the package
    assert sum("1 to 14" in line for line in lines) == 8
    assert any(line.rstrip() == "  and 1 more: --all" for line in lines)


def test_a_command_stays_in_one_line_on_a_narrow_terminal(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is copied from the terminal; a line break within it would end it too early."""
    monkeypatch.setenv("COLUMNS", "40")
    _edge.show(terminal.check_short(view_of(long_album(), samples.FIGURES), "masters of the album/release.yaml"))
    out = capsys.readouterr().out
    assert "delivery waive masters of the album/release.yaml RULE:TRACK --by NAME --why TEXT\n" in out


@pytest.mark.parametrize("width", [40, 80, 120])
def test_no_line_but_a_command_is_wider_than_the_terminal(width: int) -> None:
    lines = piped(terminal.check_short(view_of(long_album(), samples.FIGURES), "x"), width).splitlines()
    assert max(len(line) for line in lines if " delivery " not in line) <= width


def test_several_files_are_one_table() -> None:
    rows = [(f"{n:02} Song.wav", samples.measurement(n)) for n in range(1, 15)]
    lines = piped(songs_table([*rows, ("broken.wav", None)])).splitlines()
    assert len(lines) == 2 + 15
    assert lines[-1].split()[1:] == ["-"] * 6
    assert max(map(len, lines)) <= 80


@pytest.mark.parametrize(
    ("width", "expected"),
    [
        (11, "two parts…"),
        (10, "two parts…"),
        (7, "two…"),
        (23, "two parts, or converted"),
        (22, "two parts, or…"),
    ],
)
def test_a_line_is_cut_after_a_word(width: int, expected: str) -> None:
    assert cut("two parts, or converted", width) == expected


def test_no_mark_stands_before_the_ellipsis() -> None:
    assert cut("no such file, wanted a sound file. Check the path", 38) == "no such file, wanted a sound file…"


def test_a_word_longer_than_half_the_line_is_cut_itself() -> None:
    assert cut("a disproportionately long word", 12) == "a dispropor…"


def test_a_line_without_blanks_is_cut_between_whole_characters() -> None:
    assert cut("日本語の長いタイトル", 10) == "日本語の…"
