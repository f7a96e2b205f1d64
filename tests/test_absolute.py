"""Paths with '..' lead where the system says, and have the name of what is there."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.absolute import absolute


def test_the_folder_above_has_its_own_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "Two Boats" / "in").mkdir(parents=True)
    monkeypatch.chdir(tmp_path / "Two Boats" / "in")
    assert absolute(Path("..")) == tmp_path / "Two Boats"
    assert absolute(Path("here.wav")) == tmp_path / "Two Boats" / "in" / "here.wav"


def test_a_link_is_kept_unless_the_path_goes_up_from_it(tmp_path: Path) -> None:
    (tmp_path / "real" / "songs").mkdir(parents=True)
    (tmp_path / "link").symlink_to(tmp_path / "real" / "songs")
    assert absolute(tmp_path / "link" / "one.wav") == tmp_path / "link" / "one.wav"
    assert absolute(tmp_path / "link" / ".." / "one.wav") == tmp_path / "real" / "one.wav"
