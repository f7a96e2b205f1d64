"""Masters with another song's tags, and all that programs leave in sound files; made by other libraries."""

from __future__ import annotations

import struct
from pathlib import Path

import av
import mutagen.aiff
import mutagen.apev2
import mutagen.flac
import mutagen.id3 as id3
import mutagen.mp4
import numpy as np
import soundfile
from mutagen.oggopus import OggOpus

from tests.tags.sounds import build, chunks, cover

OLD = {
    "title": "Tally Sticks",
    "artist": "Low Lantern",
    "label": "Quayside Recordings",
    "isrc": "QZABC2400001",
    "upc": "4006381333931",
    "comment": "mixed on Tuesday, do not use",
    "lyrics": "the tide came in at seven",
}
"""Invented; the bar code's check digit is right (GS1)."""

FRAMES = 48_000
MARKS = ((1, 4_800, "verse"), (2, 24_000, "chorus"))
DESCRIPTION, ORIGINATOR, UMID = "bounce 3 of the session", "Wave Editor", bytes(range(1, 65))


def sound(frames: int = FRAMES) -> np.ndarray:
    """Quiet noise between two silences of a tenth of a second."""
    noise = np.random.default_rng(7).integers(-2000, 2000, (frames, 2)).astype(np.int32) << 8
    noise[: frames // 10] = 0
    noise[-frames // 10 :] = 0
    return noise << 8


def old_frames() -> list[id3.Frame]:
    """Every frame of another recording, and what talks."""
    utf8 = id3.Encoding.UTF8
    return [
        id3.TIT2(encoding=utf8, text=OLD["title"]),
        id3.TPE1(encoding=utf8, text=OLD["artist"]),
        id3.TPUB(encoding=utf8, text=OLD["label"]),
        id3.TSRC(encoding=utf8, text=OLD["isrc"]),
        id3.TXXX(encoding=utf8, desc="UPC", text=OLD["upc"]),
        id3.TXXX(encoding=utf8, desc="replaygain_track_gain", text="-7.30 dB"),
        id3.TXXX(encoding=utf8, desc="mood", text="low"),
        id3.COMM(encoding=utf8, lang="eng", desc="", text=OLD["comment"]),
        id3.USLT(encoding=utf8, lang="eng", desc="", text=OLD["lyrics"]),
        id3.PRIV(owner="somebody", data=b"private matters"),
        id3.UFID(owner="somewhere", data=b"12345"),
        id3.APIC(encoding=utf8, mime="image/png", type=3, desc="", data=cover("PNG")),
    ]


def tag() -> bytes:
    import io

    made, body = id3.ID3(), io.BytesIO()
    for frame in old_frames():
        made.add(frame)
    made.save(body, v1=0, padding=lambda _: 0)
    return body.getvalue() + b"\0" * (len(body.getvalue()) % 2)


def info(**texts: str) -> bytes:
    packed = b""
    for name, text in texts.items():
        raw = text.encode() + b"\0"
        packed += name.encode() + struct.pack("<I", len(raw)) + raw + b"\0" * (len(raw) % 2)
    return b"INFO" + packed


def bext(description: str = DESCRIPTION, reference: str = "REF-7", time_reference: int = 48_000 * 3600) -> bytes:
    """Laid out by hand after EBU Tech 3285 v1."""
    body = description.encode().ljust(256, b"\0") + ORIGINATOR.encode().ljust(32, b"\0")
    body += reference.encode().ljust(32, b"\0") + b"2025-12-24" + b"18:30:00"
    body += struct.pack("<QH", time_reference, 1) + UMID + bytes(190)
    return body + b"A=PCM,F=48000,W=24,M=stereo,T=bounce\r\n"


def cue() -> bytes:
    rows = (struct.pack("<II4sIII", number, at, b"data", 0, 0, at) for number, at, _ in MARKS)
    return struct.pack("<I", len(MARKS)) + b"".join(rows)


def adtl() -> bytes:
    made = b"adtl"
    for number, _, label in MARKS:
        raw = struct.pack("<I", number) + label.encode() + b"\0"
        made += b"labl" + struct.pack("<I", len(raw)) + raw + b"\0" * (len(raw) % 2)
    raw = struct.pack("<II4sHHHH", 1, 9_600, b"rgn ", 0, 0, 0, 0)
    return made + b"ltxt" + struct.pack("<I", len(raw)) + raw


def smpl() -> bytes:
    """One loop from 4800 to 9599, 48 kHz."""
    return struct.pack("<9I", 0, 0, 20_833, 60, 0, 0, 0, 1, 0) + struct.pack("<6I", 0, 0, 4_800, 9_599, 0, 0)


IXML = b"<BWFXML><PROJECT>Tally Sticks</PROJECT><TAKE>3</TAKE></BWFXML>"


def wav(
    path: Path, *, identity: bool = True, chunk_list: bool = True, with_bext: bool = True, frames: int = FRAMES
) -> Path:
    """24/48 with another song's INFO and ID3, recorder's chunks, cue points and a loop: each of the three or not."""
    soundfile.write(path, sound(frames), 48_000, subtype="PCM_24")
    plain = [(name, body) for name, body in chunks(path.read_bytes())]
    before = [(b"bext", bext())] if with_bext else []
    after: list[tuple[bytes, bytes]] = []
    if chunk_list:
        after += [(b"cue ", cue()), (b"LIST", adtl()), (b"smpl", smpl()), (b"iXML", IXML), (b"LGWV", b"\1\2\3\4")]
    if identity:
        reported = info(INAM=OLD["title"], IART=OLD["artist"], ICMT=OLD["comment"], ISFT="Some Editor", IKEY="sea")
        after += [(b"LIST", reported), (b"id3 ", tag())]
    path.write_bytes(build([plain[0], *before, *plain[1:], *after]))
    return path


def aiff(path: Path) -> Path:
    soundfile.write(path, sound(), 48_000, subtype="PCM_24")
    names = b"".join(
        struct.pack(">HI", number, at) + bytes([len(name)]) + name.encode() + b"\0" * ((len(name) + 1) % 2)
        for number, at, name in MARKS
    )
    texts = [(b"NAME", OLD["title"].encode()), (b"AUTH", OLD["artist"].encode()), (b"ANNO", OLD["comment"].encode())]
    more = [
        (b"MARK", struct.pack(">H", len(MARKS)) + names),
        (b"APPL", b"stocsomething of a program"),
        (b"ID3 ", tag()),
    ]
    path.write_bytes(build([*chunks(path.read_bytes()), *texts, *more], b"FORM", b"AIFF"))
    return path


COMMENTS = {
    "TITLE": OLD["title"], "ARTIST": OLD["artist"], "LABEL": OLD["label"], "ISRC": OLD["isrc"], "EAN": OLD["upc"],
    "REPLAYGAIN_TRACK_GAIN": "-7.30 dB", "COMMENT": OLD["comment"], "LYRICS": OLD["lyrics"], "MOOD": "low",
}  # fmt: skip


def flac(path: Path) -> Path:
    """Comments, a picture, a cue sheet with a code, a program's block, an ID3 tag in front and an ID3v1 behind."""
    soundfile.write(path, sound(), 48_000, subtype="PCM_24")
    file = mutagen.flac.FLAC(path)
    for key, text in COMMENTS.items():
        file[key] = text
    picture = mutagen.flac.Picture()
    picture.type, picture.mime, picture.data = 3, "image/png", cover("PNG")
    file.add_picture(picture)
    sheet = mutagen.flac.CueSheet(None)
    sheet.media_catalog_number = OLD["upc"].encode()
    sheet.tracks.append(mutagen.flac.CueSheetTrack(1, 0, OLD["isrc"].encode()))
    sheet.tracks.append(mutagen.flac.CueSheetTrack(170, FRAMES))
    file.metadata_blocks.append(sheet)
    file.save()
    path.write_bytes(tag() + path.read_bytes() + id3v1())
    return path


def id3v1() -> bytes:
    def field(text: str, width: int) -> bytes:
        return text.encode("latin-1")[:width].ljust(width, b"\0")

    return b"TAG" + field(OLD["title"], 30) + field(OLD["artist"], 30) + bytes(30) + b"1999" + bytes(30) + b"\xff"


def mp3(path: Path) -> Path:
    """ID3v2 in front, twice; APEv2, then ID3v1 behind."""
    soundfile.write(path, sound().astype(np.float64) / 2**31, 48_000, format="MP3", subtype="MPEG_LAYER_III")
    beside = path.with_suffix(".ape")
    ape = mutagen.apev2.APEv2()
    ape.update({"Title": OLD["title"], "ISRC": OLD["isrc"], "EAN/UPC": OLD["upc"], "replaygain_track_gain": "-7.30 dB"})
    beside.write_bytes(b"")
    ape.save(beside)
    path.write_bytes(tag() + tag() + path.read_bytes() + beside.read_bytes() + id3v1())
    beside.unlink()
    return path


def m4a(path: Path) -> Path:
    """Atoms, freeform ones, an account's name, a cover, and an atom of another program beside them."""
    samples = (sound() >> 16).astype(np.int16)
    with av.open(str(path), "w", format="ipod") as file:
        stream = file.add_stream("aac", rate=48_000, layout="stereo")
        frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(samples.reshape(1, -1)), format="s16", layout="stereo")
        frame.sample_rate = 48_000
        file.mux(stream.encode(frame))
        file.mux(stream.encode(None))
    tags = mutagen.mp4.MP4(path)
    free = "----:com.apple.iTunes:"
    tags["©nam"], tags["©ART"], tags["©cmt"], tags["©lyr"] = (OLD[k] for k in ("title", "artist", "comment", "lyrics"))
    tags[f"{free}ISRC"], tags[f"{free}UPC"], tags[f"{free}iTunNORM"] = OLD["isrc"].encode(), OLD["upc"].encode(), b"7"
    tags["apID"] = "somebody@example.invalid"
    tags["covr"] = [mutagen.mp4.MP4Cover(cover("PNG"), mutagen.mp4.MP4Cover.FORMAT_PNG)]
    tags.save()
    reported = OLD["title"].encode()
    path.write_bytes(path.read_bytes() + struct.pack(">I4s", 24 + len(reported), b"uuid") + bytes(16) + reported)
    return path


def opus(path: Path) -> Path:
    soundfile.write(path, sound().astype(np.float64) / 2**31, 48_000, format="OGG", subtype="OPUS")
    file = OggOpus(path)
    for key, text in COMMENTS.items() | {("R128_TRACK_GAIN", "-1868")}:
        file[key] = text
    file.save()
    return path


MAKERS = {"wav": wav, "aiff": aiff, "flac": flac, "mp3": mp3, "m4a": m4a, "opus": opus}
SUFFIXES = {"wav": ".wav", "aiff": ".aiff", "flac": ".flac", "mp3": ".mp3", "m4a": ".m4a", "opus": ".opus"}
TELLTALES = tuple(OLD.values())


def entries_by(data: bytes) -> list[str]:
    """Which of the old texts are anywhere in a file's bytes, in UTF-8 or UTF-16."""
    return [text for text in TELLTALES if text.encode() in data or text.encode("utf-16-le") in data]
