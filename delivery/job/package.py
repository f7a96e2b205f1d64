"""Papers, sheet, data, bag and archive of a build: everything that stands around the parts."""

from __future__ import annotations

from pathlib import Path

from delivery import __version__
from delivery.errors import Occupied
from delivery.measure import figures
from delivery.model.part import Delivery
from delivery.model.release import Release
from delivery.pack import layout
from delivery.pack.archive import write_zip
from delivery.pack.bag import BagInfo, write_bag
from delivery.pack.names import folder_name
from delivery.pack.papers import papers
from delivery.report import data_json, sheet_pdf, table_csv
from delivery.report.view import view_of


def folder_of(release: Release) -> str:
    """Name of the package folder."""
    return folder_name(release)


def archive_of(target: Path) -> Path:
    return target.with_name(target.name + ".zip")


def refuse_occupied(target: Path, *, replace: bool, zip: bool) -> None:
    """Say so before an hour's work, not after.

    Raises
    ------
    Occupied : the package or its archive is there and *replace* is False
    """
    for path in (target, archive_of(target)) if zip else (target,):
        if path.exists() and not replace:
            raise Occupied(str(path), "something there already", "a free place", "Use --replace to swap it whole.")


def picture(delivery: Delivery) -> bytes | None:
    """The cover picture's bytes, for the specs that embed it."""
    return delivery.artwork.path.read_bytes() if delivery.artwork else None
