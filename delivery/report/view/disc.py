"""The PQ sheet's rows and notes: index points, flags and CD-Text of a disc, in words. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from delivery.model.carrier import Programme, Song, msf
from delivery.model.cd_text import disc_text, flags, track_text
from delivery.model.release import Release
from delivery.model.side import first_gap
from delivery.model.subcode import CdText
from delivery.report.view import words
from delivery.report.view.album import CarrierTable
from delivery.report.view.parts import ReportContext

COLUMNS = ("No.", "Title", "Index 0", "Index 1 on", "Length", "Pause", "ISRC", "Flags")
SHARES = (0.05, 0.28, 0.10, 0.11, 0.10, 0.10, 0.15, 0.11)
TIMES = frozenset({"Index 0", "Index 1 on", "Length", "Pause"})
CLOCK = "Times are minutes:seconds:frames on the disc's own clock; a frame is 1/75 s, 588 samples."
TEXT_COLUMNS = ("No.", "Title", "Performer", "Songwriter", "Composer", "Arranger")
TEXT_SHARES = (0.06, 0.24, 0.22, 0.16, 0.16, 0.16)


def rows(context: ReportContext, programme: Programme) -> Iterator[tuple[str, ...]]:
    """One for each track, and below it one for each index point from 2 on."""
    for song in programme.songs:
        track = context.track(song.position)
        index_0 = 0 if song.number == 1 else programme.on_carrier(song.pause)
        index_1 = programme.on_carrier(song.mark)
        yield (
            f"{song.number:02}",
            context.named(track),
            msf(index_0),
            msf(index_1),
            msf(programme.track_frames(song)),
            msf(index_1 - index_0),
            words.isrc(track.isrc),
            flags(track, programme.carrier).text,
        )
        for index in song.indices:
            yield "", f"index {index.number}", "", msf(programme.on_carrier(index.frame)), "", "", "", ""


def texts(release: Release, programme: Programme) -> tuple[CarrierTable, ...]:
    """CD-Text as the cue sheet and the PQ list have it."""
    disc = disc_text(release)
    text_now = [("disc", disc), *(_numbered(song, release) for song in programme.songs)]
    table = CarrierTable(
        "CD-Text",
        TEXT_COLUMNS,
        TEXT_SHARES,
        tuple(
            (number, *map(words.plain, (text.title, text.performer, text.songwriter, text.composer, text.arranger)))
            for number, text in text_now
        ),
    )
    return (table,)


def _numbered(song: Song, release: Release) -> tuple[str, CdText]:
    return f"{song.number:02}", track_text(release.track(song.position), release)


def notes(release: Release, programme: Programme) -> Iterator[str]:
    """Sentences about a disc's image."""
    pause = msf(programme.first_pause)
    yield f"The image begins at {pause}: the pause in front of it belongs to the disc and is not in the file."
    if first := first_gap(release, programme):
        yield first
    padded = [f"track {song.number} by {song.padding}" for song in programme.songs if song.padding]
    if padded:
        yield f"Filled up to a frame with silent samples: {words.listed(padded)}."
    yield from _pregaps(programme)
    joined = [_early(programme, song) for song in programme.songs if song.joined and programme.early(song)]
    if joined:
        yield f"Songs that continue without a break are not padded; their marks are early: {words.listed(joined)}."
    yield from _moved(programme)
    points = [
        f"index {index.number} of track {song.number} by {words.counted(index.early, 'sample')}"
        for song in programme.songs
        for index in song.indices
        if index.early
    ]
    if points:
        yield f"Index points are rounded down to the start of their frame, early by: {words.listed(points)}."
    emphasised = [str(song.number) for song in programme.songs if release.track(song.position).pre_emphasis]
    if emphasised:
        yield (
            f"Pre-emphasis (50/15 µs) is flagged on track {words.listed(emphasised)}, as stated: the masters came "
            "emphasised, nothing here was. Two channels, audio."
        )
    else:
        yield "Pre-emphasis off, two channels, audio."
    further = disc_text(release)
    text_now = [
        f"{name} {words.plain(text)}" for name, text in (("genre", further.genre), ("disc", further.disc_id)) if text
    ]
    if text_now:
        yield f"CD-Text of the disc also has: {', '.join(text_now)}."
    messages = [(f"track {s.number}", track_text(release.track(s.position), release)) for s in programme.songs]
    for where, text in (("disc", further), *messages):
        if text.message:
            yield f"CD-Text message of {where}: {words.plain(text.message)}"


def _pregaps(programme: Programme) -> Iterator[str]:
    """Sound before index 1: no player begins there by itself."""
    for song in programme.songs:
        if song.pregap:
            length = words.clock(song.pregap / programme.rate_hz, 3)
            where = (
                "hidden before track one; players reach it by rewinding" if song.number == 1 else "played on the way"
            )
            yield (f"The first {length} of track {song.number}'s sound are before its index 1, in the pause: {where}.")


def _moved(programme: Programme) -> Iterator[str]:
    """Marks that are early or ends that are late because the spec requires it: where the silence allowed how much."""
    frame, carrier = programme.carrier.frame_samples, programme.carrier
    early = [
        f"track {song.number} by {words.counted(programme.early(song) // frame, 'frame')}"
        for song in programme.songs
        if not song.joined and programme.early(song)
    ]
    late = [
        f"track {song.number} by {words.counted(programme.late_frames(song), 'frame')}"
        for song in programme.songs
        if programme.late_frames(song)
    ]
    if carrier.mark_early_frames:
        yield (
            f"Required: {words.counted(carrier.mark_early_frames, 'frame')} from index 1 to the sound (common "
            f"practice, no source); silence allowed: {words.listed(early) if early else 'none'}. No sample was moved."
        )
    if carrier.mark_late_frames:
        yield (
            f"Required: tracks end {words.counted(carrier.mark_late_frames, 'frame')} after their sound (common "
            f"practice, no source); silence allowed: {words.listed(late) if late else 'none'}."
        )


def _early(programme: Programme, song: Song) -> str:
    return f"track {song.number} by {words.counted(programme.early(song), 'sample')}"
