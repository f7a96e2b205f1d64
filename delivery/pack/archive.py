"""Zip a folder reproducibly: the same files give the same bytes on any machine at any time.

Entries are stored, not deflated: audio hardly compresses, and deflated bytes differ between zlib builds.
"""

from __future__ import annotations

import shutil
import stat
from datetime import date
from pathlib import Path
from zipfile import ZIP_STORED, ZipFile, ZipInfo

from delivery.pack.contents import only_files
from delivery.pack.swap import whole_file_or_nothing

_EPOCH = date(1980, 1, 1)
_LAST = date(2107, 12, 31)
"""The first and the last day a zip can hold (PKWARE APPNOTE, 4.4.6)."""

_UNIX = 3
_CHUNK_BYTES = 1 << 20


def write_zip(folder: Path, target: Path, *, dated: date | None = None, replace: bool = False) -> None:
    """Write *target* with every file of *folder* below the folder's own name, sorted; on failure nothing is written.

    Parameters
    ----------
    dated : the date of every entry, at midnight, or the nearest that a zip can hold; None: 1980-01-01
    replace : replace an existing zip

    Larger than 4 GiB is fine: ZIP64 fields appear for the entries that need them and for no other. Names are UTF-8
    and flagged so where they are not ASCII. Entries are plain files, rw-r--r--.

    Raises
    ------
    Unusable : a link or a device in the folder
    Occupied, Unfinished : as `whole_file_or_nothing`
    """
    files = only_files(folder)
    with whole_file_or_nothing(target, replace=replace) as hidden, ZipFile(hidden, "w", ZIP_STORED) as archive:
        for path, file in files.items():
            entry = _entry(f"{folder.name}/{path}", file.stat().st_size, dated or _EPOCH)
            with file.open("rb") as source, archive.open(entry, "w") as out:
                shutil.copyfileobj(source, out, _CHUNK_BYTES)


def _entry(name: str, size_bytes: int, dated: date) -> ZipInfo:
    day = min(max(dated, _EPOCH), _LAST)
    entry = ZipInfo(name, (day.year, day.month, day.day, 0, 0, 0))
    entry.create_system = _UNIX  # on every system, so that the bytes agree
    entry.external_attr = (stat.S_IFREG | 0o644) << 16
    entry.file_size = size_bytes  # decides on ZIP64 before the first byte
    return entry
