"""delivery revise: a new bounce becomes a revision of the release."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from delivery.cli import _edge

ORDER = 2.7


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery revise album 'Salt Road MASTER v3.wav'",
            "delivery revise album bounce-7.wav --track 3",
        )
    )(revise)


def revise(
    release: Annotated[Path, typer.Argument(help="A release file, or a folder with release.yaml.")],
    files: Annotated[list[Path], typer.Argument(metavar="FILE...", help="New masters.")],
    track: Annotated[
        int | None, typer.Option("--track", help="Position of the one track that FILE belongs to.")
    ] = None,
    as_json: _edge.AsJson = False,
    no_cache: _edge.NoCache = False,
    workers: _edge.Workers = _edge.DEFAULT_WORKERS,
) -> None:
    """Put new masters into a release and raise its revision.

    Each file finds its track by its sound, then by its name; one that fits none or several is refused, and nothing is
    written. The release file keeps its comments. A revision that was not delivered yet keeps its number. A file from
    outside the release's folder is copied beside the master it replaces, and overwrites nothing.
    """
    from delivery import load_release, load_studio
    from delivery.errors import Unusable
    from delivery.pipeline.request import release_file_of
    from delivery.report.data.changes import changes_document
    from delivery.report.view.changes import changes_lines
    from delivery.tasks.earlier import earlier_deliveries
    from delivery.tasks.revise import revise as put_in

    file = release_file_of(release)
    if file is None:
        raise Unusable(str(release), "no release file", "a release file", "Begin one with 'delivery start'.")
    read, studio = load_release(file), load_studio(file)
    with _edge.measurement_cache(no_cache, studio) as cache, _edge.progress(as_json) as progress:
        known = earlier_deliveries(read, studio, file.parent)
        done = put_in(read, files, track=track, earlier=known, cache=cache, workers=workers, progress=progress)
    if as_json:
        replaced = [
            {
                "track": each.track.position,
                "file": each.file.name,
                "before": each.track.file.name,
                "how": each.how,
                "copied_to": str(each.copied_to) if each.copied_to else None,
            }
            for each in done.replaced
        ]
        revised = {"before": done.before, "revision": done.revision, "replaced": replaced}
        _edge.print_json({**revised, "changes": changes_document(done.changes)})
        return
    for each in done.replaced:
        copied = f"; copied to {_edge.here(each.copied_to)}" if each.copied_to else ""
        print(f"Track {each.track.position}, {each.track.title}: {each.file.name} ({each.how}){copied}.")
    for line in changes_lines(done.changes):
        print(f"- {line}")
    kept = " (not delivered yet)" if done.revision == done.before else f" (was {done.before})"
    print(f"Written to {_edge.here(file)}: revision {done.revision}{kept}.")
    if read.dated and done.revision != done.before:
        _edge.say(
            f"It is still dated {read.dated}, which decides the month that it counts in: change 'dated' if need be."
        )
