"""Label copy as Markdown, read back by a CommonMark parser (markdown-it-py) that is independent of this program."""

from __future__ import annotations

from dataclasses import replace

from markdown_it import MarkdownIt

from delivery.report.label_copy import markdown
from tests.report.test_label_copy import PLAIN, RELEASE, view

TROUBLE = "1. *Low* __Water__ `x` <b>[a](b)</b> & &copy; # ~~y~~ | \\ ![z]"


def texts(source: str) -> list[str]:
    """Text of every heading and list item, marks taken off; nothing else may come of label copy."""
    found = []
    for token in MarkdownIt("commonmark").enable(["table", "strikethrough"]).parse(source):
        assert token.type.removesuffix("_open").removesuffix("_close") in {
            "heading", "bullet_list", "list_item", "paragraph", "inline",
        }  # fmt: skip
        if token.type == "inline":
            kinds = {child.type for child in token.children or ()}
            assert kinds <= {"text", "text_special", "strong_open", "strong_close"}, token.content
            found.append("".join(child.content for child in token.children or ()))
    return found


def test_every_supplied_field_is_printed_under_its_track() -> None:
    lines = texts(markdown.render(view()).decode("utf-8"))
    assert lines[0] == "Merrow & the Glass Tide: Harbour Arithmetic (Deluxe)"
    first, second = lines.index("1 Low Water (Radio Edit)"), lines.index("2 潮の計算")
    assert "ISRC: ZZ-OSL-26-00001" in lines[first:second]
    assert "Producers: Tam Varrick" in lines[first:second]
    assert "Instrumental: yes" in lines[second:]
    assert not [line for line in lines if line.endswith(": ")], "a field that was not supplied"


def test_marks_in_a_title_are_text() -> None:
    track = replace(PLAIN, position=1, number=1, title=TROUBLE)
    lines = texts(markdown.render(view(replace(RELEASE, tracks=(track,)))).decode("utf-8"))
    assert f"1 {TROUBLE}" in lines
    assert f"Title: {TROUBLE}" in lines
