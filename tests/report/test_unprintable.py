"""Characters that no font has are reported before a sheet prints the replacement sign for them."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.model.release import Release
from delivery.model.track import Track
from delivery.report import font_files
from delivery.report.unprintable import unprintable_remarks, without_font

RARE = "\u3400"
"""The first ideograph of Extension A (Unicode 3.0): not in the small font."""


@pytest.fixture
def no_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    """As installed without ``delivery[cjk]``."""
    monkeypatch.setattr(font_files, "EAST_ASIA", "no_such_package")


def release(title: str, track: str) -> Release:
    return Release(Path("release.yaml"), title, "Ada Fenn", (Track(1, Path("one.wav"), track),))


@pytest.mark.usefixtures("no_extra")
@pytest.mark.parametrize(
    "text", ["Low Water", "Größe – É", "Тихо", "潮の計算", "조수", "بحر", "★ → ●", "A\u200dB\ufe0f", "葛\U000e0100"]
)
def test_scripts_that_the_fonts_have_give_no_remark(text: str) -> None:
    assert not without_font(text)


@pytest.mark.usefixtures("no_extra")
def test_a_rare_ideograph_is_named_with_its_track_and_the_remedy() -> None:
    (remark,) = unprintable_remarks(release("Tides", f"潮{RARE}"))
    assert remark.startswith(f"Track 1: the PDF sheet has no font for {RARE} and prints \ufffd instead")
    assert "delivery[cjk]" in remark


@pytest.mark.usefixtures("no_extra")
def test_a_character_of_the_release_title_is_not_repeated_for_each_track() -> None:
    (remark,) = unprintable_remarks(release(f"{RARE}", f"{RARE} again"))
    assert remark.startswith("The release: ")


def test_the_large_fonts_have_it() -> None:
    pytest.importorskip("justmytype_intl_cjk")
    assert not without_font(RARE)
