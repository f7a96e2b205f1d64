"""Make a report's view from the data of a job. Pure: nothing is opened, read or timed here.

Outputs set, draw or print the View; none of them rounds a number or words a result.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from delivery.model.figure import Figure
from delivery.model.label_copy import without_sign
from delivery.model.part import Delivery, Source
from delivery.model.release import Release
from delivery.report.view import words
from delivery.report.view.album_page import pictures
from delivery.report.view.answer import answer_form
from delivery.report.view.approval import approval
from delivery.report.view.approval import remedy as approval_remedy
from delivery.report.view.carried import carried_rows
from delivery.report.view.carrier import sheets
from delivery.report.view.changes import changes_lines, headline, not_compared
from delivery.report.view.columns import only, telling
from delivery.report.view.elements import Fact
from delivery.report.view.facts import gathered
from delivery.report.view.headings import Words
from delivery.report.view.log import accepted, log
from delivery.report.view.method import APPROVAL, caution, method
from delivery.report.view.model import OrderRow, OrderTable, Picture, View
from delivery.report.view.notices import notices, tally, waivers
from delivery.report.view.paperwork import of_release
from delivery.report.view.part_rows import PartTable
from delivery.report.view.parts import ReportContext, results, route, table, total_size
from delivery.report.view.selections import album, running_orders, total
from delivery.report.view.tracks import Remarked, pages

__all__ = ["View", "view_of"]


def view_of(delivery: Delivery, figures: Mapping[str, Figure]) -> View:
    """The report of *delivery*.

    Parameters
    ----------
    figures : declarations of the figures, by name, with unit and decimals of every number
    """
    release, context = delivery.release, ReportContext(delivery, figures)
    remarked, waived, accepted_rows, log_rows = notices(delivery), waivers(delivery), accepted(delivery), log(delivery)
    title = words.titled(release.title, release.version)
    parts = tuple(table(context, spec) for spec in delivery.specs)
    order = tuple(_order_row(context, source) for source in delivery.sources)
    running = ": ".join(text for text in (words.plain(release.artist), title) if text)
    return View(
        title=title,
        artist=words.supplied(release.artist),
        running=running,
        revision=f"revision {release.revision}",
        lang=words.plain(release.language) or "en",
        facts=gathered(_facts(delivery)),
        studio=tuple(_studio(delivery)),
        logo=Picture(delivery.studio.logo, words.plain(delivery.studio.name), "logo: the picture file cannot be read"),
        artwork=_artwork(delivery),
        verdict=words.verdict(delivery.result, _over_all(delivery)),
        tally=tally(delivery),
        routes=tuple(route(context, spec) for spec in delivery.specs),
        order=order,
        order_total=total(delivery.sources),
        checksums=_checksums(parts),
        running_orders=tuple(running_orders(context)),
        album=tuple(album(delivery, figures)),
        parts=parts,
        notices=remarked,
        waived=waived,
        tracks=pages(context, Remarked(remarked, waived, accepted_rows, log_rows)),
        method=method(delivery, figures),
        caution=caution(delivery),
        approval=approval(delivery),
        approval_remedy=approval_remedy(delivery),
        answer=answer_form(delivery, running),
        remarks=tuple(words.plain(remark) for remark in (*delivery.remarks, release.notes) if words.plain(remark)),
        delivery=delivery,
        together=pictures(context),
        carriers=sheets(context),
        accepted=accepted_rows,
        log=log_rows,
        words=Words(approval_text=APPROVAL),
        total_size=total_size(delivery),
        order_table=order_table(delivery, order),
        results=results(context),
        carried=carried_rows(delivery),
        changed=headline(delivery.changes) if delivery.changes else not_compared(delivery.release.revision),
        changes=changes_lines(delivery.changes) if delivery.changes else (),
    )


def _checksums(parts: tuple[PartTable, ...]) -> tuple[Fact, ...]:
    return tuple(Fact(f"{each.folder}/{row.file}", row.sha256) for each in parts for row in each.rows if row.sha256)


def _facts(delivery: Delivery) -> Iterator[Fact]:
    release, studio = delivery.release, delivery.studio
    yield Fact("Label", words.supplied(release.label))
    yield Fact("Catalogue number", words.supplied(release.catalogue_number))
    yield Fact("UPC / EAN", words.supplied(release.upc))
    yield Fact("Release date", _day(release))
    yield Fact("First released", release.original_date.isoformat() if release.original_date else words.NOT_SUPPLIED)
    yield Fact("Genre", words.supplied(release.genre))
    yield from of_release(release)
    yield Fact("℗", words.supplied(without_sign(release.p_line)))
    yield Fact("©", words.supplied(without_sign(release.c_line)))
    yield Fact("Client", words.supplied(release.client))
    yield Fact("Studio", words.supplied(studio.name))
    yield Fact("Engineer", words.supplied(studio.engineer))
    yield Fact("Contact", ", ".join(_lines(studio.contact)) or words.NOT_SUPPLIED)
    yield Fact("Revision", str(release.revision))
    yield Fact("Dated", words.day(release.dated))
    yield Fact("Program", f"delivery {words.plain(delivery.version)}".rstrip())


def _day(release: Release) -> str:
    return release.release_date.isoformat() if release.release_date else words.NOT_SUPPLIED


def _studio(delivery: Delivery) -> Iterator[str]:
    studio = delivery.studio
    yield from (text for text in map(words.plain, (studio.name, studio.engineer)) if text)
    yield from _lines(studio.contact)


def _lines(text: str) -> list[str]:
    return [line for line in map(words.plain, text.splitlines()) if line]


def _artwork(delivery: Delivery) -> Picture:
    broken = "artwork: the picture file cannot be read"
    if delivery.artwork_problem:
        return Picture(None, f"artwork: {words.plain(delivery.artwork_problem)}", broken)
    if delivery.artwork is None:
        return Picture(None, "artwork: not supplied", broken)
    art = delivery.artwork
    sentence = f"{art.width_px} × {art.height_px} px, {words.plain(art.mode)}, {words.plain(art.kind)}"
    turned = "" if art.orientation == 1 else ", stored turned and shown upright"
    return Picture(art.path, sentence + turned, broken)


def _over_all(delivery: Delivery) -> str:
    fine = sum(delivery.spec_result(spec.id).value.startswith("ready") for spec in delivery.specs)
    return f"{fine} of {words.counted(len(delivery.specs), 'spec')} ready" if delivery.specs else ""


def order_table(delivery: Delivery, order: tuple[OrderRow, ...]) -> OrderTable:
    """Artists are printed only where they differ from the release's; empty columns are left out."""
    heads, artist = Words().order_columns, words.supplied(delivery.release.artist)
    same = all(row.artist == artist for row in order)
    rows = [(row.number, row.title, "" if same else row.artist, row.isrc, row.length, row.gap) for row in order]
    kept = sorted({0, 1, *telling(rows)})
    right = frozenset(at for at, column in enumerate(kept) if column in (4, 5))
    return OrderTable(only(heads, kept), tuple(only(row, kept) for row in rows), right)


def _order_row(context: ReportContext, source: Source) -> OrderRow:
    track, release = source.track, context.delivery.release
    duration_s = source.measurement.value("duration_s") if source.measurement else None
    first = track.position == context.delivery.sources[0].track.position
    gap_s = track.gap_before_s
    return OrderRow(
        number=context.numbers[track.position],
        title=words.titled(track.title, track.version),
        artist=words.credited(track, release),
        isrc=words.isrc(track.isrc),
        length="not measured" if duration_s is None else words.clock(duration_s, 0),
        gap=("" if first else words.NOT_STATED) if gap_s is None else f"{gap_s:g} s",
    )
