"""A cue sheet beside each disc's image: titles, codes, and where every track begins, in minutes, seconds and frames.

Times count from the image's first sample. The pause that stands before it belongs to the disc and is not in the file,
so the disc's own clock, in the PQ list, is later by that pause (2 s, IEC 60908).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from delivery.model.carrier import Programme, Song, msf
from delivery.model.part import Delivery, Image
from delivery.model.release import Release
from delivery.model.spec import Spec
from delivery.pack.carried import media_number, performer_of, shipped_images, title_of, track_of
from delivery.pack.paper import CarrierPaper


def render(delivery: Delivery, spec: Spec) -> Mapping[str, bytes]:
    """'<image>.cue' for each image: UTF-8, CRLF as the programs that read it expect."""
    return {
        f"{image.name.removesuffix('.wav')}.cue": cue_sheet(delivery.release, image).encode("utf-8")
        for image, _ in shipped_images(delivery, spec)
        if image.programme.carrier.in_frames
    }


def cue_sheet(release: Release, image: Image) -> str:
    return "".join(f"{line}\r\n" for line in _lines(release, image))


def _lines(release: Release, image: Image) -> Iterator[str]:
    if number := media_number(release):
        yield f"CATALOG {number}"
    yield f"PERFORMER {_quoted(release.artist)}"
    yield f"TITLE {_quoted(release.title)}"
    yield f'FILE "{image.name}" WAVE'
    for song in image.programme.songs:
        yield from _track(release, image.programme, song)


def _track(release: Release, programme: Programme, song: Song) -> Iterator[str]:
    track = track_of(release, song)
    yield f"  TRACK {song.number:02} AUDIO"
    if programme.carrier.copy_permitted:
        yield "    FLAGS DCP"
    yield f"    TITLE {_quoted(title_of(track))}"
    yield f"    PERFORMER {_quoted(performer_of(track, release))}"
    if track.lyricists:
        yield f"    SONGWRITER {_quoted(', '.join(track.lyricists))}"
    if track.isrc:
        yield f"    ISRC {track.isrc}"
    if song.pause < song.mark:
        yield f"    INDEX 00 {msf(song.pause)}"
    yield f"    INDEX 01 {msf(song.mark)}"


def _quoted(text: str) -> str:
    """Text in quotes; the form knows no way to write a quote inside, so it becomes an apostrophe."""
    return '"' + " ".join(text.replace('"', "'").split()) + '"'


PAPER = CarrierPaper(
    id="cue_sheet",
    says="a cue sheet beside each disc's image, with titles, codes and index points",
    render=render,
)
