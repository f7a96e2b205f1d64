"""delivery accept: accept remarks and intended spellings."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from delivery.cli import _edge

if TYPE_CHECKING:
    from delivery.model.release import Acceptance
    from delivery.pipeline.request import Request

ORDER = 3.5


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery accept album clip_runs_max:3 --by 'I. Merrow' --why 'tape'",
            "delivery accept album --all tail_s --by 'I. Merrow' --why 'intended'",
            "delivery accept album --spelling 'lOW wATER'",
        )
    )(accept)


def accept(
    release: Annotated[Path, typer.Argument(help="A release file, or a folder with release.yaml.")],
    remarks: Annotated[
        list[str] | None, typer.Argument(metavar="RULE:TRACK", help="Remarks, such as clip_runs_max:3.")
    ] = None,
    every: Annotated[
        list[str] | None, typer.Option("--all", metavar="RULE", help="This rule's remark on every track that has it.")
    ] = None,
    spelling: Annotated[
        list[str] | None,
        typer.Option("--spelling", metavar="TEXT", help="A title, version or name that is spelled as intended."),
    ] = None,
    by: Annotated[str, typer.Option("--by", help="Who accepts the remarks.")] = "",
    why: Annotated[str, typer.Option("--why", help="The reason, printed on the sheet.")] = "",
    spec: _edge.SpecNames = None,
    as_json: _edge.AsJson = False,
) -> None:
    """Accept remarks about a master's sound, or spellings.

    A remark is accepted for this audio and every file made from it, until a sample changes; it is written into the
    release file. A spelling is accepted for the artist, on any release, and written into studio.yaml. A must is not
    accepted but waived: see 'delivery waive'.
    """
    from delivery.errors import Unusable
    from delivery.pipeline import resolve_request
    from delivery.pipeline.request import release_file_of
    from delivery.tasks.accept import accept
    from delivery.tasks.spellings import accept_spellings

    file = release_file_of(release)
    if file is None:
        raise Unusable(str(release), "no release file", "a release file", "Begin one with 'delivery start'.")
    if not (remarks or every or spelling):
        raise Unusable(
            "delivery accept", "no remark and no spelling", "RULE:TRACK, --all RULE or --spelling", "Name one."
        )
    if (remarks or every) and not (by.strip() and why.strip()):
        raise Unusable("delivery accept", "no name or no reason", "--by NAME and --why TEXT", "The sheet prints both.")
    request = resolve_request(file, tuple(spec or ()))
    named = [_named(text) for text in remarks or ()] + [
        one for rule in every or () for one in _everywhere(request, rule)
    ]
    made: list[Acceptance] = []
    for rule, position in dict.fromkeys(named):
        made.append(accept(request, file, rule, position, by, why))
    spelled = accept_spellings(file, spelling) if spelling else None
    if as_json:
        document: dict[str, object] = {
            "accepted": [{"rule": one.rule, "track": one.track, "audio_hash": one.audio_hash} for one in made],
            "spellings": list(spelled.fresh) if spelled else [],
        }
        _edge.print_json(document)
        return
    for one in made:
        print(f"Accepted {one.rule} of track {one.track}, for audio {one.audio_hash[:8]} and no other.")
    if made:
        print(f"Written to {_edge.here(file)} under 'accepted'.")
    if spelled:
        for text in spelling or ():
            print(f"{text!r}: {'accepted' if text in spelled.fresh else 'accepted already'} for {spelled.artist}.")
        print(f"Written to {_edge.here(spelled.file)} under 'accepted_titles'.")


def _named(text: str) -> tuple[str, int]:
    from delivery.errors import Unusable

    rule, _, track = text.rpartition(":")
    if not rule or not track.isdecimal():
        raise Unusable("RULE:TRACK", repr(text), "a rule and a position such as clip_runs_max:3", "Name both.")
    return rule, int(track)


def _everywhere(request: Request, rule: str) -> list[tuple[str, int]]:
    """The rule with each track that has its remark now."""
    from delivery.errors import Unusable
    from delivery.pipeline import Options, check
    from delivery.tasks.accept import refuse_rule, remarked_tracks

    refuse_rule(request, rule)
    with _edge.measurement_cache(False) as cache, _edge.progress(False) as progress:
        delivery = check(request, Options(workers=_edge.DEFAULT_WORKERS, cache=cache, progress=progress))
    findings = tuple(finding for part in delivery.parts for finding in part.findings)
    tracks = remarked_tracks(findings, rule)
    if not tracks:
        raise Unusable(rule, "no remark on any track", "a remark that 'delivery check' prints", "No action needed.")
    return [(rule, track) for track in tracks]
