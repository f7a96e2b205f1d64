"""A cue sheet beside each disc's image: titles, codes, and start of every track in minutes, seconds and frames.

Times count from the image's first sample. The pause before it belongs to the disc and is not in the file, so times on
the disc's clock, in the PQ list, are later by that pause (2 s, IEC 60908).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from delivery.model.carrier import Programme, Song, msf
from delivery.model.cd_text import disc_text, flags, media_number, track_text
from delivery.model.part import Delivery, Image
from delivery.model.release import Release
from delivery.model.spec import Spec
from delivery.model.subcode import CdText
from delivery.pack.carried import shipped_images, track_of
from delivery.pack.paper import CarrierPaper


def render(delivery: Delivery, spec: Spec) -> Mapping[str, bytes]:
    """'<image>.cue' for each image: UTF-8 with CRLF, as programs that read it expect."""
    return {
        f"{image.name.removesuffix('.wav')}.cue": cue_sheet(delivery.release, image).encode("utf-8")
        for image, _ in shipped_images(delivery, spec)
        if image.programme.carrier.in_frames
    }


def cue_sheet(release: Release, image: Image) -> str:
    """The cue sheet of a disc's image."""
    return "".join(f"{line}\r\n" for line in _lines(release, image))


def _lines(release: Release, image: Image) -> Iterator[str]:
    if number := media_number(release):
        yield f"CATALOG {number}"
    yield from _texts(disc_text(release))
    yield f'FILE "{image.name}" WAVE'
    for song in image.programme.songs:
        yield from _track(release, image.programme, song)


def _track(release: Release, programme: Programme, song: Song) -> Iterator[str]:
    track = track_of(release, song)
    yield f"  TRACK {song.number:02} AUDIO"
    control = flags(track, programme.carrier)
    if sentence := [
        flag for flag, is_set in (("DCP", control.copy_permitted), ("PRE", control.pre_emphasis)) if is_set
    ]:
        yield f"    FLAGS {' '.join(sentence)}"
    yield from (f"    {line}" for line in _texts(track_text(track, release)))
    if track.isrc:
        yield f"    ISRC {track.isrc}"
    if song.pause < song.mark:
        yield f"    INDEX 00 {msf(song.pause)}"
    yield f"    INDEX 01 {msf(song.mark)}"
    yield from (f"    INDEX {index.number:02} {msf(index.frame)}" for index in song.indices)


def _texts(text: CdText) -> Iterator[str]:
    """CD-Text; fields without a command are written as remarks, which programs ignore or know."""
    for command, sentence in (
        ("TITLE", text.title),
        ("PERFORMER", text.performer),
        ("SONGWRITER", text.songwriter),
        ("REM COMPOSER", text.composer),
        ("REM ARRANGER", text.arranger),
        ("REM MESSAGE", text.message),
        ("REM GENRE", text.genre),
        ("REM DISC_ID", text.disc_id),
    ):
        if sentence:
            yield f"{command} {_quoted(sentence)}"


def _quoted(text: str) -> str:
    """Text in quotes; the format cannot escape a quote, so it becomes an apostrophe."""
    return '"' + " ".join(text.replace('"', "'").split()) + '"'


PAPER = CarrierPaper(
    id="cue_sheet",
    sentence="a cue sheet beside each disc's image, with titles, codes and index points",
    render=render,
)
