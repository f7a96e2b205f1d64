"""Free music for the trials of detectors: listed in ``free_music.yaml`` by package, version and SHA-256 of each file.

``python -m tests.benchmarks.free_music FOLDER`` downloads the packages by apt-get and unpacks them into FOLDER, without
installing anything, and compares the hashes. Half of the pieces, by the hash of their file names, is held out: it is
for the published figures and never for choosing a limit.
"""

from __future__ import annotations

import argparse
import hashlib
import io
import subprocess
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

Array = NDArray[np.float64]
LIST = Path(__file__).with_name("free_music.yaml")
RENDERED, RELEASED = "rendered", "released"
KINDS = {RENDERED: "tracker music, rendered without loss", RELEASED: "released music, decoded from a lossy file"}
RATES_HZ = (44_100, 48_000)
SKIPPED_S = 5.0
"""Of a module: it often begins with next to nothing."""


@dataclass(frozen=True)
class Piece:
    """A listed file."""

    kind: str
    package: str
    version: str
    file: str
    """Its path below the folder."""
    sha256: str

    @property
    def name(self) -> str:
        return Path(self.file).name

    @property
    def chance(self) -> int:
        """A number of 0 to 255 that follows from the file name alone."""
        return hashlib.sha256(self.name.encode()).digest()[0]

    @property
    def held_out(self) -> bool:
        return self.chance % 2 == 1


def listed() -> Iterator[Piece]:
    """Every piece, in the order of the list."""
    from ruamel.yaml import YAML

    for kind, packages in YAML(typ="safe").load(LIST).items():
        for package, about in packages.items():
            for file, sha256 in about["files"].items():
                yield Piece(kind, package, about["version"], file, sha256)


def pieces(root: Path, *, held_out: bool, kind: str = "") -> list[Piece]:
    """Pieces of one half, or of one kind of it. Raises ValueError if a file is absent or is another one."""
    chosen = [piece for piece in listed() if piece.held_out is held_out and piece.kind in (kind or piece.kind,)]
    for piece in chosen:
        if not same(root, piece):
            raise ValueError(f"{piece.file} of {piece.package} {piece.version}: absent, or another file")
    return chosen


def same(root: Path, piece: Piece) -> bool:
    """Whether the file is there and has its listed hash."""
    path = root / piece.file
    return path.is_file() and hashlib.sha256(path.read_bytes()).hexdigest() == piece.sha256


def read(root: Path, piece: Piece, most_s: float) -> tuple[Array, int]:
    """(frames, channels) of at most *most_s* from the middle of a released piece, or near the beginning of a module.

    Modules are rendered at 44.1 or 48 kHz, by chance; their peak is brought to -1 dBFS.
    """
    if piece.kind == RENDERED:
        rate_hz = RATES_HZ[piece.chance // 2 % 2]
        sound = _rendered(root / piece.file, rate_hz, SKIPPED_S + most_s)[round(SKIPPED_S * rate_hz) :]
        return sound * (10 ** (-1 / 20) / np.abs(sound).max()), rate_hz
    with soundfile.SoundFile(root / piece.file) as file:
        most = round(most_s * file.samplerate)
        file.seek(max(0, (len(file) - most) // 2))
        return file.read(most, always_2d=True), int(file.samplerate)


def _rendered(path: Path, rate_hz: int, most_s: float) -> Array:
    given = ["-f", "libopenmpt", "-sample_rate", f"{rate_hz}", "-i", f"file:{path}"]
    command = ["ffmpeg", "-v", "error", *given, "-t", f"{most_s}", "-c:a", "pcm_f32le", "-f", "wav", "-"]
    made = subprocess.run(command, check=True, capture_output=True).stdout
    sound: Array = soundfile.read(io.BytesIO(made), always_2d=True)[0]
    return sound


def fetch(root: Path) -> None:
    """Download the listed packages and unpack them below *root*. Raises CalledProcessError."""
    packages = sorted({(piece.package, piece.version) for piece in listed()})
    with tempfile.TemporaryDirectory() as folder:
        names = [f"{package}={version}" for package, version in packages]
        subprocess.run(["apt-get", "download", *names], check=True, cwd=folder)
        for path in sorted(Path(folder).glob("*.deb")):
            subprocess.run(["dpkg", "-x", path, root], check=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    root = parser.parse_args().folder
    fetch(root)
    for held_out in (False, True):
        for kind, text in KINDS.items():
            count = len(pieces(root, held_out=held_out, kind=kind))
            print(f"{text}, {'held out' if held_out else 'for tuning'}: {count} pieces")


if __name__ == "__main__":
    main()
