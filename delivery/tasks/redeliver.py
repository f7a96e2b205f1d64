"""Make a new recipient's files from an archived package."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

from delivery.absolute import absolute
from delivery.intake import load_specs, load_studio
from delivery.pipeline.archived import archived_release
from delivery.pipeline.options import Options
from delivery.pipeline.request import Request, numbers
from delivery.pipeline.run import Built, build
from delivery.rules.bounds import bounded

NO_ARTWORK = "the archived package's cover is not used again: it was made for other recipients"


def redeliver(
    package: Path, spec_names: tuple[str, ...], into: Path | None, options: Options, dated: date | None = None
) -> Built:
    """Build for the specs named, from the best lossless file of each track in *package*.

    Parameters
    ----------
    into : None: a folder beside the package, named after it and the specs
    dated : the date to print; None: not stated

    Raises
    ------
    Unusable, Faulty : no package, a track without a lossless file, a damaged file, or an unknown spec
    Occupied : such a package is there already
    """
    release, studio = replace(archived_release(package), dated=dated), load_studio(package)
    specs = tuple(bounded(spec, numbers()) for spec in load_specs(spec_names, studio.spec_folders))
    named = ", ".join(spec.id for spec in specs)
    where = into or absolute(package).with_name(f"{absolute(package).name} for {named}")
    return build(Request(release, specs, studio, lambda: (None, NO_ARTWORK)), where, options)
