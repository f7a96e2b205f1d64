"""delivery approve: record that these masters are approved."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from delivery.cli import _edge

if TYPE_CHECKING:
    from delivery.tasks.approve import Answered

ORDER = 3.7


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery approve album --by 'I. Merrow' --date 2026-05-12",
        )
    )(approve)


def approve(
    release: Annotated[Path, typer.Argument(help="A release file, or a folder with release.yaml.")],
    answer: Annotated[
        Path | None,
        typer.Option("--from", help="The answer file that the sheet's form makes, or the client's mail as text."),
    ] = None,
    by: Annotated[str, typer.Option("--by", help="Who approved the masters. Default: as the answer states.")] = "",
    date: Annotated[
        str,
        typer.Option(
            "--date", help="The day it was done: year-month-day. Default: as the answer states.", metavar="DAY"
        ),
    ] = "",
    as_json: _edge.AsJson = False,
) -> None:
    """Record who approved masters and label copy, by their hashes.

    From then on 'check' and 'build' refuse anything but what was approved: other samples, another order, a
    changed title or code. The same samples in another container, and new tags, are no change. A waiver of 'approved'
    permits one.

    With --from, the client's answer is read: the file of the sheet's form, or a mail such as "1 ok, 3: more bass at
    1:23", numbered as in the mail. Quoted lines and signatures are left out, and a line that cannot be read is
    refused. Requested changes become open entries of the QC log. Nothing is written if the answer is about another
    revision, audio or titles than the release has now: the form names them, a mail by its subject, by the quoted head
    of the mail it answers, or by 'revision 2: all ok'.
    """
    from delivery.errors import Unusable
    from delivery.pipeline.request import release_file_of
    from delivery.tasks.approve import approve, approve_from
    from delivery.tasks.stores import note_answer, note_approval

    file = release_file_of(release)
    if file is None:
        raise Unusable(str(release), "no release file", "a release file", "Begin one with 'delivery start'.")
    made = approve_from(file, answer, by, date) if answer else approve(file, by, date)
    noted = note_approval(file, made.approval) if made.complete and made.approval else note_answer(file, made)
    for remark in noted:
        _edge.say(remark)
    if answer and not made.states_revision:
        _edge.say(
            f"{answer.name} does not name the revision it answers; it was taken for revision {made.revision}, which "
            f"{file.name} states now. If the client heard another one, ask for an answer to this one."
        )
    if as_json:
        _edge.print_json(_document(made))
        return
    for line in _lines(made):
        print(line)
    print(f"Written to {_edge.here(file)}.")


def _lines(made: Answered) -> Iterator[str]:
    from delivery.report.view.log import clock_of

    on = f"{made.by} on {made.dated.isoformat()}"
    if made.approved and made.approval:
        masters = f"{len(made.approved)} master{'s' if len(made.approved) != 1 else ''}"
        yield f"Revision {made.revision}: {masters} approved by {on}, for this audio and label copy and no other:"
        yield from (f"{position:>4}  {made.approval.hash_at(position)}" for position in made.approved)
    if made.logged:
        yield f"New open entries of the QC log, requested by {made.by}:"
    for entry in made.logged:
        track = f"track {entry.track}" if entry.track else "release"
        yield f"  {track}, {clock_of(entry.at_s)}: {entry.what}"
    hashes = made.approval.audio_hashes if made.approval else ()
    waiting = [str(position) for position, found in enumerate(hashes, start=1) if not found]
    if waiting:
        yield f"Not approved yet: {', '.join(waiting)}."


def _document(made: Answered) -> dict[str, Any]:
    given = made.approval
    return {
        "by": made.by,
        "date": made.dated.isoformat(),
        "audio_hashes": list(given.audio_hashes) if given else [],
        "approved": list(made.approved),
        "revision": made.revision,
        "states_revision": made.states_revision,
        "requests": [{"track": one.track, "at_s": one.at_s, "what": one.what} for one in made.logged],
    }
