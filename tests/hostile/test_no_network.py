"""No file name makes the program call anybody: the answers are the same where there is no network at all."""

from __future__ import annotations

import json
import os
import shutil
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.judges import needs

ALONE = ["unshare", "--map-root-user", "--net"]
"""Linux: a network namespace of its own, with no interface but a loopback that is down."""
NAMES = (
    "tcp:127.0.0.1:{port}.mp3",
    "http:/127.0.0.1:{port}/a.m4a",
    "https:example.invalid.opus",
    "rtmp:example.invalid.flac",
    "tcp:127.0.0.1:{port}.flac",
    "udp:127.0.0.1:{port}.wav",
    "Opus:1.mp3",
    "data:,a.m4a",
    "concat:a.mp3|b.mp3",
    "subfile,,start,0,end,9,,:a.flac",
    "pipe:0.ogg",
    "cache:http:a.mp3",
)
CODINGS = {".m4a": ["-c:a", "aac"], ".ogg": ["-c:a", "libvorbis"], ".opus": ["-c:a", "libopus"]}


def _permitted() -> bool:
    if sys.platform != "linux" or shutil.which("unshare") is None:
        return False
    return subprocess.run([*ALONE, "true"], check=False, capture_output=True).returncode == 0


pytestmark = [
    pytest.mark.skipif(not _permitted(), reason="NOT TRIED: this machine permits no network namespace"),
    needs("ffmpeg"),
]


@pytest.fixture
def listener() -> Iterator[socket.socket]:
    """Listens at the addresses that the names spell."""
    with socket.socket() as made:
        made.bind(("127.0.0.1", 0))
        made.listen()
        made.settimeout(0.2)
        yield made


@pytest.fixture
def masters(tmp_path: Path, listener: socket.socket) -> Path:
    """Two seconds of a tone under each name."""
    folder = tmp_path / "http:"
    folder.mkdir()
    port = listener.getsockname()[1]
    for at, name in enumerate(NAMES):
        path = folder / name.format(port=port)
        path.parent.mkdir(parents=True, exist_ok=True)
        made = tmp_path / f"made{path.suffix}"
        tone = ["-f", "lavfi", "-i", f"sine=frequency={300 + 40 * at}:duration=2:sample_rate=48000"]
        coding = CODINGS.get(path.suffix, [])
        subprocess.run(["ffmpeg", "-v", "error", *tone, *coding, "-y", str(made)], check=True, stdin=subprocess.DEVNULL)
        made.rename(path)
    return folder


def command(folder: Path, *arguments: str, alone: bool) -> tuple[int, Any]:
    """Exit code and the JSON printed by one command in *folder*."""
    call = [*(ALONE if alone else []), sys.executable, "-m", "delivery", arguments[0], "--json", *arguments[1:]]
    variables = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path), "PYTHONSAFEPATH": "1"}
    done = subprocess.run(call, cwd=folder, env=variables, check=False, capture_output=True, stdin=subprocess.DEVNULL)
    assert b"Traceback" not in done.stderr
    return done.returncode, json.loads(done.stdout)


def test_the_namespace_has_no_network(listener: socket.socket) -> None:
    """The control: connecting from in there fails, so equal results prove that nothing connected."""
    calling = f"import socket; socket.create_connection(('127.0.0.1', {listener.getsockname()[1]}), 2)"
    done = subprocess.run([*ALONE, sys.executable, "-c", calling], check=False, capture_output=True)
    assert b"unreachable" in done.stderr
    with pytest.raises(TimeoutError):
        listener.accept()


def test_files_named_like_addresses_are_measured_without_a_network(masters: Path, listener: socket.socket) -> None:
    paths = sorted(str(path.relative_to(masters)) for path in masters.rglob("*") if path.is_file())
    assert len(paths) == len(NAMES)
    alone = command(masters, "measure", "--no-cache", "--", *paths, alone=True)
    assert alone[0] == 0
    assert alone == command(masters, "measure", "--no-cache", "--", *paths, alone=False)
    with pytest.raises(TimeoutError):
        listener.accept()


def test_such_files_are_started_built_and_verified_without_a_network(masters: Path, listener: socket.socket) -> None:
    """The release file names them, every song is delivered, and the package verifies."""
    for path in sorted(masters.iterdir()):
        if path.suffix not in (".flac", ".wav"):  # beside these, compressed files are no masters
            shutil.rmtree(path) if path.is_dir() else path.unlink()
    count = len(list(masters.iterdir()))
    assert count == 4
    steps = [
        ("start", ".", "--spec", "listening-mp3-320"),
        ("confirm", "release.yaml", "--all"),
        ("build", "release.yaml", "--no-cache", "--into", "out"),
    ]
    for step in steps:
        code, text = command(masters, *step, alone=True)
        assert code == 0, (step, text)
    (package,) = (path for path in (masters / "out").iterdir() if path.is_dir())
    assert len(list(package.rglob("*.mp3"))) == count
    assert command(masters / "out", "verify", package.name, alone=True)[0] == 0
    with pytest.raises(TimeoutError):
        listener.accept()
