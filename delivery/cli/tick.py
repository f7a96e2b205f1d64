"""delivery tick: a remark is meant so, for this audio."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 3.5


def add(app: typer.Typer) -> None:
    app.command(epilog="Example:  delivery tick album/release.yaml clipped-runs:3 --by 'I. Merrow' --why 'meant so'")(
        tick
    )


def tick(
    release: Annotated[Path, typer.Argument(help="A release file, or the folder that holds release.yaml.")],
    remark: Annotated[str, typer.Argument(metavar="RULE:TRACK", help="What is meant so, such as clipped-runs:3.")],
    by: Annotated[str, typer.Option("--by", help="Who says so.")],
    why: Annotated[str, typer.Option("--why", help="The reason, for the sheet.")],
    spec: _edge.SpecNames = None,
    as_json: _edge.AsJson = False,
) -> None:
    """Tick a remark as intended: quiet for this master's audio and every file made from it, until a sample changes.

    It is written into the release file. A shortfall of a must is not ticked but waived: see 'build --allow-shortfall'.
    """
    from delivery.errors import Unusable
    from delivery.job import intend
    from delivery.job.intent import release_file_of
    from delivery.job.tick import tick

    file = release_file_of(release)
    if file is None:
        raise Unusable(str(release), "no release file", "a release file", "Begin one with 'delivery start'.")
    rule, _, track = remark.rpartition(":")
    if not rule or not track.isdecimal():
        raise Unusable("RULE:TRACK", repr(remark), "a rule and a position such as clipped-runs:3", "Name both.")
    made = tick(intend(file, tuple(spec or ())), file, rule, int(track), by, why)
    if as_json:
        _edge.print_json({"rule": made.rule, "track": made.track, "audio_hash": made.audio_hash, "by": made.by})
    else:
        print(f"Ticked {made.rule} of track {made.track} as intended, for audio {made.audio_hash[:8]} and no other.")
        print(f"It stands in {_edge.here(file)} under 'intended'.")
