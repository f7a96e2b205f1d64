"""Small sound files of every container, made by other libraries, and a chunk reader that owes nothing to ours."""

from __future__ import annotations

import hashlib
import io
import shutil
import struct
from pathlib import Path

import numpy as np

from delivery.model.figure import Measurement, Reading

CONTAINERS = {
    "wav": "plain.wav",
    "aiff": "plain.aiff",
    "flac": "plain.flac",
    "mp3": "plain.mp3",
    "m4a": "plain.m4a",
    "opus": "plain.opus",
}
LOSSLESS = ("wav", "aiff", "flac")

VALUES = {
    "title": "Slack Water",
    "version": "Instrumental",
    "artist": "Merrow & the Glass Tide",
    "album": "Harbour Arithmetic",
    "album_artist": "Merrow & the Glass Tide",
    "track_number": "3",
    "track_total": "9",
    "disc_number": "1",
    "disc_total": "2",
    "isrc": "ZZOSL2600003",
    "composers": "Ines Merrow; Tomas Gale",
    "lyricists": "Ines Merrow",
    "remixers": "Low Lantern",
    "producers": "Tam Varrick; Odile Merrow",
    "mixers": "Tam Varrick",
    "mastering_engineers": "Tomasz Wrenfield",
    "original_artist": "Low Lantern",
    "recording_studio": "Saltmouth Chapel",
    "recording_country": "PT",
    "recording_year": "2025",
    "iswc": "T0345246801",
    "writers": "Ines Merrow (composer, lyricist) 62.5 %, SALT, IPI 00014107338; Tomas Gale (composer) 37.5 %",
    "publishers": "Quayside Songs; Low Lantern Music",
    "isni": "Ines Merrow: 000000012281955X; Tomas Gale: 0000000218250097",
    "credits": "violin: Ada Quay; cello: Bo",
    "samples": "Low Lantern: Tally Sticks (cleared)",
    "preview_start_s": "45.5",
    "territories": "PT; JP",
    "bpm": "92",
    "key": "Dm",
    "genre": "Folk",
    "subgenre": "Sea songs",
    "title_language": "por",
    "language": "eng",
    "explicit": "clean",
    "release_date": "2026-05-01",
    "original_date": "1999-11-05",
    "p_line": "2026 Ostrelune Records",
    "c_line": "2026 Ostrelune Records",
    "label": "Ostrelune Records",
    "catalogue_number": "OSL-014",
    "upc": "2000000140019",
    "dated": "2026-04-01",
}

MEASUREMENT = Measurement(
    {
        "integrated_lufs": Reading(-14.0),
        "loudness_range_lu": Reading(5.5),
        "true_peak_dbtp": Reading(-1.0),
        "momentary_max_lufs": Reading(-9.876),
        "short_term_max_lufs": Reading(-11.25),
    }
)


def make_all(folder: Path) -> None:
    """One file of 0.1 s for each container, an RF64, and a WAV whose sound has an odd number of bytes."""
    import soundfile

    sound = np.random.default_rng(1).integers(-2000, 2000, (4411, 2)).astype(np.int16)
    for name in ("plain.wav", "plain.aiff", "plain.flac"):
        soundfile.write(folder / name, sound, 44_100, subtype="PCM_16")
    soundfile.write(folder / "rf64.wav", sound, 44_100, format="RF64", subtype="PCM_16")
    soundfile.write(folder / "odd.wav", sound[:, :1], 44_100, subtype="PCM_U8")
    soundfile.write(folder / "odd24.wav", sound[:, :1].astype(np.int32) << 8, 44_100, subtype="PCM_24")
    soundfile.write(folder / "odd.aiff", sound[:, :1], 44_100, subtype="PCM_S8")
    soundfile.write(folder / "plain.mp3", sound, 44_100, format="MP3", subtype="MPEG_LAYER_III")
    soundfile.write(folder / "plain.opus", sound, 48_000, format="OGG", subtype="OPUS")
    _make_m4a(folder / "plain.m4a", sound)


def _make_m4a(path: Path, sound: np.ndarray) -> None:
    import av

    with av.open(str(path), "w", format="ipod") as file:
        stream = file.add_stream("aac", rate=44_100, layout="stereo")
        frame = av.AudioFrame.from_ndarray(sound.reshape(1, -1), format="s16", layout="stereo")
        frame.sample_rate = 44_100
        file.mux(stream.encode(frame))
        file.mux(stream.encode(None))


def copy(folder: Path, name: str, to: Path) -> Path:
    return Path(shutil.copy(folder / name, to / name))


def audio(path: Path) -> str:
    """Hash of the sound: integers from libsndfile, or packets from libavformat where sound is lossy."""
    if path.suffix in (".wav", ".aiff", ".flac"):
        import soundfile

        samples, rate_hz = soundfile.read(path, dtype="int32", always_2d=True)
        return hashlib.sha256(samples.tobytes() + str((rate_hz, samples.shape)).encode()).hexdigest()
    import av

    with av.open(str(path)) as file:
        packets = [bytes(packet) for packet in file.demux(audio=0) if packet.size]
    assert packets
    return hashlib.sha256(b"".join(packets)).hexdigest()


def chunks(data: bytes) -> list[tuple[bytes, bytes]]:
    """Chunks of a RIFF, RF64 or AIFF file, asserting the format's rules on sizes and pad bytes."""
    order = ">" if data[:4] == b"FORM" else "<"
    (size,) = struct.unpack_from(order + "I", data, 4)
    if data[:4] == b"RF64":
        assert size == 0xFFFFFFFF
        size, sound_size = struct.unpack_from("<QQ", data, 20)
    assert size + 8 == len(data), "the form's size is the file's"
    found, at = [], 12
    while at < len(data):
        name, length = struct.unpack_from(order + "4sI", data, at)
        length = sound_size if length == 0xFFFFFFFF else length
        found.append((name, data[at + 8 : at + 8 + length]))
        assert len(found[-1][1]) == length
        at += 8 + length
        if length % 2:
            assert data[at] == 0, "an odd chunk is followed by a zero"
            at += 1
    return found


def build(chunk_list: list[tuple[bytes, bytes]], form: bytes = b"RIFF", kind: bytes = b"WAVE") -> bytes:
    """A chunked file of these chunks."""
    order = ">" if form == b"FORM" else "<"
    body = b"".join(n + struct.pack(order + "I", len(b)) + b + b"\0" * (len(b) % 2) for n, b in chunk_list)
    return form + struct.pack(order + "I", 4 + len(body)) + kind + body


FMT = struct.pack("<HHIIHH", 1, 1, 44_100, 88_200, 2, 16)


def wav(*after: tuple[bytes, bytes], before: tuple[tuple[bytes, bytes], ...] = (), sound: bytes = b"\1\2\3\4") -> bytes:
    """A tiny PCM WAV with chunks around its sound."""
    return build([(b"fmt ", FMT), *before, (b"data", sound), *after])


def info(body: bytes) -> dict[bytes, bytes]:
    """Entries of a LIST INFO body as RIFF of 1991 lays them out: id, size, text, NUL, even padding."""
    assert body[:4] == b"INFO"
    found, at = {}, 4
    while at < len(body):
        name, length = struct.unpack_from("<4sI", body, at)
        found[name] = body[at + 8 : at + 8 + length]
        at += 8 + length + length % 2
    assert at == len(body)
    return found


def cover(kind: str = "JPEG", size: tuple[int, int] = (60, 40)) -> bytes:
    from PIL import Image

    made = io.BytesIO()
    Image.new("RGB", size, (20, 60, 90)).save(made, kind)
    return made.getvalue()
