"""Routes if not every spec receives every track: separate running orders, in words. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from delivery.model.figure import Figure, Reading
from delivery.model.part import Delivery, Selection, Source
from delivery.model.release import Track
from delivery.model.spec import bounds_of
from delivery.report.view import words
from delivery.report.view.elements import Fact
from delivery.report.view.numbers import amount
from delivery.report.view.parts import ReportContext


def several(delivery: Delivery) -> bool:
    """True if any spec receives other tracks than this delivery has, or numbers them differently."""
    return any(each.release.tracks != delivery.release.tracks for each in delivery.selections)


def running_orders(context: ReportContext) -> Iterator[str]:
    """One sentence for each set of tracks that specs receive; none where all specs receive every track."""
    if several(context.delivery):
        yield from (_running_order(context, each) for each in context.delivery.selections)


def deliveries(delivery: Delivery) -> Iterator[tuple[str, Delivery]]:
    """Recipients, and the delivery as they receive it, once for each set of tracks; recipients empty for all."""
    if not several(delivery):
        yield "", delivery
        return
    for at, each in enumerate(delivery.selections):
        own = delivery.for_spec(each.specs[0])
        yield words.listed(_titles(delivery, each.specs)), own if at == 0 else replace(own, unnamed=())


def goes_to(context: ReportContext, track: Track) -> tuple[Fact, ...]:
    """Recipients of the track and its number there; empty if all specs receive every track."""
    delivery = context.delivery
    if not several(delivery):
        return ()
    texts: list[str] = []
    for spec in delivery.specs:
        if track.goes_to(spec.id):
            own = context.for_spec(spec.id).numbers[track.position]
            title = words.plain(spec.title) or spec.id
            texts.append(title if own == context.numbers[track.position] else f"{title} as track {own}")
    without = list(_titles(delivery, [spec.id for spec in delivery.specs if not track.goes_to(spec.id)]))
    return (Fact("Goes to", words.listed(texts)), *([Fact("Not for", words.listed(without))] if without else []))


def total(sources: Iterable[Source]) -> str:
    """'3 tracks, 11:24 without gaps'."""
    durations = [source.measurement.value("duration_s") if source.measurement else None for source in sources]
    known = [duration_s for duration_s in durations if duration_s is not None]
    if len(known) < len(durations):
        return f"{words.counted(len(durations), 'track')}; not all of them could be measured"
    return f"{words.counted(len(known), 'track')}, {words.clock(sum(known), 0)} without gaps"


def album(delivery: Delivery, figures: Mapping[str, Figure]) -> Iterator[Fact]:
    """Loudness and true peak of the tracks as one programme."""
    for name, label, limited in (
        ("integrated_lufs", "Loudness", "album_integrated_lufs"),
        ("true_peak_dbtp", "highest true peak", "true_peak_dbtp"),
    ):
        if name in delivery.album and name in figures:
            limits = bounds_of(limited, delivery.specs)
            yield Fact(label, str(amount(figures[name], Reading(delivery.album[name]), limits)))


def programme_totals(delivery: Delivery, figures: Mapping[str, Figure]) -> str:
    """Total length of the tracks, and their loudness as one programme."""
    programme = ", ".join(f"{fact.label[0].lower()}{fact.label[1:]} {fact.value}" for fact in album(delivery, figures))
    return "; ".join(text for text in (total(delivery.sources), programme and f"as one programme: {programme}") if text)


def _running_order(context: ReportContext, selection: Selection) -> str:
    own = context.for_spec(selection.specs[0])
    numbers = [context.numbers[track.position] for track in selection.release.tracks]
    theirs = [own.numbers[track.position] for track in selection.release.tracks]
    which = f"{'track' if len(numbers) == 1 else 'tracks'} {words.runs(numbers)}"
    if len(numbers) == len(context.delivery.release.tracks):
        which = "every track"
    if theirs != numbers:
        which += f", numbered {words.runs(theirs)}"
    totals = programme_totals(own.delivery, context.figures)
    return f"{words.listed(_titles(context.delivery, selection.specs))}: {which}; {totals}."


def _titles(delivery: Delivery, specs: Iterable[str]) -> Iterator[str]:
    titles = {spec.id: words.plain(spec.title) or spec.id for spec in delivery.specs}
    return (titles.get(spec, spec) for spec in specs)
