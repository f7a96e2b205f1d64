"""delivery desk: the whole job in the browser, on this machine alone."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 0.5


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery desk",
            "delivery desk masters",
            "delivery desk --port 8765 --no-browser",
        )
    )(desk)


def desk(
    folder: Annotated[Path | None, typer.Argument(help="A folder of masters to open.")] = None,
    port: Annotated[int, typer.Option("--port", min=0, max=65535, help="Port; 0 chooses a free one.")] = 0,
    no_browser: Annotated[
        bool, typer.Option("--no-browser", help="Print what to open instead of opening the browser.")
    ] = False,
    install_shortcut: Annotated[
        bool, typer.Option("--install-shortcut", help="Add the desk to the menu of this machine, and stop.")
    ] = False,
) -> None:
    """Work in the browser: check, complete, accept, build.

    Opens a page of this machine that no other machine can reach; nothing is uploaded. A second start finds the first.
    Close it from the page, or with Ctrl-C.
    """
    from importlib.util import find_spec

    from delivery.errors import Unusable

    missing = [name for name in ("starlette", "uvicorn") if find_spec(name) is None]
    if missing:
        found = f"{' and '.join(missing)} not installed"
        raise Unusable("delivery desk", found, "the extra 'desk'", "Install it: pipx install 'delivery[desk]'")
    if install_shortcut:
        from delivery.desk.shortcut import install

        print(f"Wrote {install()}. The desk starts from there, too.")
        return
    from delivery.desk import server

    server.run(folder, port, lambda text: print(text, flush=True), None if no_browser else server.in_browser)
