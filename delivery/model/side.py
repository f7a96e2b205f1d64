"""What a cutting room requires of a side: silence, bands, and places to listen to. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from delivery.model.figure import Measurement
from delivery.model.spec import Spec

if TYPE_CHECKING:
    from delivery.model.carrier import Programme, Song
    from delivery.model.part import Delivery, Image
    from delivery.model.release import Release

LISTEN: Mapping[str, tuple[str, str]] = {
    "clip_runs_at_s": ("Hard-clipped", "clip_run_count"),
    "sibilant_spots_at_s": ("Sibilance-prone", "sibilant_spots"),
}
"""Figure with the times -> description, and the figure with the total count."""


LEAST_SILENCE_S = 1.0
"""Shorter ones are rests; longer ones look like the end of a song."""


@dataclass(frozen=True, slots=True)
class Spots:
    """Positions within one song, on the side's clock."""

    text: str
    """'Hard-clipped', 'Sibilance-prone', 'Low frequencies out of phase'."""
    song: Song | None
    """None: song unknown."""
    at_s: tuple[float, ...]
    """Seconds from the file's first sample."""
    count: int
    """Total count; the times are those of the worst."""


Kind = Callable[[Spec, Measurement, "Song | None", float], Iterator[Spots]]


def first_gap(release: Release, programme: Programme) -> str:
    """What becomes of a gap stated before the first song of a disc or side; empty if it is just the pause."""
    gap_s = release.track(programme.songs[0].position).gap_before_s or 0.0
    if not gap_s:
        return ""
    if not programme.carrier.in_frames:
        first = f"{programme.label}{programme.songs[0].number}"
        return f"The gap of {gap_s:g} s stated before {first} is left out: a side begins with its first song."
    pause_s = programme.carrier.first_pause_s
    stated = f"The gap of {gap_s:g} s stated before track {programme.songs[0].number} of {programme.name}"
    if gap_s > pause_s:
        return f"{stated}: {pause_s:g} s of it are the disc's own pause, the rest begins the image."
    return f"{stated} is shorter than the pause of {pause_s:g} s that a disc begins with." if gap_s < pause_s else ""


def spots(delivery: Delivery, spec: Spec, image: Image) -> tuple[Spots, ...]:
    """Places to listen to, by kind, then song: each song's own, which a louder neighbour would hide.

    A song with unchanged samples has its master's places. If any song was converted, those of the written side are
    listed, without a song.
    """
    begins = [(song, _measured(delivery, image, song)) for song in image.programme.songs]
    looked_at: list[tuple[Song | None, float, Measurement | None]]
    if all(measured for _, measured in begins):
        looked_at = [(song, song.begins / image.programme.rate_hz, measured) for song, measured in begins]
    else:
        looked_at = [(None, 0.0, image.shipped.measurement if image.shipped else None)]
    kinds = (*map(_timed, LISTEN), _phase)
    return tuple(
        found
        for kind in kinds
        for song, begins_s, measured in looked_at
        if measured
        for found in kind(spec, measured, song, begins_s)
    )


def audible_silence_s(delivery: Delivery, image: Image, song: Song) -> float | None:
    """Silence (under -60 dBFS) before a song: tail of the one before, gap, and own lead-in; None if unknown."""
    rate_hz, earlier = image.programme.rate_hz, None
    for other in image.programme.songs:
        if other.number == song.number - 1:
            earlier = other
    lead_in_s = _figure(delivery, song, "lead_in_s")
    tail_s = _figure(delivery, earlier, "tail_s") if earlier else 0.0
    if lead_in_s is None or tail_s is None:
        return None
    gap_s = (song.begins - (earlier.ends if earlier else 0)) / rate_hz
    return tail_s + gap_s + lead_in_s


def ending_silence_s(delivery: Delivery, image: Image) -> float | None:
    """Silence after the last song, padding included."""
    last = image.programme.songs[-1]
    tail_s = _figure(delivery, last, "tail_s")
    return None if tail_s is None else tail_s + (image.programme.length - last.ends) / image.programme.rate_hz


def inner_silences(delivery: Delivery, image: Image, song: Song) -> tuple[tuple[float, float], ...]:
    """Silences of a second or more within a song: position on the side and length, in seconds."""
    measured = delivery.source(song.position).measurement
    found = (measured.value("inner_silences") if measured else None) or ()
    begins_s = song.begins / image.programme.rate_hz
    return tuple((begins_s + at_s, length_s) for at_s, length_s in sorted(found) if length_s >= LEAST_SILENCE_S)


def band(delivery: Delivery, song: Song) -> str:
    """'yes', 'no', or 'not stated': whether a visible band is cut before the song."""
    stated = delivery.release.track(song.position).band
    return "not stated" if stated is None else "yes" if stated else "no"


def cut_as(delivery: Delivery) -> str:
    """Cutting instructions in the trade's terms."""
    return {
        "flat": "flat: cut as it is, nothing is to be changed",
        "processing_allowed": "processing allowed: the cutting engineer may treat what the cut needs",
    }.get(delivery.release.cutting.how, "not stated: ask before anything is changed")


def _timed(figure: str) -> Kind:
    text, counted = LISTEN[figure]

    def kind(_spec: Spec, measured: Measurement, song: Song | None, begins_s: float) -> Iterator[Spots]:
        if times := measured.value(figure):
            count = measured.value(counted)
            yield Spots(text, song, tuple(begins_s + at_s for at_s in times), int(count or len(times)))

    return kind


def _phase(spec: Spec, measured: Measurement, song: Song | None, begins_s: float) -> Iterator[Spots]:
    """By the spec's own frequency and correlation; if it has none, below 300 Hz and 0."""
    limit = spec.limit("low_band_phase") or {"below_hz": 300, "at_least": 0.0}
    bands, lowest, at_s = (measured.value(f"low_band_{name}") for name in ("hz", "correlations_min", "at_s"))
    if not bands or limit["below_hz"] not in bands:
        return
    at = list(bands).index(limit["below_hz"])
    if lowest[at] < limit["at_least"]:
        text = f"Low frequencies out of phase (correlation {lowest[at]:+.2f} below {bands[at]} Hz over 3 s)"
        yield Spots(text, song, (begins_s + at_s[at],), 1)


def _measured(delivery: Delivery, image: Image, song: Song) -> Measurement | None:
    """The master's figure, if it ships unchanged."""
    part = next((p for p in delivery.of_track(song.position) if p.spec == image.spec), None)
    if part is None or part.chain is None or not part.chain.identical:
        return None
    return delivery.source(song.position).measurement


def _figure(delivery: Delivery, song: Song | None, name: str) -> float | None:
    measured = delivery.source(song.position).measurement if song else None
    value = measured.value(name) if measured else None
    return None if value is None else float(value)
