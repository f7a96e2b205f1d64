"""A package that arrives file by file, or as a zip: its names are checked, then it lies in a private folder.

Senders choose names and sizes, so nothing of them is believed: a path never leaves the folder, a file is written only
where none exists, and no link is ever made.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import stat
import zlib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO
from zipfile import BadZipFile, ZipFile, ZipInfo

from delivery.disk import disk_of, mb
from delivery.errors import NoSpace, Unusable
from delivery.pack import layout
from delivery.pack.contents import contents_of, printable
from delivery.pack.swap import unfinished
from delivery.regular import read_regular

MOST_FILES = 20_000
MOST_BYTES = 100 * 10**9
"""An album at 24/192 to five specs has 20 GB."""
MOST_STEP_BYTES, MOST_PATH_BYTES, MOST_DEEP = 255, 2_000, 32
"""Of a file name and of a path, in UTF-8 (255: the common limit of file systems), and folders inside each other."""
SPARE_BYTES = 200 * 10**6
"""Left free on the disk for everything else."""
MANIFEST = layout.tag_manifest("sha256")
NAMED_SO = "an ordinary name"
_WINDOWS_SIGNS = frozenset('<>:"|?*')
_CHUNK_BYTES = 1 << 20

Progress = Callable[[str, int, int], None]


@dataclass(frozen=True, slots=True)
class Coming:
    """One file of a package that is to arrive."""

    path: str
    """Inside the package, '/' between folders."""
    size_bytes: int
    changed_ms: int = 0
    """Time of its last change, in milliseconds since 1970."""


@dataclass(frozen=True, slots=True)
class Offer:
    """A package that is to arrive: names and sizes were checked."""

    name: str
    files: tuple[Coming, ...]
    manifest_sha256: str = ""
    """SHA-256 of its tag manifest, in hexadecimal; empty if it has none."""

    @property
    def size_bytes(self) -> int:
        """Of all files together."""
        return sum(each.size_bytes for each in self.files)


def offer(name: str, files: Iterable[Coming], manifest_sha256: str = "") -> Offer:
    """Check the names and sizes of the files of a package before they arrive.

    Raises
    ------
    Unusable : a name that is not an ordinary one, a path twice, too many or too large files
    """
    found = tuple(files)
    if _odd_step(name):
        raise Unusable(repr(name), _odd_step(name), f"{NAMED_SO} of a folder", "Rename it, or type its path.")
    if not found:
        raise Unusable(name, "no files", "the folder of a package", "Choose the folder itself.")
    if len(found) > MOST_FILES:
        wanted = f"at most {MOST_FILES:,} files"
        raise Unusable(name, f"{len(found):,} files", wanted, "Type the path of the folder instead.")
    for each in found:
        _refuse_odd(each)
    _refuse_twice([each.path for each in found])
    _refuse_large(name, sum(each.size_bytes for each in found))
    return Offer(name, found, manifest_sha256)


def same_folder(known: Path, offered: Offer) -> bool:
    """True if *known* has the offered files: names, sizes, times of change, and the bytes of the tag manifest."""
    if not offered.manifest_sha256 or known.name != offered.name:
        return False
    try:
        there = contents_of(known)
        if there.links or there.others:
            return False
        stats = {path: file.stat() for path, file in there.files.items()}
        manifest = read_regular(known / MANIFEST, _CHUNK_BYTES * 16)
    except (OSError, Unusable):
        return False
    told = {each.path: each for each in offered.files}
    alike = stats.keys() == told.keys() and all(
        found.st_size == told[path].size_bytes and abs(found.st_mtime_ns // 10**6 - told[path].changed_ms) <= 1
        for path, found in stats.items()
    )
    return alike and hashlib.sha256(manifest).hexdigest() == offered.manifest_sha256


def refuse_without_space(name: str, size_bytes: int, into: Path) -> None:
    """Refuse to take in *size_bytes* where the disk of *into* has too little space.

    Raises
    ------
    NoSpace : too little space
    """
    free = shutil.disk_usage(into).free
    if size_bytes + SPARE_BYTES > free:
        disk = disk_of(into)
        found = f"no space for it on the disk at {disk}: {mb(free)} free"
        wanted = f"{mb(size_bytes + SPARE_BYTES)} for a copy that is deleted afterwards"
        remedy = "Free some space, or type the path of the folder: no copy is needed then."
        raise NoSpace(name, found, wanted, remedy, str(disk))


def create(folder: Path, path: str) -> BinaryIO:
    """Create the file at *path* in *folder*, for the user alone; never one that exists, never through a link.

    Raises
    ------
    Unfinished : the disk refuses it
    ValueError : a path that leaves the folder (a programming error)
    """
    target = layout.on_disk(folder, path)
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
    try:
        for above in reversed(target.relative_to(folder).parents):
            (folder / above).mkdir(mode=0o700, exist_ok=True)
        return os.fdopen(os.open(target, flags, 0o600), "wb", buffering=0)
    except OSError as error:
        raise unfinished(error, target) from error


def write(file: BinaryIO, block: bytes, place: Path) -> None:
    """Write a whole *block*. Raises Unfinished if the disk refuses it."""
    try:
        rest = memoryview(block)
        while rest:
            rest = rest[file.write(rest) :]
    except OSError as error:
        raise unfinished(error, place) from error


def is_zip(path: Path) -> bool:
    """True for a file named as a zip."""
    return path.suffix.lower() == layout.ARCHIVE_EXTENSION


def unpack(archive: Path, into: Path, progress: Progress) -> Path:
    """Unpack the zip of a package below *into*, and return the package folder.

    Raises
    ------
    Unusable : damaged, encrypted, with links, with odd names, or not one folder
    Unfinished : too little space
    """
    try:
        with ZipFile(archive) as opened:
            offered = _offered(archive.name, opened.infolist())
            refuse_without_space(archive.name, offered.size_bytes, into)
            folder = into / offered.name
            pairs = list(zip(_files(opened.infolist()), offered.files, strict=True))
            for done, (entry, each) in enumerate(pairs):
                progress("unpacking", done, len(pairs))
                with opened.open(entry) as source, create(folder, each.path) as file:
                    while block := source.read(_CHUNK_BYTES):
                        write(file, block, folder)
            return folder
    except (BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, UnicodeError) as error:
        wanted, remedy = "a zip that can be unpacked", "Send it again, or unpack it and choose the folder."
        raise Unusable(archive.name, f"a damaged or unknown zip ({error})", wanted, remedy) from error


def _offered(name: str, entries: Sequence[ZipInfo]) -> Offer:
    """The package in a zip: all its files are in one folder, as `delivery build --zip` writes it, or in none."""
    files = _files(entries)
    for each in files:
        kind = stat.S_IFMT(each.external_attr >> 16)
        if kind not in (0, stat.S_IFREG):
            raise Unusable(printable(each.filename), "a link or a device", "plain files only", "Ask for another zip.")
        if each.flag_bits & 1:
            raise Unusable(name, "an encrypted zip", "one without a password", "Unpack it and choose the folder.")
        _refuse_odd(Coming(each.orig_filename, each.file_size))
    tops = {each.orig_filename.partition("/")[0] for each in files if "/" in each.orig_filename}
    if len(tops) == 1 and all("/" in each.orig_filename for each in files) and tops != {layout.PAYLOAD}:
        top = next(iter(tops))
        return offer(top, [Coming(each.orig_filename[len(top) + 1 :], each.file_size) for each in files])
    return offer(Path(name).stem, [Coming(each.orig_filename, each.file_size) for each in files])


def _files(entries: Sequence[ZipInfo]) -> list[ZipInfo]:
    """Without folders, and without what one system's packer adds beside them."""
    return [each for each in entries if not each.is_dir() and not each.filename.startswith("__MACOSX/")]


def _refuse_odd(each: Coming) -> None:
    remedy = "Ask for the package again, or type the path of its folder."
    steps = each.path.split("/")
    odd = next(filter(None, map(_odd_step, steps)), "")
    if layout.escapes(each.path):
        odd = "a path that leaves the package"
    elif len(each.path.encode("utf-8", "replace")) > MOST_PATH_BYTES or len(steps) > MOST_DEEP:
        odd = "a path that is too long"
    if odd:
        raise Unusable(repr(printable(each.path[:120])), odd, NAMED_SO, remedy)
    if each.size_bytes < 0:
        raise Unusable(repr(each.path[:120]), "a negative size", "the size of the file", remedy)


def _odd_step(step: str) -> str:
    """What is wrong with the name of a file or folder; empty if nothing is."""
    if layout.escapes(step) or "/" in step:
        return "a path that leaves the package"
    try:
        size = len(step.encode("utf-8"))
    except UnicodeEncodeError:
        return "a name that is not UTF-8"
    if "\\" in step or any(ord(sign) < 32 or ord(sign) == 127 for sign in step):
        return "a backslash or control character in a name"
    if os.name == "nt" and (_WINDOWS_SIGNS & set(step) or step != step.rstrip(" .")):
        return "a name that this system cannot have"
    return "a name that is too long" if size > MOST_STEP_BYTES else ""


def _refuse_twice(paths: list[str]) -> None:
    files = {layout.same_file(path).casefold() for path in paths}
    folders = {path[:at] for path in files for at, sign in enumerate(path) if sign == "/"}
    if len(files) < len(paths) or files & folders:
        found = "two files, or a file and a folder, of one name"
        raise Unusable("package", found, "each path once, also where capitals are not told apart", "Type its path.")


def _refuse_large(name: str, size_bytes: int) -> None:
    if size_bytes > MOST_BYTES:
        remedy = "Type the path of the folder instead: no copy is needed then."
        raise Unusable(name, f"{mb(size_bytes)}", f"at most {MOST_BYTES / 10**9:.0f} GB", remedy)
