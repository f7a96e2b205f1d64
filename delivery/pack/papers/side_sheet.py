"""The side sheet as plain text: contents of each side, start and end of every song, and places to listen to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from delivery.model import side
from delivery.model.bounds import Bound, rounded
from delivery.model.carrier import Programme, Song
from delivery.model.part import Delivery, Image, Shipped
from delivery.model.release import Release, Track
from delivery.model.spec import Spec, bounds_of
from delivery.pack.carried import NOT_SUPPLIED, clock, named, number_of, shipped_images, track_of
from delivery.pack.paper import CarrierPaper


def render(delivery: Delivery, spec: Spec) -> Mapping[str, bytes]:
    """'side-sheet.txt', UTF-8 with LF; times in minutes:seconds from the file's first sample."""
    images = list(shipped_images(delivery, spec))
    if not images:
        return {}
    lines = [*_head(delivery, spec)]
    for image, shipped in images:
        lines += ["", *_side(delivery, spec, image, shipped)]
    return {"side-sheet.txt": "".join(f"{line.rstrip()}\n" for line in lines).encode("utf-8")}


def _head(delivery: Delivery, spec: Spec) -> Iterator[str]:
    release, studio = delivery.release, delivery.studio
    yield f"{release.artist}: {release.title}" + (f" ({release.version})" if release.version else "")
    yield f"Catalogue number {release.catalogue_number or NOT_SUPPLIED}, label {release.label or NOT_SUPPLIED}"
    yield f"Revision {release.revision}, dated {release.dated or 'not stated'}, for: {spec.title}"
    yield f"Engineer {studio.engineer or NOT_SUPPLIED}, {studio.name or 'studio not supplied'}"
    yield from (line for line in studio.contact.splitlines() if line.strip())
    yield "Nothing was processed: songs are joined as they were approved, with the gaps below."
    if spec.carrier and spec.carrier.is_cut:
        yield f"Cut {side.cut_as(delivery)}."
        yield from (f"To the cutting room: {text}" for text in (release.cutting.notes,) if text)


def _side(delivery: Delivery, spec: Spec, image: Image, shipped: Shipped) -> Iterator[str]:
    programme, value = image.programme, shipped.measurement.value
    pressed = str(programme.pressing)
    yield f"{programme.name.upper()}" + (f", {pressed}" if pressed else "")
    yield f"File {image.name}, {image.target.bits} bit, {programme.rate_hz / 1000:g} kHz"
    yield f"Length {clock(programme.length, programme.rate_hz)} of {_limits(spec, programme)}"
    yield f"SHA-256 {shipped.sha256}"
    yield ""
    heads = f"{'':4}{'begins':>11}{'ends':>12}{'length':>11}{'gap before':>12}{'silence':>10}"
    is_cut = programme.carrier.is_cut
    yield f"{heads}  {'band':12}title" if is_cut else f"{heads}  title"
    before = 0
    for song in programme.songs:
        track = track_of(delivery.release, song)
        rate_hz = programme.rate_hz
        gap = (
            "continues" if song.joined else f"{(song.begins - before) / rate_hz:.3f} s" if song.begins > before else ""
        )
        yield (
            f"{number_of(programme, song):4}{clock(song.begins, rate_hz):>11}{clock(song.ends, rate_hz):>12}"
            f"{clock(song.length, rate_hz):>11}{gap:>12}{_silence(delivery, image, song):>10}  "
            f"{f'{_band(delivery, song):12}' if is_cut else ''}{_titled(track, delivery.release)}"
        )
        before = song.ends
    peak, loudness = value("true_peak_dbtp"), value("integrated_lufs")
    yield ""
    yield (
        f"Highest true peak {_number(peak, 'dBTP', bounds_of('true_peak_dbtp', (spec,)))}, "
        f"loudness {_number(loudness, 'LUFS', bounds_of('integrated_lufs', (spec,)))}"
    )
    yield from _silences(delivery, image)
    yield from _listen(delivery, spec, image, shipped)


def _titled(track: Track, release: Release) -> str:
    return f"{named(track, release)}  {track.isrc}".rstrip()


def _limits(spec: Spec, programme: Programme) -> str:
    limits = [
        f"{word} {clock(round(limit_s * 1000), 1000).removesuffix('.000')}"
        for word, key in (("good", "part_length_good"), ("at most", "part_length_max"))
        if (limit_s := programme.pressing.limit_s(spec.limit(key) or ())) is not None
    ]
    return ", ".join(limits) or "no stated limit"


def _number(value: float | None, unit: str, bounds: tuple[Bound, ...]) -> str:
    """A signed number, rounded so that it stays on its side of every limit."""
    if value is None:
        return "not measured"
    text = rounded(value, 2, bounds)
    return f"{text if text.startswith('-') else f'+{text}'} {unit}"


def _silence(delivery: Delivery, image: Image, song: Song) -> str:
    silence_s = side.audible_silence_s(delivery, image, song)
    return "" if silence_s is None else f"{silence_s:.1f} s"


def _band(delivery: Delivery, song: Song) -> str:
    sentence = side.band(delivery, song)
    return "" if song.number == 1 and sentence == "not stated" else sentence


def _silences(delivery: Delivery, image: Image) -> Iterator[str]:
    yield "Silence: everything below -60 dBFS before the song, the ends of both songs included."
    if first := side.first_gap(delivery.release, image.programme):
        yield first
    ending_s = side.ending_silence_s(delivery, image)
    if ending_s is not None:
        yield f"Silence at the end of the side {ending_s:.1f} s"
    for song in image.programme.songs:
        for at_s, length_s in side.inner_silences(delivery, image, song):
            yield f"Silence within {number_of(image.programme, song)} at {_at(at_s)}, for {length_s:.1f} s"


def _at(at_s: float) -> str:
    return clock(round(at_s * 1000), 1000)


def _listen(delivery: Delivery, spec: Spec, image: Image, shipped: Shipped) -> Iterator[str]:
    """Times on the side that a cutting engineer would listen to first."""
    value = shipped.measurement.value
    for spots in side.spots(delivery, spec, image):
        more = spots.count - len(spots.at_s)
        where = f" in {number_of(image.programme, spots.song)}" if spots.song else ""
        times = ", ".join(map(_at, spots.at_s)) + (f" and {more} more" if more > 0 else "")
        yield f"{spots.text}{where} at {times}"
    correlations, bands, at_s = (value(f"low_band_{n}") for n in ("correlations_min", "hz", "at_s"))
    if correlations:
        yield (
            f"Lowest correlation below {bands[-1]} Hz: {correlations[-1]:+.2f} at "
            f"{clock(round(at_s[-1] * 1000), 1000)} (over 3 s)"
        )


PAPER = CarrierPaper(
    id="side_sheet",
    sentence="the side sheet as text: order, where each song begins and ends, lengths, places to listen to",
    render=render,
)
