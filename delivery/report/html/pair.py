"""Two files beside each other as one HTML page with a picture."""

from __future__ import annotations

from delivery.model.pair import Pair
from delivery.report.html.page import environment, policy, template_text
from delivery.report.html.pair_picture import Picture, picture
from delivery.report.view import words
from delivery.report.view.pair import HIT_HEADS, HIT_NOTE, LEGEND, SECTION_HEADS, TONE_HEADS, PairView

__all__ = ["Picture", "columns", "picture", "render"]


def columns(one: str, other: str) -> dict[str, object]:
    """Heads and notes of the tables."""
    return {
        "sections": SECTION_HEADS,
        "hits": HIT_HEADS,
        "tone": TONE_HEADS,
        "figures": ("Figure", words.plain(one), words.plain(other), "difference"),
        "legend": LEGEND,
        "hit_note": HIT_NOTE,
    }


def render(pair: Pair, view: PairView, one: str, other: str) -> bytes:
    """UTF-8, LF; the same bytes for the same comparison. No network, no script."""
    made = (
        environment()
        .get_template("pair.html.j2")
        .render(
            one=words.plain(one),
            other=words.plain(other),
            view=view,
            picture=picture(pair),
            columns=columns(one, other),
            style=template_text("sheet.css") + template_text("comparison.css"),
            policy=policy(()),
        )
    )
    return made.encode("utf-8", errors="replace")
