"""delivery approve: record that these masters are approved."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 3.7


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(epilog="Example:  delivery approve album --by 'I. Merrow' --date 2026-05-12")(approve)


def approve(
    release: Annotated[Path, typer.Argument(help="A release file, or the folder that holds release.yaml.")],
    by: Annotated[str, typer.Option("--by", help="Who approved the masters.")],
    date: Annotated[str, typer.Option("--date", help="The day it was done: year-month-day.", metavar="DAY")],
    as_json: _edge.AsJson = False,
) -> None:
    """Record who approved the masters, by their audio hashes and label copy.

    From then on 'check' and 'build' refuse anything else than what was approved: other samples, another order, a
    changed title or code. The same samples in another container, and new tags, are no change. A waiver of 'approved'
    permits one.
    """
    from delivery.errors import Unusable
    from delivery.pipeline.request import release_file_of
    from delivery.tasks.approve import approve
    from delivery.tasks.stores import note_approval

    file = release_file_of(release)
    if file is None:
        raise Unusable(str(release), "no release file", "a release file", "Begin one with 'delivery start'.")
    made = approve(file, by, date)
    for remark in note_approval(file, made):
        _edge.say(remark)
    if as_json:
        day = made.dated.isoformat()
        _edge.print_json({"by": made.by, "date": day, "audio_hashes": list(made.audio_hashes)})
        return
    masters = f"{len(made.audio_hashes)} master{'s' if len(made.audio_hashes) != 1 else ''}"
    print(f"{masters} approved by {made.by} on {made.dated.isoformat()}, for this audio and label copy and no other:")
    for position, audio_hash in enumerate(made.audio_hashes, start=1):
        print(f"{position:>4}  {audio_hash}")
    print(f"Written to {_edge.here(file)} under 'approved'.")
