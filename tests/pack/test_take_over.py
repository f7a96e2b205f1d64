"""A file of an earlier package is taken over only as the bytes that its checksum names, by Python's hashlib."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path
from typing import BinaryIO

import pytest
from blake3 import blake3

from delivery.pack import system
from delivery.pack.take_over import take_over

CONTENT = bytes(range(256)) * 40_000 + b"the end"
"""More than two chunks, and not a whole number of them."""
SHA256, BLAKE3 = hashlib.sha256(CONTENT).hexdigest(), blake3(CONTENT).hexdigest()


@pytest.fixture
def source(tmp_path: Path) -> Path:
    path = tmp_path / "before" / "01 Low Water.wav"
    path.parent.mkdir()
    path.write_bytes(CONTENT)
    return path


@pytest.mark.parametrize("blake3_hex", ["", BLAKE3], ids=["by SHA-256", "by BLAKE3"])
def test_a_copy_equals_its_source_and_is_a_file_of_its_own(source: Path, tmp_path: Path, blake3_hex: str) -> None:
    target = tmp_path / "now" / "wav" / "01.wav"
    assert take_over(source, target, SHA256, blake3_hex)
    assert target.read_bytes() == source.read_bytes() == CONTENT
    assert not target.is_symlink()
    assert not target.samefile(source)


@pytest.mark.parametrize(("sha256", "blake3_hex"), [("0" * 64, ""), (SHA256, "0" * 64)])
def test_a_source_with_another_checksum_leaves_no_target(
    source: Path, tmp_path: Path, sha256: str, blake3_hex: str
) -> None:
    """Where BLAKE3 is known, it alone is checked."""
    target = tmp_path / "01.wav"
    assert not take_over(source, target, sha256, blake3_hex)
    assert not target.exists()
    assert source.read_bytes() == CONTENT


def test_an_existing_target_is_replaced(source: Path, tmp_path: Path) -> None:
    """Not written into: another name of the old file keeps the old bytes."""
    target, other = tmp_path / "01.wav", tmp_path / "other.wav"
    target.write_bytes(b"older" * 400_000)
    other.hardlink_to(target)
    assert take_over(source, target, SHA256)
    assert target.read_bytes() == CONTENT
    assert other.read_bytes() == b"older" * 400_000


def test_a_source_that_cannot_be_opened_is_not_taken_over(tmp_path: Path) -> None:
    target = tmp_path / "01.wav"
    assert not take_over(tmp_path / "missing.wav", target, SHA256)
    assert not take_over(tmp_path, target, SHA256)  # a folder
    assert not target.exists()


def test_a_source_that_cannot_be_read_to_its_end_leaves_no_target(
    source: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "01.wav"

    class Damaged:
        def __init__(self) -> None:
            self._file = source.open("rb")

        def __enter__(self) -> Damaged:
            return self

        def __exit__(self, *_: object) -> None:
            self._file.close()

        def fileno(self) -> int:
            return self._file.fileno()

        def readinto(self, chunk: memoryview) -> int:
            if self._file.tell() > len(chunk):
                raise OSError(5, "Input/output error")
            return self._file.readinto(chunk)

    monkeypatch.setattr("delivery.pack.take_over.open_regular", lambda _: Damaged())
    monkeypatch.setattr(system, "copy_in_kernel", lambda *_: None)
    assert not take_over(source, target, SHA256)
    assert not target.exists()


@pytest.mark.parametrize("at_once", [0, 1000])
@pytest.mark.skipif(not hasattr(os, "copy_file_range"), reason="this system copies no file by itself")
def test_what_the_system_does_not_copy_is_copied_here(
    source: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, at_once: int
) -> None:
    """It may know no such call for these disks, or fail after some bytes."""
    real = os.copy_file_range
    calls = []

    def failing(one: int, other: int, _count: int) -> int:
        calls.append(one)
        if len(calls) > (at_once > 0):
            raise OSError(18, "Invalid cross-device link")
        return real(one, other, at_once)

    monkeypatch.setattr(os, "copy_file_range", failing)
    target = tmp_path / "01.wav"
    assert take_over(source, target, SHA256, BLAKE3)
    assert target.read_bytes() == CONTENT
    assert len(calls) == 1 + (at_once > 0)


def test_other_bytes_in_the_copy_alone_are_found(source: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The copy is read, not what was meant to be written."""
    real = system.copy_in_kernel

    def altered(there: BinaryIO, here: BinaryIO) -> None:
        real(there, here)
        os.pwrite(here.fileno(), b"!", 5000)

    monkeypatch.setattr(system, "copy_in_kernel", altered)
    target = tmp_path / "01.wav"
    assert not take_over(source, target, SHA256, BLAKE3)
    assert not target.exists()
    assert source.read_bytes() == CONTENT


def test_shared_blocks_are_not_written_a_second_time_and_are_checked_too(
    source: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the file system clones, the source is only read; this one is made to clone by a copy."""

    def cloned(_there: object, here: object) -> bool:
        here.write(CONTENT)  # type: ignore[attr-defined]
        return True

    monkeypatch.setattr(system, "clone", cloned)
    target = tmp_path / "01.wav"
    assert take_over(source, target, SHA256)
    assert target.read_bytes() == CONTENT
    assert not take_over(source, target, "0" * 64)
    assert not target.exists()
