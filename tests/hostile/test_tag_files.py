"""Broken and lying files: a clear error or a clean copy, never a traceback, never more memory than the file explains.

``FUZZ_CASES=20000 pytest tests/hostile/test_tag_files.py`` tries more than the few hundred of an ordinary run.
"""

from __future__ import annotations

import os
import random
import struct
import tracemalloc
from contextlib import suppress
from pathlib import Path

import pytest

from delivery.errors import Unfinished, Unusable
from delivery.formats import embed, notes, read_tags
from delivery.tags.chunks import layout_of
from tests.tags.sounds import CONTAINERS, FMT, MEASUREMENT, VALUES, build, chunks, copy, cover, make_all, wav

CASES = int(os.environ.get("FUZZ_CASES", "300"))
MOST_BYTES = 8 * 2**20


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("shelf")
    make_all(folder)
    for container, name in CONTAINERS.items():
        embed(folder / name, container, VALUES, cover(), MEASUREMENT)
    return folder


def survives(path: Path, container: str) -> str:
    """'refused', or 'clean' after a look into what was written; anything else is an exception and fails the test."""
    try:
        sound = sound_of(path)
        embed(path, container, {"title": "Neap", "isrc": "ZZOSL2600009", "label": "O"}, None, MEASUREMENT)
    except Unfinished:  # nothing is wrong with the disk
        raise
        notes(path)
    except Unusable:
        return "refused"
    assert read_tags(path, container)["title"] == "Neap"
    if sound is not None:
        assert sound in [body for _, body in chunks(path.read_bytes())]
    return "clean"


def sound_of(path: Path) -> bytes | None:
    if path.read_bytes()[:4] not in (b"RIFF", b"RF64", b"FORM"):
        return None
    chunk = layout_of(path).sound
    return path.read_bytes()[chunk.start : chunk.end]


def some_chunks(dice: random.Random) -> list[tuple[bytes, bytes]]:
    info = b"INFO" + dice.choice([b"", b"INAM" + struct.pack("<I", dice.choice([3, 4, 2**31])) + b"abc\0"])
    pool = [
        (b"fmt ", FMT), (b"fmt ", FMT[: dice.randrange(16)]), (b"data", dice.randbytes(dice.randrange(40))),
        (b"LIST", info), (b"LIST", info[: dice.randrange(5)]), (b"bext", dice.randbytes(dice.choice([0, 9, 601, 900]))),
        (b"axml", dice.choice([b"", b"<a>", dice.randbytes(50)])), (b"junk", dice.randbytes(dice.randrange(9))),
        (b"id3 ", dice.choice([b"", b"ID3", b"ID3\4\0\0\0\0\0\x09TIT2\0\0\0\1\0", dice.randbytes(30)])),
    ]  # fmt: skip
    return [dice.choice(pool) for _ in range(dice.randrange(7))] + [(b"data", dice.randbytes(7))]


COMM = struct.pack(">hLh", 1, 2, 16) + b"\x40\x0e\xac\x44" + bytes(6)


def some_big_chunks(dice: random.Random) -> list[tuple[bytes, bytes]]:
    """The same for AIFF, with the text chunks older programs wrote."""
    texts = [dice.choice([b"NAME", b"AUTH", b"(c) ", b"ANNO"]) for _ in range(2)]
    pool = [
        (b"COMM", COMM), (b"COMM", COMM[: dice.randrange(18)]), (b"SSND", dice.randbytes(dice.randrange(40))),
        *((name, dice.choice([b"", b"Low Water", dice.randbytes(dice.randrange(60))])) for name in texts),
        (b"MARK", struct.pack(">H", dice.choice([0, 3, 65535])) + dice.randbytes(9)), (b"junk", b""),
        (b"ID3 ", dice.choice([b"", b"ID3", b"ID3\4\0\0\0\0\0\x09TIT2\0\0\0\1\0", dice.randbytes(30)])),
    ]  # fmt: skip
    return [dice.choice(pool) for _ in range(dice.randrange(7))] + [(b"SSND", bytes(8) + dice.randbytes(7))]


def some_blocks(dice: random.Random, sound: bytes, streaminfo: bytes) -> bytes:
    """A FLAC file of metadata blocks (RFC 9639, 8.1) whose types, counts and sizes may lie, before real frames."""
    comments = struct.pack("<I", 0) + struct.pack("<I", dice.choice([0, 1, 2**31, 2**32 - 1])) + dice.randbytes(9)
    pool = [
        (1, bytes(dice.randrange(40))), (2, dice.randbytes(8)), (3, dice.randbytes(18)), (4, comments),
        (4, dice.randbytes(dice.randrange(20))), (5, dice.randbytes(dice.choice([10, 396]))),
        (6, struct.pack(">II", 3, dice.choice([0, 10, 2**32 - 1])) + dice.randbytes(30)), (126, b"x"), (0, streaminfo),
    ]  # fmt: skip
    blocks = [(0, streaminfo), *(dice.choice(pool) for _ in range(dice.randrange(6))), (1, b"")]
    lies = {dice.randrange(len(blocks)): dice.choice([0, 3, 2**24 - 1])} if dice.randrange(3) == 0 else {}
    packed = b""
    for at, (kind, body) in enumerate(blocks):
        last = 0x80 if at == len(blocks) - 1 else 0
        packed += bytes([kind | last]) + struct.pack(">I", lies.get(at, len(body)))[1:] + body
    return b"fLaC" + packed + sound


def spoilt(data: bytes, dice: random.Random) -> bytes:
    """Cut, with lying sizes, with flipped bytes, or with bytes put in."""
    at = dice.randrange(max(1, min(len(data), 3000)))
    match dice.randrange(5):
        case 0:
            return data[:at]
        case 1:
            size = dice.choice([0, 1, 0x7FFFFFFF, 0xFFFFFFFE, 0xFFFFFFFF, dice.randrange(2**32)])
            order = dice.choice("<>")
            return data[:at] + struct.pack(order + "I", size) + data[at + 4 :]
        case 2:
            return data[:at] + bytes([dice.randrange(256)]) + data[at + 1 :]
        case 3:
            return data[:at] + dice.randbytes(dice.randrange(1, 9)) + data[at:]
        case _:
            return data


@pytest.mark.thorough(1)
@pytest.mark.parametrize("container", ["wav", "aiff", "flac"])
def test_random_structures(shelf: Path, tmp_path: Path, container: str) -> None:
    """Both outcomes must occur, or the generator no longer tries anything."""
    real = (shelf / "plain.flac").read_bytes()
    frames, streaminfo = real[real.index(b"\xff\xf8") :], real[8:42]
    outcomes = []
    path = tmp_path / f"fuzz.{container}"
    tracemalloc.start()
    try:
        for case in range(CASES):
            dice = random.Random(case)
            made = {
                "wav": lambda: build(some_chunks(dice)),  # noqa: B023 - called at once
                "aiff": lambda: build(some_big_chunks(dice), b"FORM", b"AIFF"),  # noqa: B023
                "flac": lambda: some_blocks(dice, frames, streaminfo),  # noqa: B023
            }[container]()
            path.write_bytes(spoilt(made, dice))
            outcomes.append(survives(path, container))
        assert tracemalloc.get_traced_memory()[1] < MOST_BYTES
    finally:
        tracemalloc.stop()
    assert min(outcomes.count("refused"), outcomes.count("clean")) > CASES / 10
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.thorough(2)
@pytest.mark.parametrize(("container", "name"), [*CONTAINERS.items(), ("wav", "rf64.wav")])
def test_damaged_files_of_every_container(shelf: Path, tmp_path: Path, container: str, name: str) -> None:
    good = (shelf / name).read_bytes()
    path = tmp_path / name
    outcomes = []
    tracemalloc.start()
    try:
        for case in range(max(20, CASES // 4)):
            path.write_bytes(spoilt(good, random.Random(f"{name} {case}")))
            outcomes.append(survives(path, container))
        assert tracemalloc.get_traced_memory()[1] < MOST_BYTES
    finally:
        tracemalloc.stop()
    assert outcomes.count("clean") > 0


def test_a_wrong_size(tmp_path: Path) -> None:
    path = tmp_path / "lie.wav"
    path.write_bytes(wav().replace(b"data" + struct.pack("<I", 4), b"data" + struct.pack("<I", 4_000_000_000)))
    with pytest.raises(
        Unusable, match=r"lie\.wav: found a 'data' chunk that promises 4000000000 bytes, .* the 4 there"
    ):
        embed(path, "wav", VALUES)


@pytest.mark.parametrize("name", ["plain.mp3", "plain.flac", "plain.m4a"])
def test_a_wrong_size_reserves_no_memory(shelf: Path, tmp_path: Path, name: str) -> None:
    """The largest size each format can say: 256 MiB of ID3, 4 GiB of a comment, 4 GiB of an atom."""
    good = (shelf / name).read_bytes()
    atom = good.find(b"\xa9nam") - 4
    spoils = {
        "plain.mp3": good[:6] + b"\x7f" * 4 + good[10:],
        "plain.flac": good[:4] + b"\x00\x00\x00\x22" + good[8:42] + b"\x84\x00\x00\x08" + b"\xff" * 8,
        "plain.m4a": good[:atom] + b"\xff\xff\xff\xf0" + good[atom + 4 :],
    }
    path = tmp_path / name
    path.write_bytes(spoils[name])
    tracemalloc.start()
    try:
        with pytest.raises(Unusable):
            read_tags(path, name.removeprefix("plain."))
        assert tracemalloc.get_traced_memory()[1] < MOST_BYTES
    finally:
        tracemalloc.stop()


def test_a_wrong_ds64_table(tmp_path: Path) -> None:
    ds64 = struct.pack("<QQQI", 100, 4, 2, 0xFFFFFFFF)
    path = tmp_path / "lie.wav"
    path.write_bytes(build([(b"ds64", ds64), (b"fmt ", FMT), (b"data", bytes(4))], b"RF64"))
    with pytest.raises(Unusable, match="a ds64 table of 4294967295 rows"):
        embed(path, "wav", VALUES)


def test_a_million_empty_chunks(tmp_path: Path) -> None:
    path = tmp_path / "many.wav"
    path.write_bytes(wav(*[(b"note", b"")] * 100_000))
    tracemalloc.start()
    try:
        with pytest.raises(Unusable, match="more than 4096 chunks"):
            embed(path, "wav", VALUES)
        assert tracemalloc.get_traced_memory()[1] < MOST_BYTES
    finally:
        tracemalloc.stop()


def test_a_million_info_entries(tmp_path: Path) -> None:
    """What is beyond 4096 entries is no label copy."""
    path = tmp_path / "many.wav"
    path.write_bytes(wav((b"LIST", b"INFO" + (b"ICMT" + struct.pack("<I", 2) + b"a\0") * 200_000)))
    tracemalloc.start()
    try:
        assert survives(path, "wav") == "clean"
        assert tracemalloc.get_traced_memory()[1] < 2 * MOST_BYTES
    finally:
        tracemalloc.stop()


def test_weird_tags_of_others_are_read_or_refused(tmp_path: Path) -> None:
    """An unreadable tag of one format does not hide the fields of another."""
    info = b"INFO" + b"INAM" + struct.pack("<I", 5) + b"Caf\xe9\0\0"
    path = tmp_path / "odd.wav"
    path.write_bytes(wav((b"LIST", info), (b"id3 ", b"ID3\x09\0\0\x7f\x7f\x7f\x7fgarbage!")))
    assert read_tags(path, "wav") == {"title": "Café"}


@pytest.mark.skipif(
    os.name == "nt" or not hasattr(os, "geteuid") or os.geteuid() == 0, reason="needs POSIX permissions"
)
def test_missing_write_permission_is_reported(shelf: Path, tmp_path: Path) -> None:
    path = copy(shelf, "plain.flac", tmp_path)
    path.chmod(0o400)
    with pytest.raises(Unfinished, match=r"plain\.flac"):
        embed(path, "flac", VALUES)


class _Full:
    """A disk that is full at the Nth write."""

    def __init__(self, nth: int) -> None:
        self.left = nth

    def wrap(self, opened: object) -> object:
        write = opened.write  # type: ignore[attr-defined]

        def limited(data: bytes) -> int:
            self.left -= 1
            if self.left < 0:
                raise OSError(28, "No space left on device")
            return int(write(data))

        class Limited:
            def __getattr__(self, name: str) -> object:
                return limited if name == "write" else getattr(opened, name)

            def __enter__(self) -> object:
                return self

            def __exit__(self, *_: object) -> None:
                opened.close()  # type: ignore[attr-defined]

        return Limited()


def test_a_full_disk_at_every_write(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """For N = 1 until nothing fails: one clear error, nothing left beside the file."""
    really_open = Path.open
    for nth in range(1000):
        path = tmp_path / "a.wav"
        path.write_bytes(wav((b"note", b"abc")))
        disk = _Full(nth)

        def limited(self: Path, mode: str = "r", disk: _Full = disk, **more: object) -> object:
            opened = really_open(self, mode, **more)  # type: ignore[call-overload]
            return opened if mode == "rb" else disk.wrap(opened)

        with monkeypatch.context() as patch:
            patch.setattr(Path, "open", limited)
            with suppress(Unfinished):
                embed(path, "wav", VALUES)
                break
        assert list(tmp_path.iterdir()) == [path]
    assert 10 < nth < 999
    assert read_tags(path, "wav")["title"] == VALUES["title"]
    path.write_bytes(wav())
    monkeypatch.setattr(Path, "open", lambda self, mode="r": _Full(2).wrap(really_open(self, mode)))
    with pytest.raises(Unfinished, match="no space left on device"):
        embed(path, "wav", VALUES)
    monkeypatch.undo()
