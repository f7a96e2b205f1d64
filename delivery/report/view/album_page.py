"""The album as one picture: each song in its position, compared with its neighbours and the whole. Pure."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

from delivery.model.album import Cut, Join
from delivery.model.figure import Measurement
from delivery.model.part import Source
from delivery.report.view import words
from delivery.report.view.album import AlbumPicture
from delivery.report.view.columns import only, telling, widened
from delivery.report.view.lengths import lengths
from delivery.report.view.parts import ABSENT, ReportContext, container_title
from delivery.report.view.selections import deliveries, programme_totals

TITLE = "The album"
COLUMNS = ("No.", "Title", "Length", "Gap", "At the cut", "LUFS", "± album", "Low", "Mid", "High")
SHARES = (0.05, 0.22, 0.065, 0.085, 0.13, 0.066, 0.10, 0.10, 0.10, 0.084)
FIGURES = frozenset({2, 3, 5, 6, 7, 8, 9})
PLAIN = COLUMNS.index("± album")
"""Columns before this one have no bars."""
REACHES = (1, 2, 3, 6, 12, 24, 48)
"""LU or dB to either side of a bar's middle line; the least that holds all songs is taken."""
BANDS_HZ = ((0.0, 250.0), (250.0, 4000.0), (4000.0, math.inf))
READ = (
    "± album: loudness against the album as one programme. Low (to 250 Hz), mid and high (from 4 kHz): level of the "
    "band within the song, against the mean of all songs, in dB. At the cut: what the samples on both sides say when "
    "the songs are joined without a gap; 'continues' only where a lost or doubled sample would show."
)


def pictures(context: ReportContext) -> tuple[AlbumPicture, ...]:
    """One for all specs that receive the same tracks; none for a single song."""
    made = (_picture(whom, ReportContext(own, context.figures)) for whom, own in deliveries(context.delivery))
    return tuple(picture for picture in made if picture)


def _picture(whom: str, context: ReportContext) -> AlbumPicture | None:
    delivery = context.delivery
    if len(delivery.sources) < 2:
        return None
    cuts = {join.after: join for join in delivery.joins}
    tones = {source.track.position: _tone(source.measurement) for source in delivery.sources}
    mean = _mean([tone for tone in tones.values() if tone])
    apart = [_apart(context, source, tones[source.track.position], mean) for source in delivery.sources]
    loud_lu, tone_db = _reach(levels[0] for levels in apart), _reach(level for levels in apart for level in levels[1:])
    songs = list(zip(delivery.sources, apart, strict=True))
    rows = [_row(context, source, cuts.get(source.track.position), levels) for source, levels in songs]
    kept = sorted({0, 1, *telling(rows)})
    return AlbumPicture(
        title=f"{TITLE} for {whom}" if whom else TITLE,
        text=programme_totals(delivery, context.figures),
        columns=only(COLUMNS, kept),
        shares=widened(SHARES, kept),
        figures=frozenset(at for at, column in enumerate(kept) if column in FIGURES),
        rows=tuple(only(row, kept) for row in rows),
        bars=tuple(only(_bars(levels, (loud_lu, *[tone_db] * len(BANDS_HZ))), kept) for levels in apart),
        lengths=lengths(context),
        notes=tuple(_notes(context)),
        reads=(READ, f"Bars reach {loud_lu} LU and {tone_db} dB to either side of their middle lines."),
    )


Levels = tuple[float | None, ...]
"""Loudness against the album, LU; then the bands against the mean of all songs, dB. None: not known."""


def _apart(context: ReportContext, source: Source, tone: Sequence[float] | None, mean: Sequence[float]) -> Levels:
    known = source.measurement or Measurement({})
    loudness, album = known.value("integrated_lufs"), context.delivery.album.get("integrated_lufs")
    against = None if loudness is None or album is None else loudness - album
    if tone is None:
        return (against, *[None] * len(BANDS_HZ))
    return (against, *(level - usual for level, usual in zip(tone, mean, strict=True)))


def _reach(levels: Iterable[float | None]) -> int:
    most = max((abs(level) for level in levels if level is not None), default=0.0)
    return next((reach for reach in REACHES if most <= reach), REACHES[-1])


def _bars(levels: Levels, reaches: Sequence[int]) -> Levels:
    shares = (
        None if level is None else min(max(level / reach, -1.0), 1.0)
        for level, reach in zip(levels, reaches, strict=True)
    )
    return (*[None] * PLAIN, *shares)


def _row(context: ReportContext, source: Source, cut: Join | None, levels: Levels) -> tuple[str, ...]:
    track, known = source.track, source.measurement or Measurement({})
    loudness, duration_s = known.value("integrated_lufs"), known.value("duration_s")
    return (
        context.numbers[track.position],
        words.titled(track.title, track.version),
        "no file" if duration_s is None else words.clock(duration_s, 0),
        "" if cut is None else words.NOT_STATED if cut.gap_s is None else f"{cut.gap_s:g} s",
        _cut(cut),
        ABSENT if loudness is None else f"{loudness:.1f}",
        *map(_level, levels),
    )


def _cut(join: Join | None) -> str:
    if join is None:
        return ""
    if join.cut is Cut.STEP:
        return f"{join.cut.value}, {join.step_db:.0f} dB"
    return join.cut.value


def _level(apart_db: float | None) -> str:
    return ABSENT if apart_db is None else f"{apart_db:+z.1f}"


def _tone(measurement: Measurement | None) -> tuple[float, ...] | None:
    """Level of the three bands within the song, dB."""
    if measurement is None or measurement.value("third_octave_db") is None:
        return None
    bands = list(zip(measurement.value("third_octave_hz"), measurement.value("third_octave_db"), strict=True))
    powers = [sum(10 ** (db / 10) for hz, db in bands if low <= hz < high) for low, high in BANDS_HZ]
    return tuple(10 * math.log10(max(power, 1e-12)) for power in powers)


def _mean(tones: Sequence[Sequence[float]]) -> tuple[float, ...]:
    """Power mean of the songs, each counting once."""
    if not tones:
        return (0.0,) * len(BANDS_HZ)
    return tuple(
        10 * math.log10(sum(10 ** (level / 10) for level in levels) / len(levels))
        for levels in zip(*tones, strict=True)
    )


def _notes(context: ReportContext) -> Iterator[str]:
    delivery = context.delivery
    lost = [f"{context.numbers[source.track.position]}" for source in delivery.sources if source.measurement is None]
    if lost:
        yield f"No usable file for track {words.listed(lost)}."
    if delivery.unnamed:
        yield f"Sound files no track names: {words.listed(map(words.plain, delivery.unnamed))}."
    yield from _numbered_otherwise(context)
    yield from _mixed(context)
    for pair in delivery.likenesses:
        one, other = context.numbers[pair.one], context.numbers[pair.other]
        if pair.exact:
            yield f"Tracks {one} and {other} hold the same samples."
        elif pair.stretches:
            held = [
                f"{words.clock(each.one_s, 0)} of {one} is {words.clock(each.other_s, 0)} of {other}, for "
                f"{each.length_s:.0f} s"
                for each in pair.stretches
            ]
            yield (
                f"Tracks {one} and {other} may hold one recording, one of them cut: {pair.share:.0%} of the shorter "
                f"is in the other, {pair.gain_db:+.1f} dB (correlation {pair.correlation:.3f}): "
                f"{words.listed(held)}. Listen to both."
            )
        else:
            yield (
                f"Tracks {one} and {other} may be one recording: {pair.gain_db:+.1f} dB and {pair.offset_s:+.2f} s "
                f"apart (correlation {pair.correlation:.3f}). Listen to both."
            )


def _numbered_otherwise(context: ReportContext) -> Iterator[str]:
    """File names that begin with another number than the track has, on its disc or on the release."""
    for source in context.delivery.sources:
        found = re.match(r"(?:[0-9]-|[A-Z])?([0-9]{1,2})(?![0-9])", source.track.file.name)
        if found and int(found[1]) not in (source.track.number, source.track.position):
            number = context.numbers[source.track.position]
            yield f"Track {number} is made from '{words.plain(source.track.file.name)}': other order, or another song?"


def _mixed(context: ReportContext) -> Iterator[str]:
    forms: dict[str, list[str]] = defaultdict(list)
    for source in context.delivery.sources:
        if source.measurement:
            forms[_form(source.measurement)].append(context.numbers[source.track.position])
    if len(forms) > 1:
        texts = (f"{form} on {words.listed(words.runs(numbers).split(', '))}" for form, numbers in forms.items())
        yield f"Mixed forms: {'; '.join(texts)}."


def _form(known: Measurement) -> str:
    bits, rate_hz, container = (known.value(name) for name in ("bits", "rate_hz", "container"))
    depth = f"{bits}-bit " if bits else ""
    mono = " mono" if known.value("channels") == 1 else ""
    rate = words.kilohertz(rate_hz) if rate_hz else "no rate"
    return f"{depth}{rate} {container_title(container) if container else ''}{mono}".rstrip()
