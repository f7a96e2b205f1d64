"""Workbooks are zip archives: detect the kind, and limit the unpacked size. Pure."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib

from delivery.errors import Unusable

MOST_UNPACKED = 200 * 1024 * 1024
MOST_CELLS = 400_000
MOST_COLUMNS = 300
BROKEN = (
    OSError, ValueError, LookupError, TypeError, AttributeError, EOFError, SyntaxError, ArithmeticError, RuntimeError,
    struct.error, zlib.error, zipfile.BadZipFile,
)  # fmt: skip
"""Exceptions that libraries raise on damaged workbooks; they have no class of their own for it."""
ODS = b"application/vnd.oasis.opendocument.spreadsheet"


def is_ods(content: bytes, name: str) -> bool:
    """Whether the archive is an OpenDocument sheet; else it is an XLSX workbook.

    Raises
    ------
    Unusable : damaged, another kind of archive, password-protected, or too large unpacked for label copy
    """
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            unpacked = sum(item.file_size for item in archive.infolist())
            names = set(archive.namelist())
            mimetype = _beginning(archive, "mimetype") if "content.xml" in names else b""
            manifest = _beginning(archive, "META-INF/manifest.xml") if "content.xml" in names else b""
    except BROKEN as error:
        raise Unusable(name, "a workbook that is cut off or damaged", "a whole XLSX file", "Copy it again.") from error
    if unpacked > MOST_UNPACKED:
        raise Unusable(
            name, f"{unpacked:,} bytes when unpacked", f"at most {MOST_UNPACKED:,}", "Is this really label copy?"
        )
    if "[Content_Types].xml" in names:
        return False
    if b"encryption-data" in manifest:
        raise Unusable(name, "a sheet behind a password", "a sheet without one", "Save it again without a password.")
    if "content.xml" in names and mimetype.startswith(ODS):
        return True
    kind = "an OpenDocument file that is no sheet" if "content.xml" in names else "an archive that is no workbook"
    raise Unusable(name, kind, "an XLSX, ODS or CSV file", "Save the table as one of these.")


def unpacked(content: bytes, member: str) -> bytes:
    """One member of the archive, at most `MOST_UNPACKED` bytes of it."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive, archive.open(member) as file:
        return file.read(MOST_UNPACKED)


def _beginning(archive: zipfile.ZipFile, member: str) -> bytes:
    if member not in archive.namelist():
        return b""
    with archive.open(member) as file:
        return file.read(64 * 1024)
