"""PQ sheets and side sheets: every position and length of a disc or side, in words. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from delivery.model.carrier import Programme, msf
from delivery.model.cd_text import media_number
from delivery.model.part import Image
from delivery.model.spec import Spec
from delivery.report.view import disc as view_disc
from delivery.report.view import side as view_side
from delivery.report.view import words
from delivery.report.view.album import CarrierPart, CarrierSheet
from delivery.report.view.elements import Fact
from delivery.report.view.lengths import GOOD, MOST, limit_s, minutes
from delivery.report.view.parts import ReportContext, format_of


def sheets(context: ReportContext) -> tuple[CarrierSheet, ...]:
    """One for each spec that has discs or sides, by spec."""
    delivery = context.delivery
    return tuple(
        _sheet(context.for_spec(spec.id), spec, delivery.images_of(spec.id))
        for spec in delivery.specs
        if delivery.images_of(spec.id)
    )


def _sheet(context: ReportContext, spec: Spec, images: tuple[Image, ...]) -> CarrierSheet:
    frames = images[0].programme.carrier.in_frames
    columns, shares = _columns(images[0].programme)
    return CarrierSheet(
        spec=spec.id,
        title="PQ sheet" if frames else "Side sheet",
        file_name="pq-sheet.pdf" if frames else "side-sheet.pdf",
        facts=tuple(_facts(context, spec)),
        columns=columns,
        shares=shares,
        times=view_disc.TIMES if frames else view_side.TIMES,
        parts=tuple(_part(context, spec, image) for image in images),
        notes=(view_disc.CLOCK,) if frames else (view_side.CLOCK, view_side.UNTOUCHED),
        written=all(image.shipped for image in images),
    )


def _columns(programme: Programme) -> tuple[tuple[str, ...], tuple[float, ...]]:
    if programme.carrier.in_frames:
        return view_disc.COLUMNS, view_disc.SHARES
    if programme.carrier.is_cut:
        return view_side.COLUMNS, view_side.SHARES
    return view_side.TAPE_COLUMNS, view_side.TAPE_SHARES


def _facts(context: ReportContext, spec: Spec) -> Iterator[Fact]:
    release, studio = context.delivery.release, context.delivery.studio
    contact = ", ".join(words.plain(line) for line in studio.contact.splitlines() if line.strip())
    yield Fact("Catalogue number", words.supplied(release.catalogue_number))
    yield Fact("UPC / EAN", words.supplied(release.upc))
    if spec.carrier and spec.carrier.in_frames:
        yield Fact("Media catalogue number", words.supplied(media_number(release)))
    yield Fact("Label", words.supplied(release.label))
    yield Fact("Engineer", words.supplied(studio.engineer))
    yield Fact("Studio", words.supplied(studio.name))
    yield Fact("Contact", contact or words.NOT_SUPPLIED)
    yield Fact("Dated", words.day(release.dated))
    if spec.carrier and spec.carrier.is_cut:
        yield from view_side.facts(context)


def _part(context: ReportContext, spec: Spec, image: Image) -> CarrierPart:
    programme = image.programme
    frames = programme.carrier.in_frames
    release = context.delivery.release
    return CarrierPart(
        name=programme.heading,
        pressed=str(programme.pressing),
        total=msf(programme.lead_out) if frames else view_side.clock(programme, programme.length),
        facts=tuple(_part_facts(context, spec, image)),
        rows=tuple(view_disc.rows(context, programme) if frames else view_side.rows(context, image)),
        notes=tuple(view_disc.notes(release, programme) if frames else view_side.notes(context, spec, image)),
        more=view_disc.texts(release, programme) if frames else (),
    )


def _part_facts(context: ReportContext, spec: Spec, image: Image) -> Iterator[Fact]:
    programme, shipped = image.programme, image.shipped
    yield Fact("File", words.plain(image.name))
    yield Fact("Form", format_of(image.target))
    yield Fact("Tracks", str(len(programme.songs)))
    yield Fact("Samples", str(programme.length))
    if programme.carrier.in_frames:
        yield Fact("Lead-out", msf(programme.lead_out))
    for name, key in (("Good up to", GOOD), ("At most", MOST)):
        longest_s = limit_s(spec, programme, key)
        if longest_s is not None:
            yield Fact(name, minutes(longest_s))
    if shipped:
        for name, figure in (("True peak", "true_peak_dbtp"), ("Loudness", "integrated_lufs")):
            if figure in context.figures:
                yield Fact(name, str(context.amount(figure, shipped.measurement, (spec,))))
        yield Fact("SHA-256", shipped.sha256, wide=True, code=True)
        yield Fact("MD5", shipped.md5, wide=True, code=True)
    else:
        yield Fact("SHA-256", words.plain(image.problem) or "not written")
