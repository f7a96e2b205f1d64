"""delivery verify: check a package before or after its transfer."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from delivery.cli import _edge

if TYPE_CHECKING:
    from rich.console import RenderableType

    from delivery.pipeline.verify import Checked

ORDER = 4


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery verify 'OSL-014 Harbour Arithmetic'",
        )
    )(verify)


def verify(
    package: Annotated[Path, typer.Argument(help="The package folder, or a folder with a checksum list.")],
    signer: Annotated[
        Path | None,
        typer.Option(
            "--signer", help="The sender's public key (.pub), or an allowed_signers file: then a seal is a must."
        ),
    ] = None,
    as_json: _edge.AsJson = False,
    workers: _edge.Workers = _edge.DEFAULT_WORKERS,
) -> None:
    """Check a package: checksums, audio hashes, figures.

    Prints which file differs, and how. Always measures again. A folder that is no package, such as a plant's image,
    is checked against the checksum list that lies in it.
    """
    from delivery import verify as verify_package
    from delivery.tasks.signing import signers_in

    signers = signers_in(signer) if signer else ()
    with _edge.progress(as_json) as progress:
        checked = verify_package(package, signers=signers, workers=workers, progress=progress)
    if as_json:
        _edge.print_json(checked.as_document())
    else:
        _edge.show(_shown(checked))
    raise typer.Exit(0 if checked.whole else 1)


def _shown(checked: Checked) -> list[RenderableType]:
    from delivery.report.text import verified

    if checked.lists:
        return verified.lists_table(checked.package.name, checked.listed, checked.lists, checked.rows())
    sealed_by = checked.sealed_by.fingerprint if checked.sealed_by else ""
    seal = verified.seal_lines(checked.fingerprint, sealed_by, expected=checked.expected_signer)
    return [*verified.verify_table(checked.package.name, checked.files, checked.rows()), *seal]
