"""The side sheet as plain text: what is on each side, where every song begins and ends, and where to listen."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from delivery.model.carrier import Programme
from delivery.model.part import Delivery, Image, Shipped
from delivery.model.release import Track
from delivery.model.spec import Spec
from delivery.pack.carried import NOT_SUPPLIED, clock, number_of, shipped_images, title_of, track_of
from delivery.pack.paper import CarrierPaper

WHERE: Mapping[str, str] = {
    "clip_runs_at_s": "Hard-clipped",
    "sibilant_spots_at_s": "Sibilance-prone",
}


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


def _side(delivery: Delivery, spec: Spec, image: Image, shipped: Shipped) -> Iterator[str]:
    programme, value = image.programme, shipped.measurement.value
    pressed = str(programme.pressing)
    yield f"{programme.name.upper()}" + (f", {pressed}" if pressed else "")
    yield f"File {image.name}, {image.target.bits} bit, {programme.rate_hz / 1000:g} kHz"
    yield f"Length {clock(programme.length, programme.rate_hz)} of {_limits(spec, programme)}"
    yield f"SHA-256 {shipped.sha256}"
    yield ""
    yield f"{'':4}{'begins':>11}{'ends':>12}{'length':>11}{'gap before':>12}  title"
    before = 0
    for song in programme.songs:
        track = track_of(delivery.release, song)
        rate_hz = programme.rate_hz
        gap = "runs on" if song.joined else f"{(song.begins - before) / rate_hz:.3f} s" if song.begins > before else ""
        yield (
            f"{number_of(programme, song):4}{clock(song.begins, rate_hz):>11}{clock(song.ends, rate_hz):>12}"
            f"{clock(song.length, rate_hz):>11}{gap:>12}  {_titled(track)}"
        )
        before = song.ends
    peak, loudness = value("true_peak_dbtp"), value("integrated_lufs")
    yield ""
    yield f"Highest true peak {_number(peak, 'dBTP')}, loudness {_number(loudness, 'LUFS')}"
    yield from _listen(shipped)


def _titled(track: Track) -> str:
    return f"{title_of(track)}  {track.isrc}".rstrip()


def _limits(spec: Spec, programme: Programme) -> str:
    told = [
        f"{word} {clock(round(row['at_most_s'] * 1000), 1000).removesuffix('.000')}"
        for word, asks in (("good", "part_length_good"), ("at most", "part_length_max"))
        for row in spec.limit(asks) or ()
        if programme.pressing.size_inch == row.get("size_inch", programme.pressing.size_inch)
        and programme.pressing.speed_rpm == row.get("speed_rpm", programme.pressing.speed_rpm)
    ]
    return ", ".join(told) or "no stated limit"


def _number(value: float | None, unit: str) -> str:
    return "not measured" if value is None else f"{value:+.2f} {unit}"


def _listen(shipped: Shipped) -> Iterator[str]:
    """Times on the side at which a cutter would listen first."""
    value = shipped.measurement.value
    for figure, says in WHERE.items():
        times = value(figure) or ()
        if times:
            yield f"{says} at {', '.join(clock(round(at_s * 1000), 1000) for at_s in times)}"
    correlations, bands, at_s = (value(f"low_band_{n}") for n in ("correlations_min", "hz", "at_s"))
    if correlations:
        yield (
            f"Lowest correlation below {bands[-1]} Hz: {correlations[-1]:+.2f} at "
            f"{clock(round(at_s[-1] * 1000), 1000)} (over 3 s)"
        )


PAPER = CarrierPaper(
    id="side_sheet",
    says="the side sheet as text: order, where each song begins and ends, lengths, places to listen to",
    render=render,
)
