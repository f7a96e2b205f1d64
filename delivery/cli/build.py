"""delivery build: write the packages."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from delivery.cli import _edge, _several

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    from delivery.pipeline.run import Built

ORDER = 3


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery build album/release.yaml",
            "delivery build album --into deliveries --zip",
            "delivery build Song.wav --title 'Low Water' --artist 'Ada Fenn'",
            "delivery build album --waive tail_s:12 --by 'A. Moreau' --why 'hidden'",
        )
    )(build)


def build(
    context: typer.Context,
    paths: Annotated[
        list[Path],
        typer.Argument(
            help="A release file, a folder with release.yaml, or the master of a single. Several, or a folder "
            "of releases: a package for each.",
            metavar="PATH...",
        ),
    ],
    into: Annotated[
        Path | None,
        typer.Option("--into", metavar="FOLDER", help="Folder for the package. Default: beside the release file."),
    ] = None,
    spec: _edge.SpecNames = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Replace an existing package atomically, and its zip.")
    ] = False,
    zip: Annotated[bool, typer.Option("--zip", help="Also write the package as one zip file.")] = False,
    page: Annotated[str, typer.Option("--page", help="Paper of the sheet: A4 or Letter.")] = "A4",
    sheet: Annotated[
        str, typer.Option("--sheet", help="Form of the PDF sheet: whole, or summary (2 pages, no page for each track).")
    ] = "whole",
    reference: Annotated[
        str,
        typer.Option("--reference", help="Reference playlist: a page of the PDF sheet sets the release beside it."),
    ] = "",
    waive: Annotated[
        list[str] | None,
        typer.Option(
            "--waive", help="RULE or RULE:TRACK to waive. Written into the release file: it holds for later builds too."
        ),
    ] = None,
    by: Annotated[str, typer.Option("--by", help="Who waives.")] = "",
    why: Annotated[str, typer.Option("--why", help="The reason, for the sheet.")] = "",
    title: Annotated[str, typer.Option("--title", help="Of a single, built from its master alone.")] = "",
    artist: Annotated[str, typer.Option("--artist", help="Of a single.")] = "",
    version: Annotated[str, typer.Option("--version", help="Of a single, such as Radio Edit.")] = "",
    isrc: Annotated[str, typer.Option("--isrc", help="Of a single.")] = "",
    label: Annotated[str, typer.Option("--label", help="Of a single.")] = "",
    upc: Annotated[str, typer.Option("--upc", help="Of a single: 12 or 13 digits.")] = "",
    cover: Annotated[Path | None, typer.Option("--cover", "--artwork", help="Of a single: the picture.")] = None,
    dated: Annotated[str, typer.Option("--dated", help="Of a single: the date to print, year-month-day.")] = "",
    sign: Annotated[
        Path | None, typer.Option("--sign", help="Seal the package with this OpenSSH private key (Ed25519).")
    ] = None,
    again: Annotated[
        bool, typer.Option("--again", help="Build even if nothing has changed since the last delivery.")
    ] = False,
    everything: Annotated[bool, typer.Option("--all", help="Print every step and every remark in full.")] = False,
    as_json: _edge.AsJson = False,
    no_cache: _edge.NoCache = False,
    workers: _edge.Workers = _edge.DEFAULT_WORKERS,
    cluster: _edge.ClusterAddress = "",
    remote: _edge.Remote = False,
) -> None:
    """Make every deliverable and write a verified package.

    The package is written whole, or not at all.

    A deliverable that would need a creative decision is refused with the exact remedy; the others are made. A single
    needs no release file: its title, artist and codes are options, and are kept in 'Song.release.yaml' beside it.
    """
    from datetime import date

    with _edge.loading("delivery.pipeline.run"):
        from delivery import Options, build, figures, resolve_request
        from delivery.errors import Unusable
        from delivery.tasks.earlier import earlier_deliveries
        from delivery.tasks.several import build_each, releases_of
        from delivery.tasks.single import release_file_for
        from delivery.tasks.stores import delivered_before
        from delivery.tasks.waive import waive as write_waivers

        figures()  # loads the meters

    of_single = {
        "title": title,
        "artist": artist,
        "version": version,
        "isrc": isrc,
        "label": label,
        "upc": upc,
        "artwork": str(cover or ""),
        "dated": dated,
    }
    _refuse_unknown_forms(page, sheet)
    key = _signing_key(sign) if sign else None
    paths, fetched = _edge.local(context, paths, remote, workers, as_json)
    if fetched and into is None:
        raise Unusable("--into", "no folder", "a folder on this machine", "Nothing is written at an address.")
    releases = releases_of(paths)
    if len(releases) > 1:
        _several.refuse_options_of_one(
            {f"--{name}": value for name, value in of_single.items()} | {"--waive": waive, "--reference": reference}
        )
        with (
            _edge.engine(cluster, fetched) as engine,
            _edge.measurement_cache(no_cache) as cache,
            _edge.progress(as_json) as progress,
        ):
            options = Options(workers, cache, replace, zip, page, sheet, progress, key, again, engine=engine)
            states = build_each(releases, into, tuple(spec or ()), options)
            raise typer.Exit(_several.print_states(states, len(releases), everything, as_json, fetched))
    path = paths[0] if paths[0].is_file() else releases[0]
    release_file = release_file_for(path, {key: text for key, text in of_single.items() if text}, tuple(spec or ()))
    if release_file is None:
        raise Unusable(
            str(path),
            "no release file",
            "a release file",
            f"Write a first one: delivery start {_edge.typed(path if path.is_dir() else path.parent)}",
        )
    waivers = _edge.waivers_of(waive, by, why)
    request = resolve_request(release_file, tuple(spec or ()), waivers=waivers, today=date.today())
    written = write_waivers(release_file, waivers)
    if written:
        request = resolve_request(release_file, tuple(spec or ()), today=date.today())
        _edge.say("\n".join(_edge.waived(release_file, written)))
    with (
        _edge.engine(cluster, fetched) as engine,
        _edge.measurement_cache(no_cache, request.studio) as cache,
        _edge.progress(as_json) as progress,
    ):
        known = earlier_deliveries(request.release, request.studio, specs=request.specs)
        beside = None
        if reference:
            from delivery.tasks.reference import compare_with_reference

            beside = compare_with_reference([release_file], reference, cache, workers=workers, progress=progress)
        options = Options(workers, cache, replace, zip, page, sheet, progress, key, again, known, engine, beside)
        built = build(request, into or release_file.parent, options)
    from delivery.report.data import document
    from delivery.report.text import full, terminal
    from delivery.report.view.make import view_of

    view = view_of(built.delivery, figures())
    if as_json:
        _edge.print_bytes(document.render(view))
    else:
        if built.unchanged:
            option = "--replace" if built.is_of_this_revision else "--again"
            _edge.console().print(f"{view.changed} Nothing was built; {option} builds it all the same.", markup=False)
        else:
            _edge.show((full.build_summary if everything else terminal.build_short)(view))
        _edge.console().print(*_places(built), sep="\n", soft_wrap=True)
    for remark in (*request.remarks, *delivered_before(built.delivery, None if built.unchanged else built.package)):
        _edge.say(remark)
    raise typer.Exit(_edge.exit_code(built.delivery.result))


def _refuse_unknown_forms(page: str, sheet: str) -> None:
    from delivery.errors import Unusable

    if page not in ("A4", "Letter"):
        raise Unusable("--page", page, "A4 or Letter", "Choose one of them.")
    if sheet not in ("whole", "summary"):
        raise Unusable("--sheet", sheet, "whole or summary", "Choose one of them.")


def _signing_key(path: Path) -> Ed25519PrivateKey:
    """Read the key before the work begins, not after; a passphrase is asked for on the terminal only."""
    from delivery.tasks.signing import private_key

    def passphrase() -> str:
        from getpass import getpass

        return getpass(f"Passphrase of {path.name}: ")

    return private_key(path, passphrase if _edge.is_interactive() else None)


def _places(built: Built) -> list[str]:
    if built.package is None:
        return ["No package was written: every deliverable was refused."]
    papers = built.papers
    rows = [
        ("Package", built.package),
        ("Sheet", papers["sheet"]),
        ("On screen", papers["page"]),
        ("For a mail", papers["mail"]),
        *([("Archive", built.archive)] if built.archive else []),
    ]
    places = [f"{label:11}  {_edge.here(path)}" for label, path in rows]
    return [*places, f"Fingerprint  {built.fingerprint}"]
