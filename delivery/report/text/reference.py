"""What `compare --reference` and `reference` print, for 80 columns, readable when piped."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from delivery.model.reference import Beside, Mark, Reference, ReferenceComparison
from delivery.report.view import reference as view
from delivery.report.view import words
from delivery.report.view.reference_opening import opening

ALBUM_HEADS = ("LUFS", "3 s max", "Range", "PLR", "PSR", "Width", "Tilt")
"""Of the figures in view.SHORT, for a column each."""
FEW_PLACES, FEW_BANDS = 2, 2
"""On a screen; all with --all."""


def comparison(found: ReferenceComparison, *, everything: bool) -> list[RenderableType]:
    """A song in at most a screen, or an album with a line for each song; everything: all bands and figures."""
    shown: list[RenderableType] = []
    if found.album and not everything:
        shown += [*_song(found.album, found, everything=False), "", _album_table(found.songs)]
    else:
        for song in (*((found.album,) if found.album else ()), *found.songs):
            shown += [*_song(song, found, everything=everything), ""]
        shown = shown[:-1]
    return [*shown, *([""] if everything else []), *_remarks(found, everything=everything)]


def _song(song: Beside, found: ReferenceComparison, *, everything: bool) -> Iterator[RenderableType]:
    name = words.plain(found.reference.name)
    tracks = words.counted(len(found.reference.tracks), "track")
    yield Text(f"{words.plain(song.title)} beside {name} ({tracks})", style="bold")
    yield Text(" ".join(opening(song)))
    yield ""
    yield _table(view.rows(song) if everything else (*view.rows(song, view.SHORT), *view.standing_out(song, FEW_BANDS)))
    if everything:
        yield ""
        yield _playback(song)
        yield ""
    else:
        yield Text(view.playback_line(song))
    yield from _places(song, everything=everything)
    if everything:
        yield ""
        yield Text("Third octaves, each less the song's own integrated loudness", style="bold")
        yield _table(view.band_rows(song.third_octaves))


def _places(song: Beside, *, everything: bool) -> Iterator[RenderableType]:
    if song.bar_s is None:
        return
    rows = view.place_rows(song) if everything else view.thin_or_crowded_rows(song)[:FEW_PLACES]
    if rows:
        yield _place_table(rows)
    else:
        yield Text("No band is thin or crowded for longer than a bar.")
    if everything:
        yield Text(f"{view.bar_remark(song)} {view.PLACE_NOTE}" if rows else view.bar_remark(song))
    else:
        yield Text(f"{view.bar_remark(song)} {view.more_places(song, len(rows))}".strip())


def _place_table(rows: Sequence[Sequence[str]]) -> RenderableType:
    table = Table(box=None, show_edge=False, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for at, head in enumerate(view.PLACE_HEADS):
        table.add_column(head, justify="right" if at > 2 else "left", no_wrap=at > 0, overflow="fold")
    for row in rows:
        table.add_row(*map(Text, row))
    return table


def _table(rows: Sequence[view.Row]) -> RenderableType:
    quartiles = any(row.median for row in rows)
    table = Table(box=None, show_edge=False, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("", overflow="fold")
    table.add_column("Song", justify="right", no_wrap=True)
    if quartiles:
        table.add_column("Median", justify="right", no_wrap=True)
    table.add_column("Middle half" if quartiles else "Reference", overflow="fold")
    if quartiles:
        table.add_column("Difference", no_wrap=True)
    for row in rows:
        difference = row.difference if row.place in ("", "inside") else f"{row.difference}, {row.place}"
        middle = (row.median, row.middle_half, difference) if quartiles else (row.middle_half,)
        name = row.name if quartiles or not row.unit else f"{row.name}, {row.unit}"
        table.add_row(Text(name), row.song, *middle)
    return table


def _playback(song: Beside) -> RenderableType:
    """Of each loudness, what a player's gain does."""
    table = Table(box=None, show_edge=False, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    rows = view.playback_rows(song)
    table.add_column("Playback at, LUFS", no_wrap=True)
    for row in rows:
        table.add_column(row[0], justify="right", no_wrap=True)
    for at, name in enumerate(
        ("song: gain, dB", "song: true peak, dBTP", "reference: gain", "reference: true peak"), 1
    ):
        table.add_row(name, *(row[at] for row in rows))
    return table


def _album_table(songs: Sequence[Beside]) -> RenderableType:
    table = Table(box=None, show_edge=False, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("Song", overflow="fold")
    for head in ALBUM_HEADS:
        table.add_column(head, justify="right", no_wrap=True)
    for song in songs:
        table.add_row(Text(words.plain(song.title)), *(row.song for row in view.rows(song, view.SHORT)))
    return table


def _remarks(found: ReferenceComparison, *, everything: bool) -> Iterator[RenderableType]:
    yield from (Text(remark) for remark in (view.remarks(found) if everything else view.short_remarks(found)))
    yield Text(" ".join(view.CAUTION) if everything else f"{view.CAUTION[0]} Every figure and third octave: --all.")


def playlist(reference: Reference, marks: Mapping[str, tuple[Mark, ...]]) -> list[RenderableType]:
    """Every track with its loudness, length and marks."""
    table = Table(box=None, show_edge=False, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("Track", overflow="fold", ratio=1)
    for heading in ("Length", "LUFS", "PLR dB"):
        table.add_column(heading, justify="right", no_wrap=True)
    for track in reference.tracks:
        figures = track.figures
        loudness, plr_db = (figures[name] for name in ("integrated_lufs", "plr_db"))
        table.add_row(
            Text(words.plain(track.file)),
            words.clock(figures["duration_s"], 0),
            "-" if loudness is None else f"{loudness:.1f}",
            "-" if plr_db is None else f"{plr_db:.1f}",
        )
    heading = f"{words.plain(reference.name)}: {words.counted(len(reference.tracks), 'track')}"
    return [Text(heading, style="bold"), table, *marked(marks)]


def marked(marks: Mapping[str, tuple[Mark, ...]]) -> Iterator[RenderableType]:
    """One line for each mark."""
    for file, own in marks.items():
        for mark in own:
            yield Padding(Text(f"{words.plain(file)}: {mark.doubt.value}: {mark.reason}."), (0, 0, 0, 2))
