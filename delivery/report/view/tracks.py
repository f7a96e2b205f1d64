"""One page for each track: figures as received and as delivered, curves, steps and notices. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from operator import itemgetter

from delivery.model.chain import Target
from delivery.model.dual_mono import dual_mono_figures
from delivery.model.figure import Measurement, Reading
from delivery.model.finding import Answer
from delivery.model.grouped import grouped
from delivery.model.part import Delivery, Part, Source
from delivery.model.release import Release
from delivery.model.spec import Spec
from delivery.report.view import words
from delivery.report.view.carried import carried_of
from delivery.report.view.columns import only
from delivery.report.view.curves import loudness, spectrum, waveform
from delivery.report.view.elements import Fact
from delivery.report.view.facts import gathered
from delivery.report.view.figure_names import figure_name
from delivery.report.view.finding_rows import AcceptedRow, LogRow, Notice, WaivedRow
from delivery.report.view.paperwork import paperwork
from delivery.report.view.parts import ABSENT, ReportContext, format_of, rating
from delivery.report.view.selections import goes_to
from delivery.report.view.steps import done
from delivery.report.view.track_page import Done, FigureRow, FigureTable, TrackPage

RECEIVED = "as received"
CONTENT: Mapping[str, str] = {"no": "not explicit"}

ROWS = (
    "integrated_lufs",
    "short_term_max_lufs",
    "momentary_max_lufs",
    "loudness_range_lu",
    "true_peak_dbtp",
    "sample_peak_dbfs",
    "plr_db",
    "overs_count",
    "clip_run_count",
    "dc_offset_percent",
    "correlation",
    "balance_db",
    "mono_loss_db",
    "band_edge_hz",
    "lead_in_s",
    "tail_s",
    "effective_bits",
)
"""Figures on a track's page, in reading order. All others are in the data document."""


@dataclass(frozen=True, slots=True)
class Remarked:
    """Notices of the whole release, or of one track."""

    notices: tuple[Notice, ...]
    waived: tuple[WaivedRow, ...]
    accepted: tuple[AcceptedRow, ...]
    log: tuple[LogRow, ...]


@dataclass(frozen=True, slots=True)
class Pictured:
    """The file whose curves are shown, and the specs whose limits are drawn."""

    measurement: Measurement | None
    text: str
    specs: tuple[Spec, ...]


def pages(context: ReportContext, remarked: Remarked) -> tuple[TrackPage, ...]:
    """A page for each track."""
    own = _by_track(context, remarked)
    return tuple(page(context, source, own[source.track.position]) for source in context.delivery.sources)


def _by_track(context: ReportContext, remarked: Remarked) -> dict[int, Remarked]:
    """What is printed on each track's page, by position. Each notice is looked at once, not once for each track."""
    notices = grouped(remarked.notices, lambda notice: notice.position)
    accepted = grouped(remarked.accepted, lambda row: row.position)
    log = grouped(remarked.log, lambda row: row.position)
    waivers = grouped(enumerate(remarked.waived), lambda row: row[1].track)
    found = {}
    for position in (source.track.position for source in context.delivery.sources):
        number, own = context.numbers[position], notices.get(position, ())
        waived = {notice.rule for notice in own if notice.verdict.word == Answer.WAIVED.value}
        for_all = (
            row for row in waivers.get("all", ()) if row[1].what in waived
        )  # it let something of this track pass
        rows = sorted((*waivers.get(number, ()), *for_all), key=itemgetter(0))
        found[position] = Remarked(
            own, tuple(row for _, row in rows), accepted.get(position, ()), log.get(position, ())
        )
    return found


def page(context: ReportContext, source: Source, remarked: Remarked) -> TrackPage:
    """The page of one track, with the notices about it."""
    delivery, track = context.delivery, source.track
    number = context.numbers[track.position]
    parts = delivery.of_track(track.position)
    pictured = _pictured(delivery, source, parts)
    shown, specs = pictured.measurement, pictured.specs
    curves = (waveform(shown, specs), loudness(shown, specs), spectrum(shown)) if shown else (None, None, None)
    return TrackPage(
        position=track.position,
        number=number,
        title=words.titled(track.title, track.version),
        artist=words.credited(track, delivery.release),
        facts=gathered((*_facts(source, delivery.release), *goes_to(context, track))),
        pictured=pictured.text,
        waveform=curves[0],
        loudness=curves[1],
        spectrum=curves[2],
        no_picture=_no_picture(shown, any_curve=any(curves)),
        figures=_figures(context, source, parts),
        done=(*(done(delivery, source, part) for part in parts), *_carried(delivery, track.position, number)),
        notices=remarked.notices,
        waived=remarked.waived,
        verdict=rating(parts),
        accepted=remarked.accepted,
        log=remarked.log,
    )


def _facts(source: Source, release: Release) -> tuple[Fact, ...]:
    track, known = source.track, source.measurement or Measurement({})
    duration_s = known.value("duration_s")
    return (
        Fact("ISRC", words.isrc(track.isrc)),
        Fact("Length", "not measured" if duration_s is None else words.clock(duration_s, 3)),
        Fact("Master file", words.plain(track.file.name)),
        Fact("As received", _format(source.measurement)),
        Fact("SHA-256 of the file", words.short_hash(source.sha256) or "not read"),
        Fact("Content", CONTENT.get(track.explicit, words.supplied(track.explicit))),
        Fact("Language", "instrumental" if track.instrumental else words.supplied(track.language)),
        Fact("Composers", words.listed(map(words.plain, track.composers)) or words.NOT_SUPPLIED),
        Fact("Lyricists", words.listed(map(words.plain, track.lyricists)) or words.NOT_SUPPLIED),
        *paperwork(track, release),
        Fact("Audio hash of the master", source.audio_hash or "not measured", wide=True, code=True),
    )


def _carried(delivery: Delivery, position: int, number: str) -> Iterator[Done]:
    """What became of the master's tags and chunks, and for which files if that differs."""
    titles = {spec.id: words.plain(spec.title) or spec.id for spec in delivery.specs}
    for row in carried_of(delivery, position, number):
        files = ", ".join(titles[spec] for spec in row.specs) or "Every file"
        yield Done("", files, row.what, (f"{row.text}.",), untouched=False)


def _format(measurement: Measurement | None) -> str:
    if measurement is None or measurement.value("rate_hz") is None:
        return "not measured"
    value = measurement.value
    return format_of(Target(value("container"), value("coding"), value("rate_hz"), value("channels"), value("bits")))


def _pictured(delivery: Delivery, source: Source, parts: tuple[Part, ...]) -> Pictured:
    """The first file that ships, with loudness as counted by its spec; the master, with all limits, if none ships."""
    specs = {spec.id: spec for spec in delivery.specs}
    for part in parts:
        if part.shipped and part.spec in specs:
            spec = specs[part.spec]
            counted_figures = dual_mono_figures(spec, part.shipped.measurement)
            return Pictured(counted_figures, f"as delivered: {words.plain(spec.title) or spec.id}", (spec,))
    return Pictured(source.measurement, RECEIVED, delivery.specs)


def _no_picture(shown: Measurement | None, *, any_curve: bool) -> str:
    if any_curve:
        return ""
    if shown is None:
        return "No curves: the master could not be measured."
    return shown["waveform_low"].why_missing if "waveform_low" in shown else "no curves were measured"


def _figures(context: ReportContext, source: Source, parts: tuple[Part, ...]) -> FigureTable | None:
    specs = {spec.id: spec for spec in context.delivery.specs}
    columns: list[tuple[str, Measurement, tuple[Spec, ...]]] = []
    if source.measurement:
        columns.append((RECEIVED, source.measurement, context.delivery.specs))
    for part in parts:
        if part.shipped and part.spec in specs:
            spec = specs[part.spec]
            columns.append(
                (words.plain(spec.title) or spec.id, dual_mono_figures(spec, part.shipped.measurement), (spec,))
            )
    if not columns:
        return None
    names = [name for name in ROWS if any(name in measurement for _, measurement, _ in columns)]
    rows = tuple(_row(context, name, columns) for name in names)
    titles = tuple(title for title, _, _ in columns)
    return _each_once(FigureTable(titles, rows, tuple(_missing(columns, names))))


def _each_once(table: FigureTable) -> FigureTable:
    """Files with the same figures share a column: a bit-identical file has those of its master."""
    alike: dict[tuple[str, ...], list[int]] = {}
    for at in range(len(table.columns)):
        alike.setdefault(tuple(row.cells[at] for row in table.rows), []).append(at)
    kept = [same[0] for same in alike.values()]
    titles = tuple("; ".join(table.columns[at] for at in same) for same in alike.values())
    return FigureTable(titles, tuple(replace(row, cells=only(row.cells, kept)) for row in table.rows), table.notes)


def _row(context: ReportContext, name: str, columns: list[tuple[str, Measurement, tuple[Spec, ...]]]) -> FigureRow:
    amounts = [context.amount(name, measurement, specs) for _, measurement, specs in columns]
    unit = next((amount.unit for amount in amounts if amount.unit), "")
    return FigureRow(figure_name(name), unit, tuple(amount.number if amount.exists else ABSENT for amount in amounts))


def _missing(columns: list[tuple[str, Measurement, tuple[Spec, ...]]], names: list[str]) -> list[str]:
    """'– not measured: Correlation (the file has one channel)', once for each reason."""
    reasons: dict[str, list[str]] = {}
    for name in names:
        for _, measurement, _ in columns:
            reading = measurement.readings.get(name, Reading.missing("not measured for this file"))
            if not reading.exists:
                labels = reasons.setdefault(words.plain(reading.why_missing) or "no reason given", [])
                labels += [figure_name(name)] if figure_name(name) not in labels else []
    return [f"{ABSENT} not measured: {words.listed(labels)} ({why})." for why, labels in reasons.items()]
