"""What differs between two deliveries, each a package or a release file."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from delivery.absolute import absolute
from delivery.compare.changes import changes
from delivery.errors import Unusable
from delivery.ledger.cache import MeasurementCache
from delivery.model.changes import Changes
from delivery.pack import layout
from delivery.pipeline.earlier import UNREADABLE, package_data
from delivery.pipeline.options import Options
from delivery.pipeline.request import release_file_of, resolve_request
from delivery.pipeline.run import check
from delivery.pipeline.sources import Progress, quiet
from delivery.report.data.document import document


def changes_between(
    earlier: Path,
    later: Path,
    cache: MeasurementCache | None = None,
    workers: int = 2,
    progress: Progress = quiet,
) -> Changes:
    """What differs from *earlier* to *later*; the masters of a release file are measured.

    Raises
    ------
    Unusable, Faulty : neither a package nor a release file, or one that cannot be used
    """
    read = [_data(path, Options(workers, cache, progress=progress)) for path in (earlier, later)]
    revisions = [each["release"]["revision"] for each in read]
    named = None if revisions[0] != revisions[1] else (_name(earlier), _name(later))
    try:
        return changes(read[0], read[1], named)
    except UNREADABLE as fault:
        found = f"data that cannot be used ({type(fault).__name__}: {fault})"
        raise Unusable(f"{earlier}, {later}", found, "data documents of packages", "Verify both packages.") from fault


def _data(path: Path, options: Options) -> Mapping[str, Any]:
    if path.is_dir() and (path / layout.DECLARATION).is_file():
        return package_data(path).document
    if not path.exists() or release_file_of(path) is None:
        wanted = "a package, a release file, or the folder of one"
        raise Unusable(str(path), "neither a package nor a release file", wanted, "Check the path.")
    return document(check(resolve_request(path), options))


def _name(path: Path) -> str:
    """Two of one revision are distinguished by their paths."""
    return absolute(path).name
