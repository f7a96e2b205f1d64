"""delivery check: measure and judge one release, or many in one run; write nothing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from delivery.cli import _edge, _several

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from rich.console import RenderableType

    from delivery import Options
    from delivery.report.view.make import View

ORDER = 2


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery check album/release.yaml",
            "delivery check album -s cd-rate-16",
            "delivery check 'Song.wav' -s store-master-24 --json",
            "delivery check shelf",
        )
    )(check)


def check(
    context: typer.Context,
    paths: Annotated[
        list[Path],
        typer.Argument(
            help="A release file, a folder, or one sound file. Several, or a folder of releases: a line for each.",
            metavar="PATH...",
        ),
    ],
    spec: _edge.SpecNames = None,
    everything: Annotated[
        bool, typer.Option("--all", help="Also the album, the planned steps, and every remark in full.")
    ] = False,
    track: Annotated[int | None, typer.Option("--track", help="Only what was found about this track.")] = None,
    rule: Annotated[str, typer.Option("--rule", help="Only what this rule found.")] = "",
    as_json: _edge.AsJson = False,
    no_cache: _edge.NoCache = False,
    workers: _edge.Workers = _edge.DEFAULT_WORKERS,
    cluster: _edge.ClusterAddress = "",
    remote: _edge.Remote = False,
) -> None:
    """Measure every master and judge it against each spec. Nothing is written.

    A folder without a release file, or a single file, is judged by its sound alone. Of several releases each is
    checked by itself, on all cores; one that cannot be used does not stop the others.
    """
    from datetime import date

    with _edge.loading("delivery.pipeline.run"):
        from delivery import Options, check, figures, resolve_request
        from delivery.tasks.earlier import earlier_deliveries
        from delivery.tasks.several import releases_of
        from delivery.tasks.stores import delivered_before

        figures()  # loads the meters

    paths, fetched = _edge.local(context, paths, remote, workers, as_json)
    releases = releases_of(paths)
    if len(releases) > 1:
        _several.refuse_options_of_one({"--track": track, "--rule": rule})
        with _edge.engine(cluster, fetched) as engine:
            options = Options(workers=workers, engine=engine)
            code = _check_several(releases, tuple(spec or ()), options, everything, as_json, no_cache, fetched)
        raise typer.Exit(code)
    path = paths[0] if len(paths) == 1 and paths[0].is_file() else releases[0]
    place = _edge.shown_address(fetched.get(path, "")) or _edge.typed(_as_typed(path))
    request = resolve_request(path, tuple(spec or ()), today=date.today())
    with (
        _edge.engine(cluster, fetched) as engine,
        _edge.measurement_cache(no_cache, request.studio) as cache,
        _edge.progress(as_json) as progress,
    ):
        beside = request.release.path.parent
        named = request.specs
        known = earlier_deliveries(request.release, request.studio, beside, named) if _has_release_file(path) else ()
        delivery = check(
            request, Options(workers=workers, cache=cache, progress=progress, earlier=known, engine=engine)
        )
    from delivery.report.data import document
    from delivery.report.view.make import view_of

    _refuse_unknown_track(track, [source.track.position for source in delivery.sources])
    view = view_of(delivery, figures())
    if as_json:
        _edge.print_bytes(document.render(view))
    else:
        _edge.show(_shown(view, place, everything, track, rule))
    for remark in (*request.remarks, *delivered_before(delivery)):
        _edge.say(remark)
    raise typer.Exit(_edge.exit_code(delivery.result))


def _as_typed(path: Path) -> Path:
    """*path*, or only its folder if the file is release.yaml and not in the working folder."""
    from delivery.pipeline.request import RELEASE_FILE

    return path.parent if path.name == RELEASE_FILE and path.resolve().parent != Path.cwd() else path


def _has_release_file(path: Path) -> bool:
    from delivery.pipeline.request import release_file_of

    return release_file_of(path) is not None


def _check_several(
    releases: Sequence[Path],
    specs: tuple[str, ...],
    options: Options,
    everything: bool,
    as_json: bool,
    no_cache: bool,
    fetched: Mapping[Path, str],
) -> int:
    from dataclasses import replace

    from delivery.tasks.several import check_each

    with _edge.measurement_cache(no_cache) as cache, _edge.progress(as_json) as progress:
        states = check_each(releases, specs, replace(options, cache=cache, progress=progress))
        return _several.print_states(states, len(releases), everything, as_json, fetched)


def _refuse_unknown_track(track: int | None, positions: Sequence[int]) -> None:
    from delivery.errors import Unusable

    if track is not None and track not in positions:
        wanted = f"a position from 1 to {len(positions)}" if len(positions) > 1 else "1, the only track"
        raise Unusable("--track", str(track), wanted, "Count through all discs.")


def _shown(view: View, release: str, everything: bool, track: int | None, rule: str) -> list[RenderableType]:
    from delivery import rule_ids
    from delivery.errors import Unusable
    from delivery.report.text import full, terminal

    if rule and rule not in {*rule_ids(), *(notice.rule for notice in view.notices)}:
        raise Unusable("--rule", repr(rule), "the id of a rule", "Take it from what 'delivery check' prints.")
    if track is not None or rule:
        return full.notices_of(view, track, rule)
    return full.check_table(view) if everything else terminal.check_short(view, release)
