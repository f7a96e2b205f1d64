"""The side sheet's rows and notes, in the cutting room's terms. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from delivery.model import side
from delivery.model.carrier import Programme
from delivery.model.part import Image
from delivery.model.spec import Spec
from delivery.report.view import words
from delivery.report.view.elements import Fact
from delivery.report.view.parts import ReportContext

COLUMNS = ("No.", "Title", "Begins", "Ends", "Length", "Gap before", "Silence", "Band", "ISRC")
SHARES = (0.05, 0.235, 0.105, 0.105, 0.105, 0.095, 0.08, 0.085, 0.14)
TIMES = frozenset({"Begins", "Ends", "Length", "Gap before", "Silence"})
TAPE_COLUMNS = tuple(head for head in COLUMNS if head != "Band")
TAPE_SHARES = (0.05, 0.32, 0.105, 0.105, 0.105, 0.095, 0.08, 0.14)
CLOCK = (
    "Times are minutes:seconds in the side's file, from its first sample. Gap before: silence put between the files. "
    "Silence: all that is below -60 dBFS there, the songs' own ends included."
)
UNTOUCHED = "Nothing was processed: songs are joined as they were approved."


def rows(context: ReportContext, image: Image) -> Iterator[tuple[str, ...]]:
    """Rows of the side sheet, one for each song."""
    programme, before = image.programme, 0
    for song in programme.songs:
        track = context.track(song.position)
        gap = clock(programme, song.begins - before)
        silence_s = side.audible_silence_s(context.delivery, image, song)
        band = ("" if song.number == 1 and track.band is None else side.band(context.delivery, song),)
        yield (
            f"{programme.label}{song.number}",
            context.named(track),
            clock(programme, song.begins),
            clock(programme, song.ends),
            clock(programme, song.length),
            "continues" if song.joined else gap if song.begins > before else "",
            "" if silence_s is None else f"{silence_s:.1f} s",
            *(band if programme.carrier.is_cut else ()),
            words.isrc(track.isrc),
        )
        before = song.ends


def facts(context: ReportContext) -> Iterator[Fact]:
    """Facts for the cutting engineer."""
    yield Fact("Cut", side.cut_as(context.delivery))
    if context.delivery.release.cutting.notes:
        yield Fact("To the cutting room", words.plain(context.delivery.release.cutting.notes))


def notes(context: ReportContext, spec: Spec, image: Image) -> Iterator[str]:
    """Sentences about a side."""
    programme, delivery = image.programme, context.delivery
    if first := side.first_gap(delivery.release, programme):
        yield first
    ending_s = side.ending_silence_s(delivery, image)
    if ending_s is not None:
        yield f"Silence at the end of {programme.name}: {ending_s:.1f} s."
    silences = [
        f"{programme.label}{song.number} at {words.at(at_s)} for {length_s:.1f} s"
        for song in programme.songs
        for at_s, length_s in side.inner_silences(delivery, image, song)
    ]
    if silences:
        yield f"Silences within songs, no ends of songs: {words.listed(silences)}."
    for text, found in groupby(side.spots(delivery, spec, image), key=lambda spots: spots.text):
        texts = [_spots(programme, spots) for spots in found]
        yield f"{text}: {'; '.join(texts)}. Places to listen to, no faults."
    if image.shipped:
        value = image.shipped.measurement.value
        lowest, bands, at_s = (value(f"low_band_{name}") for name in ("correlations_min", "hz", "at_s"))
        if lowest:
            each = [
                f"{low:+.2f} below {hz} Hz at {words.at(at)}" for low, hz, at in zip(lowest, bands, at_s, strict=True)
            ]
            yield f"Lowest correlation of left and right over 3 s: {words.listed(each)}."


def _spots(programme: Programme, spots: side.Spots) -> str:
    times = ", ".join(map(words.at, spots.at_s))
    where = f"{programme.label}{spots.song.number} at " if spots.song else ""
    more = spots.count - len(spots.at_s)
    return f"{where}{times}" + (f" and {more} more" if more > 0 else "")


def clock(programme: Programme, samples: int) -> str:
    """'4:03.250', halves up."""
    milliseconds = (2000 * samples + programme.rate_hz) // (2 * programme.rate_hz)
    return words.clock(milliseconds / 1000, 3)
