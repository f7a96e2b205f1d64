"""The paths of a package. Pure: text with '/' between folders; no other module builds such a path.

OSL-014 Harbour Arithmetic rev 1/
    bagit.txt  bag-info.txt  manifest-*.txt  tagmanifest-*.txt  tagmanifest-sha256.txt.sig (if sealed)
    data/delivery-sheet.pdf  data/delivery-sheet.html  data/delivery-data.json  data/parts.csv  data/mail.txt
    data/<papers that the release file requires>
    data/<spec id>/<files and papers>
OSL-014 Harbour Arithmetic rev 1.zip
"""

from __future__ import annotations

import unicodedata
from pathlib import Path, PurePosixPath, PureWindowsPath

from delivery.pack.characters import UNTITLED, bare_ends, cleaned, no_device

PAYLOAD = "data"
"""RFC 8493, 2.1.2: the payload folder."""

DECLARATION = "bagit.txt"
INFO = "bag-info.txt"
ALGORITHMS = ("sha256", "md5")
"""SHA-256 for us, MD5 for plants; both from one reading of a file."""

ARCHIVE_EXTENSION = ".zip"

SHEET_PDF = f"{PAYLOAD}/delivery-sheet.pdf"
SHEET_HTML = f"{PAYLOAD}/delivery-sheet.html"
MAIL_TEXT = f"{PAYLOAD}/mail.txt"
DATA_JSON = f"{PAYLOAD}/delivery-data.json"
PARTS_CSV = f"{PAYLOAD}/parts.csv"

SEAL = "tagmanifest-sha256.txt.sig"
"""Beside the tag manifest it signs, under the name OpenSSH gives a signature; manifests cannot list it."""

_DROPPINGS = frozenset({".ds_store", "thumbs.db", "ehthumbs.db", "desktop.ini", "icon\r", "__macosx"}) | {
    ".spotlight-v100", ".trashes", ".fseventsd", ".temporaryitems", ".apdisk", ".directory", "$recycle.bin"
}  # fmt: skip


def manifest(algorithm: str) -> str:
    """File name of the manifest of *algorithm* (RFC 8493, 2.1.3)."""
    return f"manifest-{algorithm}.txt"


def tag_manifest(algorithm: str) -> str:
    """File name of the tag manifest of *algorithm* (RFC 8493, 2.2.1)."""
    return f"tagmanifest-{algorithm}.txt"


def spec_folder(spec_id: str) -> str:
    """'data/<spec id>', the id made safe as a folder name."""
    return f"{PAYLOAD}/{no_device(bare_ends(cleaned(spec_id)) or UNTITLED)}"


def of_release(name: str) -> str:
    """Path of a paper about the whole release."""
    return f"{PAYLOAD}/{name}"


def part(spec_id: str, name: str) -> str:
    """Path of a file or paper of one spec."""
    return f"{spec_folder(spec_id)}/{name}"


def name_of(path: str) -> str:
    """File name at the end of a path inside the package."""
    return path.rpartition("/")[2]


def archive_name(folder: str) -> str:
    """Name of the zip beside the package's folder."""
    return folder + ARCHIVE_EXTENSION


def mail_name(folder: str) -> str:
    """Name of the mail text beside the package's folder: it holds the fingerprint, which no file inside can contain."""
    return f"{folder} mail.txt"


def on_disk(package: Path, path: str) -> Path:
    """The file at *path* inside the package folder.

    Raises
    ------
    ValueError : the path leaves the package (a programming error)
    """
    if escapes(path):
        raise ValueError(f"{path!r} leaves the package")
    return package / PurePosixPath(path)


def escapes(path: str) -> bool:
    """True for a path that would leave the package on any of the three systems."""
    windows = PureWindowsPath(path)
    steps = path.split("/")
    climbs = any(step in ("", ".", "..") for step in steps) or ".." in windows.parts
    return climbs or bool(windows.drive or windows.root) or path.startswith("~") or "\0" in path


def is_dropping(path: str) -> bool:
    """True for files that operating systems leave in folders; never payload."""
    return any(step.lower() in _DROPPINGS or step.startswith("._") for step in path.split("/"))


def same_file(path: str) -> str:
    """Key of a path that survives decomposition of accents by a file system (NFC against NFD)."""
    return unicodedata.normalize("NFC", path)
