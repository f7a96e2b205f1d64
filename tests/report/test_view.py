"""The view reports everything, once, in terms of what happened."""

from __future__ import annotations

from dataclasses import replace

from delivery.model.figure import Reading
from delivery.model.finding import Answer
from delivery.report.view.make import View, view_of
from delivery.report.view.notices import all_findings
from tests import samples


def view(delivery: samples.Delivery) -> View:
    return view_of(delivery, samples.FIGURES)


def test_missing_fields_are_reported_and_no_date_is_invented() -> None:
    shown = view(samples.bare())
    stated = {fact.label: fact.value for fact in shown.facts}
    assert {"Label", "UPC / EAN", "Client", "Engineer", "Contact", "Dated"} <= set(stated["Not supplied"].split(", "))
    assert not {"Label", "Dated"} & set(stated)
    assert shown.order[0].title == shown.order[0].isrc == "not supplied"
    assert shown.artwork.text == "artwork: not supplied"


def test_each_spec_has_one_line_with_its_tracks() -> None:
    routes = view(samples.troubled()).routes
    assert [(route.folder, route.files) for route in routes] == [
        ("data/store-master-24", "10 of 12 files"),
        ("data/cd-rate-16", "10 of 12 files"),
        ("data/reference-mp3", "10 of 12 files"),
    ]
    assert routes[2].note == "reference, not for release"


def test_check_prints_planned_and_build_prints_refused() -> None:
    planned = view(samples.bare())
    assert planned.routes[0].files == "1 file planned"
    assert planned.parts[0].rows[0].checksum == "not written"
    assert "to stay" in planned.tracks[0].done[0].headline
    refused = view(samples.troubled())
    assert refused.parts[0].rows[1].checksum == "refused"
    assert refused.tracks[1].done[0].headline == "refused: nothing was written"


def test_identical_samples_are_reported_with_their_proof() -> None:
    done = view(samples.delivery(1)).tracks[0].done[0]
    short = samples.measurement(1).value("audio_hash")[:8]
    assert done.untouched
    assert done.headline == f"samples bit-identical: audio hash in = audio hash out ({short})"


def test_identical_is_printed_only_with_equal_hashes() -> None:
    whole = samples.delivery(1, samples.SPECS[:1])
    for reading, text in ((Reading("f" * 64), "samples differ"), (Reading.missing("lost"), "not proven")):
        shipped = whole.parts[0].shipped
        assert shipped is not None
        changed = replace(shipped, measurement=shipped.measurement.with_readings({"audio_hash": reading}))
        broken = replace(whole, parts=(replace(whole.parts[0], shipped=changed),))
        assert text in view(broken).tracks[0].done[0].headline


def test_each_step_names_its_converter_or_dither_and_its_reason() -> None:
    lines = view(samples.delivery(1)).tracks[0].done[1].lines
    assert "libsoxr" in lines[0]
    assert lines[0].endswith("the master has 96 kHz.")
    assert "triangular, 2 steps wide" in lines[1]


def test_every_answer_that_is_not_met_is_on_the_sheet() -> None:
    delivery = samples.troubled()
    notices = view(delivery).notices
    for finding in all_findings(delivery):
        text = any(
            notice.rule == finding.rule and notice.position == finding.track and notice.verdict.word == finding.answer
            for notice in notices
        )
        assert text == (finding.answer is not Answer.MET)


def test_one_failed_check_in_three_specs_is_one_row_and_names_them() -> None:
    rows = [notice for notice in view(samples.troubled()).notices if notice.rule == "true_peak_max_dbtp"]
    assert [row.specs for row in rows] == [("Store master, 24-bit", "CD-rate files", "Listening copy")]


def test_an_unusable_master_is_a_notice_of_its_own_and_never_ready() -> None:
    shown = view(samples.troubled())
    problem = next(notice for notice in shown.notices if notice.position == 3)
    assert problem.verdict.word == "unusable"
    assert "header promises" in problem.found
    assert shown.tracks[2].verdict.word == "unusable"
    assert shown.tracks[2].waveform is None
    assert shown.verdict.word == "unusable"


def test_a_waiver_is_printed_with_name_and_reason() -> None:
    row = view(samples.troubled()).waived[0]
    assert (row.by, row.track) == ("Ada Merrow, artist", "5")
    assert row.why == "the sea goes on; the silence is meant"


def test_a_figure_that_missed_a_limit_shows_it_in_the_parts_table() -> None:
    whole = samples.delivery(1, samples.SPECS[:1])
    shipped = whole.parts[0].shipped
    assert shipped is not None
    close = replace(shipped, measurement=shipped.measurement.with_readings({"true_peak_dbtp": Reading(-0.997)}))
    shown = view(replace(whole, parts=(replace(whole.parts[0], shipped=close),)))
    assert shown.parts[0].rows[0].true_peak.number == "-0.997"


def test_mono_as_two_loudspeakers_reads_3_01_lu_more() -> None:
    """10 lg 2 = 3.01 LU: ITU-R BS.1770-5 sums channel powers."""
    dual = replace(samples.STORE, dual_mono=True)
    whole = samples.delivery(1, (dual,))
    shipped = whole.parts[0].shipped
    assert shipped is not None
    mono = shipped.measurement.with_readings({"channels": Reading(1), "integrated_lufs": Reading(-20.0)})
    shown = view(replace(whole, parts=(replace(whole.parts[0], shipped=replace(shipped, measurement=mono)),)))
    assert shown.parts[0].rows[0].loudness.number == "-17.0"
    assert "two equal loudspeakers" in shown.parts[0].notes[0]


def test_unchanged_mono_is_reported() -> None:
    """The text states which of the two a mono file's loudness is; for stereo files there is no text."""
    whole = samples.delivery(1, (samples.STORE,))
    shipped = whole.parts[0].shipped
    assert shipped is not None
    mono = shipped.measurement.with_readings({"channels": Reading(1)})
    shown = view(replace(whole, parts=(replace(whole.parts[0], shipped=replace(shipped, measurement=mono)),)))
    assert shown.parts[0].notes == ("Loudness of mono files is that of their one channel as it is.",)
    assert view(whole).parts[0].notes == ()


def test_the_reason_for_not_measured_is_printed_once() -> None:
    notes = view(samples.delivery(1)).tracks[0].figures
    assert notes is not None
    assert notes.notes == ("– not measured: Bits in use (a lossy coding has none).",)


def test_discs_are_part_of_the_track_number() -> None:
    whole = samples.delivery(2)
    second = replace(whole.release.tracks[1], disc=2, number=1)
    sources = (whole.sources[0], replace(whole.sources[1], track=second))
    shown = view(
        replace(whole, release=replace(whole.release, tracks=(whole.release.tracks[0], second)), sources=sources)
    )
    assert [row.number for row in shown.order] == ["1.1", "2.1"]


def test_the_view_is_the_same_twice() -> None:
    assert view(samples.troubled()) == view(samples.troubled())


def test_short_term_values_are_at_the_middle_of_their_windows() -> None:
    """Meters identify a window by its beginning; EBU Tech 3341: short-term is 3 s long."""
    curve = view(samples.delivery(1)).tracks[0].loudness
    came = samples.measurement(1)
    assert curve is not None
    assert curve.first_s == 1.5
    assert curve.loudest_at_s == came.value("short_term_max_at_s") + 1.5
    last_s = curve.first_s + (len(curve.short_term_lufs) - 1) * curve.step_s
    assert last_s <= curve.duration_s


def test_every_acceptance_shows_its_finding_or_why_it_does_not_apply() -> None:
    rows = {row.rule: row for row in view(samples.logged(samples.delivery(2))).accepted}
    assert (rows["inner_silence_max_s"].found, rows["inner_silence_max_s"].specs) == (
        "11.2 s",
        "Store master, 24-bit, CD-rate files",
    )
    assert rows["dc_offset_max_percent"].found == "nothing is remarked"
    assert rows["clip_runs_max"].found.startswith("void")
    assert rows["clip_runs_max"].position is None


def test_an_accepted_remark_is_no_notice_and_leaves_the_file_ready() -> None:
    shown = view(samples.logged(samples.delivery(1)))
    assert shown.notices == ()
    assert shown.verdict.word == "ready"
    assert "2 accepted" in shown.tally
    assert "accepted" not in view(samples.delivery(1)).tally


def test_the_log_is_ordered_by_track_and_time() -> None:
    shown = view(samples.logged(samples.delivery(2)))
    assert [(row.track, row.time) for row in shown.log] == [
        ("release", "throughout"),
        ("1", "0:12"),
        ("1", "1:23.450"),
        ("1", "1:56:40.500, after the end"),
    ]
    assert [row.decision for row in shown.log][-1] == "open"
    assert len(shown.tracks[0].log) == 3
    assert shown.tracks[1].log == ()


def test_the_ceiling_is_drawn_at_its_amplitude() -> None:
    """-1 dB relative to full scale is an amplitude of 10^(-1/20) = 0.8913."""
    wave = view(samples.delivery(1)).tracks[0].waveform
    assert wave
    assert wave.ceiling
    assert round(wave.ceiling.at, 4) == 0.8913
    assert wave.ceiling.text == "ceiling (dotted) -1.00 dBTP"


def test_a_window_is_drawn_from_the_spec_of_the_file_that_is_shown() -> None:
    curve = view(samples.windowed()).tracks[0].loudness
    assert curve
    assert curve.window
    assert (curve.window.low, curve.window.high) == (-13.5, -12.5)
    assert curve.window.text == "window (shaded) -13.5 to -12.5 LUFS"
    assert curve.levels[0].at <= -13.5 < -12.5 <= curve.levels[-1].at


def test_overs_are_numbered_in_the_order_of_time() -> None:
    wave = view(samples.troubled()).tracks[1].waveform
    assert wave
    assert [over.number for over in wave.overs] == ["1", "2", "3"]
    assert [over.at_s for over in wave.overs] == sorted(over.at_s for over in wave.overs)


def test_a_waiver_for_every_track_is_shown_where_it_applied() -> None:
    whole = samples.troubled(6)
    for_all = replace(whole.release.waivers[0], track=None)
    other = replace(for_all, rule="dc_offset_max_percent")
    shown = view(replace(whole, release=replace(whole.release, waivers=(for_all, other))))
    assert {track.number: [row.what for row in track.waived] for track in shown.tracks if track.waived} == {
        "5": ["tail_s"]
    }
    assert len(shown.waived) == 2
