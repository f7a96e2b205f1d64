"""A file without the tags that were written into it is the file before them, byte for byte."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.formats.embedding import embed
from delivery.tags.bare import mark_of, write_bare
from tests.tags.sounds import CONTAINERS, VALUES


@pytest.mark.parametrize("container", ["wav", "aiff", "mp3"])
def test_tags_of_ours_leave_no_trace(shelf: Path, tmp_path: Path, container: str) -> None:
    """Replacing the tags of a file gives the same bytes as writing the new tags into a fresh one."""
    name = CONTAINERS[container]
    new, file = tmp_path / f"new-{name}", tmp_path / name
    for path in (new, file):
        path.write_bytes((shelf / name).read_bytes())
    embed(file, container, VALUES)
    assert file.stat().st_size > new.stat().st_size + 500
    assert write_bare(file, tmp_path / f"bare-{name}")
    assert (tmp_path / f"bare-{name}").read_bytes() == new.read_bytes()
    assert mark_of(tmp_path / f"bare-{name}") == mark_of(new) != mark_of(file)


@pytest.mark.parametrize("container", ["flac", "m4a", "opus"])
def test_other_containers_are_made_again(shelf: Path, tmp_path: Path, container: str) -> None:
    file = shelf / CONTAINERS[container]
    assert not write_bare(file, tmp_path / "bare")
    assert not (tmp_path / "bare").exists()


def test_a_broken_file_is_none_of_ours(tmp_path: Path) -> None:
    (tmp_path / "a.wav").write_bytes(b"RIFF\xff\0\0\0WAVEfmt ")
    assert not write_bare(tmp_path / "a.wav", tmp_path / "bare")
