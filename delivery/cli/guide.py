"""delivery guide: pages that explain the program."""

from __future__ import annotations

from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 10


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery guide",
            "delivery guide specs",
            "delivery guide news",
        )
    )(guide)


def guide(
    topic: Annotated[str, typer.Argument(help="A topic; without one, all are listed.")] = "",
    as_json: _edge.AsJson = False,
) -> None:
    """Read about a topic: specs, label copy, what changed ..."""
    from difflib import get_close_matches

    from delivery.errors import Unusable
    from delivery.guide import ABOUT, page

    if topic and topic not in ABOUT:
        near = get_close_matches(topic, ABOUT, n=1)
        hint = f"Did you mean {near[0]}?" if near else "'delivery guide' lists all topics."
        raise Unusable("delivery guide", repr(topic), f"one of {', '.join(ABOUT)}", hint)
    if as_json:
        _edge.print_json({"topic": topic, "markdown": page(topic)} if topic else dict(ABOUT))
    elif topic:
        from rich.markdown import Markdown

        _edge.console().print(Markdown(page(topic)))
    else:
        width = max(map(len, ABOUT))
        for name, about in ABOUT.items():
            print(f"{name:{width}}  {about}")
