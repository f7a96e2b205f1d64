"""PQ sheets and side sheets: every place and length of a disc or side, in words. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterator

from delivery.model.carrier import Programme, Song, msf
from delivery.model.part import Delivery, Image
from delivery.model.release import Track
from delivery.model.spec import Spec
from delivery.report import view_words as words
from delivery.report.view_nouns import Fact
from delivery.report.view_numbers import amount
from delivery.report.view_parts import Desk, format_of
from delivery.report.view_together import CarrierPart, CarrierSheet

PQ_COLUMNS = ("No.", "Title", "Index 0", "Index 1", "Length", "Pause", "ISRC", "Flags")
PQ_SHARES = (0.05, 0.29, 0.10, 0.10, 0.10, 0.10, 0.15, 0.11)
SIDE_COLUMNS = ("No.", "Title", "Begins", "Ends", "Length", "Gap before", "ISRC")
SIDE_SHARES = (0.06, 0.30, 0.12, 0.12, 0.12, 0.12, 0.16)
PQ_CLOCK = "Times are minutes:seconds:frames on the disc's own clock; a frame is 1/75 s, 588 samples."
SIDE_CLOCK = "Times are minutes:seconds in the side's file, from its first sample."
UNTOUCHED = "Nothing was processed: songs are joined as they were approved."
LISTEN = (
    ("clip_runs_at_s", "Hard-clipped at"),
    ("sibilant_spots_at_s", "Sibilance-prone at"),
)


def sheets(desk: Desk) -> tuple[CarrierSheet, ...]:
    """One for each spec that has discs or sides, by spec."""
    delivery = desk.delivery
    return tuple(
        _sheet(desk, spec, delivery.images_of(spec.id)) for spec in delivery.specs if delivery.images_of(spec.id)
    )


def _sheet(desk: Desk, spec: Spec, images: tuple[Image, ...]) -> CarrierSheet:
    frames = images[0].programme.carrier.in_frames
    return CarrierSheet(
        spec=spec.id,
        title="PQ sheet" if frames else "Side sheet",
        file_name="pq-sheet.pdf" if frames else "side-sheet.pdf",
        facts=tuple(_facts(desk.delivery, spec)),
        columns=PQ_COLUMNS if frames else SIDE_COLUMNS,
        shares=PQ_SHARES if frames else SIDE_SHARES,
        parts=tuple(_part(desk, spec, image) for image in images),
        notes=(PQ_CLOCK,) if frames else (SIDE_CLOCK, UNTOUCHED),
        written=all(image.shipped for image in images),
    )


def _facts(delivery: Delivery, spec: Spec) -> Iterator[Fact]:
    release, studio = delivery.release, delivery.studio
    contact = ", ".join(words.plain(line) for line in studio.contact.splitlines() if line.strip())
    yield Fact("Catalogue number", words.supplied(release.catalogue_number))
    yield Fact("UPC / EAN", words.supplied(release.upc))
    if spec.carrier and spec.carrier.in_frames:
        known = re.fullmatch(r"[0-9]{12,13}", release.upc)
        yield Fact("Media catalogue number", release.upc.zfill(13) if known else words.NOT_SUPPLIED)
    yield Fact("Label", words.supplied(release.label))
    yield Fact("Engineer", words.supplied(studio.engineer))
    yield Fact("Studio", words.supplied(studio.name))
    yield Fact("Contact", contact or words.NOT_SUPPLIED)
    yield Fact("Dated", words.day(release.dated))


def _part(desk: Desk, spec: Spec, image: Image) -> CarrierPart:
    programme = image.programme
    frames = programme.carrier.in_frames
    return CarrierPart(
        name=programme.heading,
        pressed=str(programme.pressing),
        total=msf(programme.lead_out) if frames else clock(programme, programme.length),
        facts=tuple(_part_facts(desk, spec, image)),
        rows=tuple(_pq_rows(desk, programme) if frames else _side_rows(desk, programme)),
        notes=tuple(_pq_notes(programme) if frames else _side_notes(image)),
    )


def _part_facts(desk: Desk, spec: Spec, image: Image) -> Iterator[Fact]:
    programme, shipped = image.programme, image.shipped
    yield Fact("File", words.plain(image.name))
    yield Fact("Form", format_of(image.target))
    yield Fact("Tracks", str(len(programme.songs)))
    yield Fact("Samples", str(programme.length))
    if programme.carrier.in_frames:
        yield Fact("Lead-out", msf(programme.lead_out))
    for name, row in (("Good up to", "part_length_good"), ("At most", "part_length_max")):
        if told := _limit(spec, programme, row):
            yield Fact(name, told)
    if shipped:
        for name, figure in (("True peak", "true_peak_dbtp"), ("Loudness", "integrated_lufs")):
            if figure in desk.figures:
                yield Fact(name, str(amount(desk.figures[figure], shipped.measurement.readings.get(figure))))
        yield Fact("SHA-256", words.short_hash(shipped.sha256))
        yield Fact("MD5", shipped.md5)
    else:
        yield Fact("SHA-256", words.plain(image.problem) or "not written")


def _limit(spec: Spec, programme: Programme, asks: str) -> str:
    for row in spec.limit(asks) or ():
        size, speed = row.get("size_inch"), row.get("speed_rpm")
        if size in (None, programme.pressing.size_inch) and speed in (None, programme.pressing.speed_rpm):
            return f"{int(row['at_most_s']) // 60}:{int(row['at_most_s']) % 60:02}"
    return ""


def _pq_rows(desk: Desk, programme: Programme) -> Iterator[tuple[str, ...]]:
    flags = "copy permitted" if programme.carrier.copy_permitted else "copy prohibited"
    for song in programme.songs:
        track = desk.track(song.position)
        index_0 = 0 if song.number == 1 else programme.on_carrier(song.pause)
        index_1 = programme.on_carrier(song.mark)
        yield (
            f"{song.number:02}",
            _title(desk, track),
            msf(index_0),
            msf(index_1),
            msf(programme.track_frames(song)),
            msf(index_1 - index_0),
            words.isrc(track.isrc),
            flags,
        )


def _side_rows(desk: Desk, programme: Programme) -> Iterator[tuple[str, ...]]:
    before = 0
    for song in programme.songs:
        track = desk.track(song.position)
        gap = clock(programme, song.begins - before)
        yield (
            f"{programme.label}{song.number}",
            _title(desk, track),
            clock(programme, song.begins),
            clock(programme, song.ends),
            clock(programme, song.length),
            "runs on" if song.joined else gap if song.begins > before else "",
            words.isrc(track.isrc),
        )
        before = song.ends


def _title(desk: Desk, track: Track) -> str:
    """With its artists where they are not the release's."""
    title, release = words.titled(track.title, track.version), desk.delivery.release
    artist = words.credited(track.artists, release.artist)
    return title if artist == words.supplied(release.artist) else f"{title}, {artist}"


def _pq_notes(programme: Programme) -> Iterator[str]:
    pause = msf(programme.first_pause)
    yield f"The image begins at {pause}: the pause in front of it belongs to the disc and is not in the file."
    padded = [f"track {song.number} by {song.padding}" for song in programme.songs if song.padding]
    if padded:
        yield f"Filled up to a frame with silent samples: {words.listed(padded)}."
    early = [_early(programme, song) for song in programme.songs if programme.early(song)]
    if early:
        yield f"Songs that run on into each other are not padded; their marks stand early: {words.listed(early)}."
    yield "Pre-emphasis off, two channels, audio."


def _early(programme: Programme, song: Song) -> str:
    return f"track {song.number} by {words.counted(programme.early(song), 'sample')}"


def _side_notes(image: Image) -> Iterator[str]:
    if image.shipped is None:
        return
    value = image.shipped.measurement.value
    for figure, says in LISTEN:
        if times := value(figure):
            yield f"{says} {', '.join(map(words.at, times))}. Places to listen to, no faults."
    lowest, bands, at_s = (value(f"low_band_{name}") for name in ("correlations_min", "hz", "at_s"))
    if lowest:
        told = [f"{low:+.2f} below {hz} Hz at {words.at(at)}" for low, hz, at in zip(lowest, bands, at_s, strict=True)]
        yield f"Lowest correlation of left and right over 3 s: {words.listed(told)}."


def clock(programme: Programme, samples: int) -> str:
    """'4:03.250', halves up."""
    milliseconds = (2000 * samples + programme.rate_hz) // (2 * programme.rate_hz)
    return words.clock(milliseconds / 1000, 3)
