"""One small good file of every kind that is read, its mutator, and the reader that must be what comes of it."""

from __future__ import annotations

import io
import random
import subprocess
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile

from tests.fuzz import mutate

RATE_HZ = 44_100


@dataclass(frozen=True)
class Kind:
    name: str
    good: bytes
    mutate: mutate.Mutator
    read: Callable[[Path], object]


def _sound(path: Path) -> None:
    from delivery.audio.blocks import open_sound

    with open_sound(path) as opened:
        for at, _ in enumerate(opened.blocks(8192)):
            if at > 200:
                break


def _tags(container: str) -> Callable[[Path], object]:
    def read(path: Path) -> None:
        from delivery.errors import DeliveryError
        from delivery.formats import notes, read_tags

        for reader in (lambda: read_tags(path, container), lambda: notes(path), lambda: _sound(path)):
            try:
                reader()
            except (DeliveryError, OSError):
                continue

    return read


def _picture(path: Path) -> object:
    from delivery.intake import look_at_artwork

    return look_at_artwork(path)


def _yaml(path: Path) -> object:
    from delivery.intake.yaml.text import read_document

    return read_document(path)


def _sheet(path: Path) -> object:
    from delivery.intake.sheet.read import grids_in

    return grids_in(path, {})


def _bag(path: Path) -> object:
    """The file as the manifest of a package, and as a checksum list of another program."""
    from delivery.pack.bag_check import check_bag
    from delivery.pack.foreign_lists import read_list

    bag = path.parent / "bag"
    (bag / "data").mkdir(parents=True, exist_ok=True)
    (bag / "data" / "a").write_bytes(b"a")
    (bag / "bagit.txt").write_bytes(b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
    (bag / "manifest-sha256.txt").write_bytes(path.read_bytes())
    read_list(path.read_bytes().decode("utf-8", "replace"))
    return check_bag(bag)


def _written(subtype: str, format: str) -> bytes:
    into = io.BytesIO()
    x = np.random.default_rng(7).uniform(-0.3, 0.3, (3000, 2))
    soundfile.write(into, x, RATE_HZ, subtype=subtype, format=format)
    return into.getvalue()


def _encoded(folder: Path, name: str, *coding: str) -> bytes:
    path = folder / name
    tone = ["-f", "lavfi", "-i", "sine=duration=0.4:sample_rate=44100", "-metadata", "title=Neap", *coding]
    subprocess.run(["ffmpeg", "-v", "error", *tone, "-y", str(path)], check=True, stdin=subprocess.DEVNULL)
    return path.read_bytes()


def _drawn(format: str) -> bytes:
    from PIL import Image

    into = io.BytesIO()
    Image.fromarray(np.random.default_rng(3).integers(0, 255, (40, 40, 3), dtype=np.uint8)).save(into, format)
    return into.getvalue()


ROWS = [["Title", "ISRC", "Composer"], ["Neap", "ZZOSL2600001", "Odile Merrow"], ["Ebb", "ZZOSL2600002", "I. Pell"]]


def _workbook() -> bytes:
    import openpyxl

    book = openpyxl.Workbook()
    for row in ROWS:
        book.worksheets[0].append(row)
    into = io.BytesIO()
    book.save(into)
    return into.getvalue()


def _document() -> bytes:
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    document, table = OpenDocumentSpreadsheet(), Table(name="Songs")
    for row in ROWS:
        line = TableRow()
        for value in row:
            cell = TableCell(valuetype="string")
            cell.addElement(P(text=value))
            line.addElement(cell)
        table.addElement(line)
    document.spreadsheet.addElement(table)
    into = io.BytesIO()
    document.write(into)
    return into.getvalue()


def zipped(content: bytes, dice: random.Random) -> bytes:
    """Workbooks: damage the XML of one member and zip all again, so that the damaged XML is reached."""
    if dice.random() < 0.15:
        return mutate.byte_level(content, dice)
    into = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED) as new:
        names = [name for name in old.namelist() if not name.endswith("/")]
        chosen = dice.choice(names)
        for name in names:
            new.writestr(name, mutate.byte_level(old.read(name), dice) if name == chosen else old.read(name))
    return into.getvalue()


YAML = b"""title: Neap
artist: Merrow
tracks:
  - file: a.wav
    title: &t One
    isrc: ZZOSL2600001
    composers: [Odile Merrow, 'I. Pell']
  - {file: b.wav, title: *t}
"""
CSV = "\n".join(",".join(row) for row in ROWS).encode()
LIST = b"ca978112ca1bbdcafac231b39a23dc4da786eff8147c4e72b9807785afee48bb  data/a\n" + b"0" * 64 + b"  data/b%0A\n"


def kinds(folder: Path) -> tuple[Kind, ...]:
    """Every kind; ffmpeg writes the compressed ones into *folder*."""
    little, big = mutate.chunked("<", 12), mutate.chunked(">", 12)
    caf, pages, frames = mutate.chunked("caf", 8), mutate.marked(b"OggS"), mutate.marked(b"\xff\xfb")
    bw64 = b"BW64" + _written("PCM_24", "RF64")[4:]
    return (
        Kind("a.wav", _written("PCM_24", "WAV"), little, _tags("wav")),
        Kind("x.wav", _written("FLOAT", "WAVEX"), little, _sound),
        Kind("r.wav", _written("PCM_16", "RF64"), little, _sound),
        Kind("b.wav", bw64, little, _sound),
        Kind("a.aiff", _written("PCM_16", "AIFF"), big, _tags("aiff")),
        Kind("a.aifc", _written("ULAW", "AIFF"), big, _sound),
        Kind("a.caf", _written("PCM_24", "CAF"), caf, _sound),
        Kind("a.flac", _written("PCM_24", "FLAC"), mutate.head_heavy, _tags("flac")),
        Kind("a.mp3", _encoded(folder, "a.mp3", "-b:a", "128k"), frames, _tags("mp3")),
        Kind("a.m4a", _encoded(folder, "a.m4a", "-c:a", "aac"), mutate.atoms, _tags("m4a")),
        Kind("l.m4a", _encoded(folder, "l.m4a", "-c:a", "alac"), mutate.atoms, _tags("m4a")),
        Kind("a.ogg", _encoded(folder, "a.ogg", "-c:a", "libvorbis"), pages, _sound),
        Kind("a.opus", _encoded(folder, "a.opus", "-c:a", "libopus"), pages, _tags("opus")),
        Kind("a.jpg", _drawn("JPEG"), mutate.head_heavy, _picture),
        Kind("a.png", _drawn("PNG"), mutate.chunked(">", 8), _picture),
        Kind("a.tif", _drawn("TIFF"), mutate.head_heavy, _picture),
        Kind("a.yaml", YAML, mutate.text, _yaml),
        Kind("a.csv", CSV, mutate.text, _sheet),
        Kind("a.xlsx", _workbook(), zipped, _sheet),
        Kind("a.ods", _document(), zipped, _sheet),
        Kind("a.sha256", LIST, mutate.text, _bag),
    )
