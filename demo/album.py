"""The album on disk, twice: as it arrived, with the faults masters really arrive with, and corrected.

``make(folder)`` leaves two release folders, each with masters, cover, ``release.yaml`` and ``studio.yaml``. A stamp
with the hash of everything that made them lets a later run reuse them. All names are invented.
"""

from __future__ import annotations

import hashlib
import json
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from importlib.metadata import version
from pathlib import Path

from demo import faults, songs
from demo.artwork import draw_cover
from demo.finish import write
from demo.instruments import Array
from demo.music import perform
from demo.songs import Song

RATE_HZ = 96_000
RECEIVED, CORRECTED = "as received", "corrected"
DELIVER_TO = ("store-master-24", "cd-rate-16", "sync-48-24", "listening-mp3-320")
FIRST_REQUIREMENTS = ("store-master-high-rate", "cd-rate-16", "sync-48-24", "vinyl-premaster")
"""What the masters as received are checked for: among these, someone minds each of the planted faults."""
STAMP = "made-by.json"


@dataclass(frozen=True, slots=True)
class Title:
    """A song's place on the album, its label copy, and the fault its master arrives with."""

    song: Song
    file: str
    title: str
    isrc: str
    spoil: Callable[[Array], Array] | None = None
    performed_at_hz: int = RATE_HZ
    """Of the master as received, before it is spoilt."""
    received_at_hz: int = RATE_HZ
    received_isrc: str = ""
    """The wrong one that came with it; empty: the right one came."""
    more: tuple[str, ...] = ()
    """Further lines of its label copy."""


ALBUM = (
    Title(
        songs.SOUNDING_LINE,
        "01_sounding-line_master.wav",
        "Sounding Line",
        "ZZOSL2600001",
        spoil=lambda sound: faults.with_overs(sound, RATE_HZ),
    ),
    Title(
        songs.DROWNED_CLOCKS,
        "02_cafe-of-the-drowned-clocks_master.wav",
        "Café of the Drowned Clocks",
        "ZZOSL2600002",
        performed_at_hz=48_000,
        received_at_hz=48_000,
    ),
    Title(
        songs.TALLY_OF_LAMPS,
        "03_tally-of-lamps_master.wav",
        "Tally of Lamps",
        "ZZOSL2600003",
        spoil=faults.clipped,
    ),
    Title(
        songs.TIDE_SUMS,
        "04_tide-sums_master.wav",
        "潮の計算 Tide Sums",
        "ZZOSL2600004",
        spoil=lambda sound: faults.upsampled(sound, 44_100, RATE_HZ),
        performed_at_hz=44_100,
        received_isrc="ZZOSL2600003",
        more=("language: ja",),
    ),
    Title(
        songs.EBB_LEDGER,
        "05_ledger-for-the-ebb_master.wav",
        "Ledger for the Ebb",
        "ZZOSL2600005",
        spoil=lambda sound: faults.with_silence(sound, RATE_HZ, 15.0),
        more=("version: Long Shore Version",),
    ),
)

HEADER = """\
# {about}
title: Harbour Arithmetic
artist: Merrow & the Glass Tide
label: Ostrelune Records
catalogue_number: OSL-014
upc: "{upc}"
release_date: 2026-09-18
p_line: 2026 Ostrelune Records
c_line: 2026 Ostrelune Records
genre: Chamber pop
language: en
artwork: cover.jpg
client: Ostrelune Records, production office
revision: {revision}
dated: 2026-08-03
deliver_to: [{deliver_to}]
tracks:
"""

TRACK = """\
  - file: {file}
    title: {title}
    isrc: {isrc}
    explicit: "no"
    composers: [Ilse Merrow, Tam Varrick]
    lyricists: [Ilse Merrow]
"""

STUDIO = """\
engineer: Tomasz Wrenfield
name: Lantern Room Mastering
contact:
  - 3 Quay Lane, Saltmouth
  - mail@lantern-room.example
"""


def release_text(received: bool, titles: tuple[Title, ...] = ALBUM, deliver_to: tuple[str, ...] = DELIVER_TO) -> str:
    """The release file; as received it carries a barcode with a wrong check digit and one ISRC twice."""
    text = HEADER.format(
        about="As it came from the label." if received else "As it goes out: new masters, codes put right.",
        upc="2000000140019" if received else "2000000140018",
        revision=1 if received else 2,
        deliver_to=", ".join(deliver_to),
    )
    for title in titles:
        isrc = title.received_isrc if received and title.received_isrc else title.isrc
        text += TRACK.format(file=title.file, title=title.title, isrc=isrc)
        text += "".join(f"    {line}\n" for line in title.more)
    return text


def lay_out(folder: Path, received: bool, titles: tuple[Title, ...], deliver_to: tuple[str, ...]) -> None:
    """Everything of a release but its masters."""
    folder.mkdir(parents=True)
    texts = {"release.yaml": release_text(received, titles, deliver_to), "studio.yaml": STUDIO}
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
    draw_cover(folder / "cover.jpg", 1_200 if received else 3_000, "Merrow & the Glass Tide", "Harbour Arithmetic")


def write_corrected(folder: Path, titles: tuple[Title, ...] = ALBUM, deliver_to: tuple[str, ...] = DELIVER_TO) -> Path:
    """The release as it should be, in a new *folder*; returns its release file."""
    lay_out(folder, False, titles, deliver_to)
    for title in titles:
        write(folder / title.file, perform(title.song, RATE_HZ), RATE_HZ, seed=title.song.seed)
    return folder / "release.yaml"


def write_received(folder: Path, titles: tuple[Title, ...] = ALBUM) -> Path:
    """The release with its planted faults, in a new *folder*; returns its release file."""
    lay_out(folder, True, titles, FIRST_REQUIREMENTS)
    for title in titles:
        sound = perform(title.song, title.performed_at_hz)
        spoilt = title.spoil(sound) if title.spoil else sound
        write(folder / title.file, spoilt, title.received_at_hz, seed=title.song.seed)
    return folder / "release.yaml"


def longer(titles: tuple[Title, ...], count: int, times: int) -> tuple[Title, ...]:
    """*count* titles for measuring speed: the album's songs played on with other seeds, *times* as long."""
    made = []
    for index in range(count):
        title = titles[index % len(titles)]
        song = replace(title.song.longer(times), seed=title.song.seed + 100 * (index // len(titles)))
        name = f"{index + 1:02d}_{title.file.partition('_')[2]}"
        more = () if index < len(titles) else (f"version: Reprise {index // len(titles)}",)
        made.append(replace(title, song=song, file=name, isrc=f"ZZOSL26{index + 1:05d}", more=more))
    return tuple(made)


def makers_hash() -> str:
    """SHA-256 over everything the album depends on: this package's sources and the libraries that draw and write."""
    digest = hashlib.sha256()
    for source in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(source.name.encode() + source.read_bytes())
    for library in ("numpy", "soxr", "soundfile", "pillow"):
        digest.update(f"{library} {version(library)}".encode())
    return digest.hexdigest()


def sizes(folder: Path) -> dict[str, int]:
    return {path.relative_to(folder).as_posix(): path.stat().st_size for path in made_files(folder)}


def made_files(folder: Path) -> Iterator[Path]:
    for half in (RECEIVED, CORRECTED):
        yield from sorted(path for path in (folder / half).glob("*") if path.is_file())


def already_made(folder: Path) -> bool:
    """True when the same sources made what lies there, and all of it still lies there."""
    try:
        stamp = json.loads((folder / STAMP).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    return bool(stamp == {"makers": makers_hash(), "sizes": sizes(folder)})


def make(folder: Path, say: Callable[[str], None] = print) -> tuple[Path, Path]:
    """The release files of both halves, in *folder*, made anew only when needed."""
    received, corrected = folder / RECEIVED, folder / CORRECTED
    if not already_made(folder):
        say("Playing the album (about 15 seconds, only this once) ...")
        for half in (received, corrected):
            shutil.rmtree(half, ignore_errors=True)
        (folder / STAMP).unlink(missing_ok=True)
        write_received(received)
        write_corrected(corrected)
        stamp = {"makers": makers_hash(), "sizes": sizes(folder)}
        (folder / STAMP).write_text(json.dumps(stamp, indent=1, ensure_ascii=False), encoding="utf-8", newline="\n")
    return received / "release.yaml", corrected / "release.yaml"
