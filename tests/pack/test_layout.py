"""Where things lie: every path is made in one place and stays inside the package."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from delivery.pack import layout


def test_paths() -> None:
    assert layout.part("cd-rate-16", "01 Slack Water.wav") == "data/cd-rate-16/01 Slack Water.wav"
    assert layout.name_of("data/cd-rate-16/01 Slack Water.wav") == "01 Slack Water.wav"
    assert layout.archive_name("OSL-014 rev 1") == "OSL-014 rev 1.zip"
    assert layout.spec_folder("aux") == "data/aux_"
    assert layout.spec_folder("..") == "data/untitled"


@pytest.mark.parametrize(
    "path",
    [
        "/etc/x",
        "../x",
        "data/../../x",
        "data/./x",
        "data//x",
        "",
        "C:/x",
        "C:x",
        "data\\..\\..\\x",
        "\\\\host\\x",
        "~/x",
    ],
)
def test_paths_that_leave_the_package(path: str) -> None:
    """RFC 8493, 5.1.4 (special characters) and 5.2 (security): '..', absolute paths, '~', drive letters."""
    assert layout.escapes(path)
    with pytest.raises(ValueError, match="leaves the package"):
        layout.on_disk(Path(), path)


@given(st.text(min_size=1))
def test_what_does_not_escape_is_inside(path: str) -> None:
    """The judge is pathlib: the resolved path has the package above it."""
    if not layout.escapes(path):
        package = Path("package").absolute()
        assert package in layout.on_disk(package, path).resolve().parents


def test_droppings() -> None:
    left = [".DS_Store", "a/Thumbs.db", "a/._01 Slack Water.wav", "__MACOSX/a/x", "desktop.ini"]
    assert [layout.is_dropping(path) for path in left] == [True] * len(left)
    assert not layout.is_dropping("data/cd-rate-16/01 Slack Water.wav")
