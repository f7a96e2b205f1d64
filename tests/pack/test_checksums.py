"""Checksums against the documents that define them."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.errors import Unusable
from delivery.pack.checksums import checksums


@pytest.mark.parametrize(
    ("content", "sha256", "md5"),
    [
        (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855", "d41d8cd98f00b204e9800998ecf8427e"),
        (
            b"abc",
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
            "900150983cd24fb0d6963f7d28e17f72",
        ),
    ],
    ids=["empty", "abc"],
)
def test_known_answers(tmp_path: Path, content: bytes, sha256: str, md5: str) -> None:
    """FIPS 180-4 example ('abc') and RFC 1321, A.5 (test suite); the empty SHA-256 from memory."""
    file = tmp_path / "x"
    file.write_bytes(content)
    found = checksums(file)
    assert (found.sha256, found.md5, found.size_bytes) == (sha256, md5, len(content))
    assert (found.by("sha256"), found.by("md5")) == (sha256, md5)


def test_a_million_letters(tmp_path: Path) -> None:
    """FIPS 180-4's long example: one million 'a'."""
    file = tmp_path / "x"
    file.write_bytes(b"a" * 1_000_000)
    assert checksums(file).sha256 == "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"


def test_a_file_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    with pytest.raises(Unusable, match=r"gone\.wav: found No such file"):
        checksums(tmp_path / "gone.wav")
