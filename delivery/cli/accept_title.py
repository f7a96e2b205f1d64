"""delivery accept-title: what an artist means exactly so."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 3.6


def add(app: typer.Typer) -> None:
    app.command(name="accept-title", epilog="Example:  delivery accept-title album 'lOW wATER' 'tally OF lamps'")(
        accept_title
    )


def accept_title(
    release: Annotated[Path, typer.Argument(help="A release file, or the folder that holds release.yaml.")],
    titles: Annotated[list[str], typer.Argument(help="Titles, versions or names as the release file has them.")],
    as_json: _edge.AsJson = False,
) -> None:
    """Accept spellings as this artist means them: no advice is given about them again, on any release of theirs.

    They are remembered in studio.yaml, the one beside the release file or the one in your configuration folder, whose
    comments stay. No title is changed.
    """
    from delivery.errors import Unusable
    from delivery.job.accept import accept
    from delivery.job.intent import release_file_of

    file = release_file_of(release)
    if file is None:
        raise Unusable(str(release), "no release file", "a release file", "Begin one with 'delivery start'.")
    made = accept(file, titles)
    if as_json:
        _edge.print_json({"artist": made.artist, "accepted": list(made.fresh), "studio_file": str(made.file)})
        return
    for title in titles:
        print(f"{title!r}: {'accepted' if title in made.fresh else 'accepted already'} for {made.artist}.")
    print(f"It stands in {_edge.here(made.file)} under 'accepted_titles'.")
