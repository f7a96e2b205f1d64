"""delivery reference: playlists of peers, stored as figures."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from delivery.cli import _edge

if TYPE_CHECKING:
    from delivery.tasks.reference import Kept

ORDER = 5.6
LeaveOut = Annotated[
    bool,
    typer.Option("--leave-out-marked", help="Leave out tracks that are lossy, clipped, mono, shortened or normalised."),
]
Name = Annotated[str, typer.Argument(help="Name of the reference, such as indie-folk.")]


def add(app: typer.Typer) -> None:
    """Register the command."""
    references = typer.Typer(
        help="Keep the figures of reference playlists for comparing.",
        epilog=_edge.examples(
            "delivery reference make indie-folk peers/",
            "delivery compare Song.wav -r indie-folk",
        ),
        no_args_is_help=True,
    )
    references.command()(make)
    references.command(name="list")(list_references)
    references.command()(show)
    references.command(name="add")(add_tracks)
    references.command()(remove)
    app.add_typer(references, name="reference")


def make(
    name: Name,
    paths: Annotated[
        list[Path],
        typer.Argument(metavar="FOLDER...", help="Folders of released songs, or files: lossless, as bought."),
    ],
    leave_out_marked: LeaveOut = False,
    replace: Annotated[bool, typer.Option("--replace", help="Replace an existing reference.")] = False,
    as_json: _edge.AsJson = False,
    no_cache: _edge.NoCache = False,
    workers: _edge.Workers = _edge.DEFAULT_WORKERS,
) -> None:
    """Measure peers once and keep the figures, no audio.

    The file holds names and figures only and may be handed to a colleague: --reference FILE.json reads it anywhere.
    """
    from delivery.tasks.reference import make_reference

    with _edge.measurement_cache(no_cache) as cache, _edge.progress(as_json) as progress:
        kept = make_reference(
            name,
            paths,
            cache,
            leave_out_marked=leave_out_marked,
            replace_old=replace,
            workers=workers,
            progress=progress,
        )
    _tell(kept, as_json)


def list_references(as_json: _edge.AsJson = False) -> None:
    """List every reference that is kept."""
    from delivery.errors import DeliveryError
    from delivery.report.view.words import counted
    from delivery.tasks.reference import load_reference, reference_names, references_folder

    found, problems = [], []
    for name in reference_names():
        try:
            found.append(load_reference(name))
        except DeliveryError as error:
            problems.append(str(error))
    if as_json:
        _edge.print_json({"references": [{"name": one.name, "count": len(one.tracks)} for one in found]})
    elif found:
        for one in found:
            print(f"{one.name}  {counted(len(one.tracks), 'track')}")
    elif not problems:
        print("No reference yet. Make one: delivery reference make NAME FOLDER")
    for problem in problems:
        _edge.say(problem)
    if found and not as_json:
        _edge.say(f"Kept in {references_folder()}")
    raise typer.Exit(2 if problems else 0)


def show(
    name: Annotated[str, typer.Argument(help="Name of the reference, or its JSON file.")],
    as_json: _edge.AsJson = False,
) -> None:
    """Show the tracks of a reference, with marks on doubtful ones."""
    from delivery.report.data import reference as data
    from delivery.report.text import reference as text
    from delivery.report.view.reference import older_remark
    from delivery.tasks.reference import load_reference, marks_of, older_tracks

    reference = load_reference(name)
    marks = marks_of(reference.tracks)
    if as_json:
        _edge.print_json(data.playlist(reference, marks))
    else:
        _edge.show(text.playlist(reference, marks))
    if older := older_tracks(reference):
        _edge.say(older_remark(reference.name, older))


def add_tracks(
    name: Name,
    files: Annotated[list[Path], typer.Argument(help="Sound files, or folders of them.")],
    leave_out_marked: LeaveOut = False,
    as_json: _edge.AsJson = False,
    no_cache: _edge.NoCache = False,
    workers: _edge.Workers = _edge.DEFAULT_WORKERS,
) -> None:
    """Measure further tracks and add them."""
    from delivery.tasks.reference import add_to_reference

    with _edge.measurement_cache(no_cache) as cache, _edge.progress(as_json) as progress:
        kept = add_to_reference(
            name, files, cache, leave_out_marked=leave_out_marked, workers=workers, progress=progress
        )
    _tell(kept, as_json)


def remove(
    name: Name,
    files: Annotated[
        list[str] | None, typer.Argument(help="Tracks, as 'show' names them. Default: the whole reference.")
    ] = None,
    as_json: _edge.AsJson = False,
) -> None:
    """Remove tracks, or the whole reference."""
    from delivery.tasks.reference import remove_from_reference, remove_reference

    if files:
        _tell(remove_from_reference(name, files), as_json)
        return
    remove_reference(name)
    if as_json:
        _edge.print_json({"removed": name})
    else:
        print(f"Removed the reference {name}.")


def _tell(kept: Kept, as_json: bool) -> None:
    from delivery.report.data import reference as data
    from delivery.report.text import reference as text
    from delivery.report.view.words import in_command

    if as_json:
        document = data.playlist(kept.reference, kept.marks)
        _edge.print_json({**document, "path": str(kept.path), "left_out": data.marks(kept.left_out)})
    else:
        _edge.show(text.playlist(kept.reference, kept.marks))
        name = in_command(kept.reference.name)
        if kept.left_out:
            _edge.console().print("Left out:", *text.marked(kept.left_out), sep="\n")
        if kept.marks:
            print(f"Marked tracks: compare with --leave-out-marked, or delivery reference remove {name} FILES")
        print(f"Kept in {_edge.here(kept.path)}. Use it: delivery compare SONG --reference {name}")
    for problem in kept.problems:
        _edge.say(problem)
