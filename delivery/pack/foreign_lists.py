"""Check a folder of other people's files, such as a plant's image, against the checksum list that came with it.

Only checksums are compared; the files are not interpreted. Forms: those of
the GNU tools ('<sum>  <name>', a star for binary), the BSD form ('MD5 (<name>) = <sum>'), and '<name> <crc>' lines.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from delivery.absolute import absolute
from delivery.errors import Unusable
from delivery.pack import layout
from delivery.pack.bag_check import Difference, Kind
from delivery.pack.checksums import digests
from delivery.pack.contents import contents_of, printable

ALGORITHMS: Mapping[int, str] = {8: "crc32", 32: "md5", 40: "sha1", 64: "sha256", 128: "sha512"}
"""By the number of hexadecimal digits."""
SUFFIXES = frozenset({".md5", ".sha1", ".sha256", ".sha512", ".sfv", ".crc"})
LARGEST_BYTES = 4 << 20
_NAMED = re.compile(r"checksum|md5|sha-?\d|crc", re.IGNORECASE)
_GNU = re.compile(r"\\?([0-9A-Fa-f]{32,128})[ \t]+\*?(\S.*?)[ \t]*")
_BSD = re.compile(r"[A-Za-z0-9-]+ ?\((.+)\)[ \t]*=[ \t]*([0-9A-Fa-f]{8,128})[ \t]*")
_LAST = re.compile(r"(\S.*?)[ \t]+([0-9A-Fa-f]{8})[ \t]*")
_OF_A_BAG = re.compile(r"bagit\.txt|bag-info\.txt|(tag)?manifest-[a-z0-9]+\.txt|data")
_CHUNK_BYTES = 1 << 20


@dataclass(frozen=True, slots=True)
class Listed:
    """The files in a folder's lists, and the differences found."""

    files: int
    """Number of files in the lists."""
    lists: tuple[str, ...]
    differences: tuple[Difference, ...]


def has_list(folder: Path) -> bool:
    """True if *folder* is not one of our bags and has a checksum list at its top level."""
    return folder.is_dir() and not (folder / layout.DECLARATION).exists() and bool(_lists(folder))


def refuse_without_list(folder: Path) -> None:
    """Refuse a folder that is neither a bag, nor the remains of one, nor has a readable list.

    Raises
    ------
    Unusable : it is such a folder; for a file named like a list, its first invalid line is reported
    """
    if not folder.is_dir() or has_list(folder) or any(_OF_A_BAG.fullmatch(file.name) for file in folder.iterdir()):
        return
    for file in _called_lists(folder):
        number, line = _first_that_is_none(_text(file))
        wanted, remedy = "a checksum and a file name in every line", "Ask for the list again."
        raise Unusable(f"{file.name}:{number}", repr(line[:60]) if line else "an empty list", wanted, remedy)
    wanted = "a package, or a folder with a list such as checksums.md5"
    raise Unusable(absolute(folder).name, "neither a package nor a checksum list", wanted, "Ask who made the folder.")


def _first_that_is_none(text: str) -> tuple[int, str]:
    lines = [line.strip("\ufeff\r\n \t") for line in text.split("\n")]
    wrong = ((number, line) for number, line in enumerate(lines, start=1) if not _is_remark(line) and not _pair(line))
    return next(wrong, (1, ""))


def check_lists(folder: Path) -> Listed:
    """Compare every file in *folder* with its checksum lists: changed, missing, or not listed.

    Raises
    ------
    Unusable : no list, or the folder cannot be listed
    """
    lists = _lists(folder)
    if not lists:
        raise Unusable(folder.name, "no checksum list", "a list such as checksums.md5", "Ask who made the folder.")
    there = contents_of(folder)
    files = {printable(path): file for path, file in there.files.items()}
    sums: dict[str, dict[str, str]] = {}
    differences = [Difference(printable(path), Kind.LINK) for path in (*there.links, *there.others)]
    for name, promised in lists.items():
        for path, checksum in promised:
            if layout.escapes(path):
                differences.append(Difference(printable(path), Kind.ESCAPES, found=f"a line in {name}"))
            else:
                sums.setdefault(_as_there(path, files), {})[ALGORITHMS[len(checksum)]] = checksum
    for path, wanted in sums.items():
        differences += _compared(path, files.get(path), wanted)
    for path in files:
        if path not in sums and path not in lists:
            differences.append(Difference(path, Kind.DROPPING if layout.is_dropping(path) else Kind.EXTRA))
    ordered = sorted(differences, key=lambda each: (each.path, each.kind, each.expected, each.found))
    return Listed(len(sums), tuple(lists), tuple(ordered))


def read_list(text: str) -> tuple[tuple[str, str], ...]:
    """Path and checksum of each line; empty if any line is neither that nor a comment."""
    found = []
    for line in (line.strip("\ufeff\r\n \t") for line in text.split("\n")):
        if _is_remark(line):
            continue
        pair = _pair(line)
        if pair is None:
            return ()
        found.append(pair)
    return tuple(found)


def _is_remark(line: str) -> bool:
    return not line or line.startswith((";", "#", "//"))


def _pair(line: str) -> tuple[str, str] | None:
    for form, name_at, sum_at in ((_GNU, 2, 1), (_BSD, 1, 2), (_LAST, 1, 2)):
        match = form.fullmatch(line)
        if match and len(match[sum_at]) in ALGORITHMS:
            return re.sub(r"^\./", "", match[name_at].replace("\\", "/")), match[sum_at].lower()
    return None


def _lists(folder: Path) -> dict[str, tuple[tuple[str, str], ...]]:
    """The checksum lists at the top level of *folder*, recognised by content."""
    found = ((file.name, read_list(_text(file))) for file in _called_lists(folder))
    return {name: pairs for name, pairs in found if pairs}


def _called_lists(folder: Path) -> Iterator[Path]:
    """Files at the top level of *folder* named like checksum lists."""
    for file in sorted(folder.iterdir()):
        looks = file.suffix.lower() in SUFFIXES or _NAMED.search(file.name)
        if looks and file.is_file() and file.stat().st_size <= LARGEST_BYTES:
            yield file


def _text(file: Path) -> str:
    return file.read_bytes().decode("utf-8", "replace")


def _as_there(path: str, files: Mapping[str, Path]) -> str:
    """*path* as spelt in the folder: lists are often made on case-insensitive systems."""
    if path in files:
        return path
    same = [name for name in files if layout.same_file(name).casefold() == layout.same_file(path).casefold()]
    return same[0] if len(same) == 1 else path


def _compared(path: str, file: Path | None, wanted: Mapping[str, str]) -> list[Difference]:
    first = sorted(wanted)[-1]
    if file is None:
        return [Difference(path, Kind.MISSING, f"{first} {wanted[first]}")]
    try:
        found = _sums(file, wanted)
    except Unusable as fault:
        return [Difference(path, Kind.UNREADABLE, found=fault.found)]
    return [
        Difference(path, Kind.CHANGED, f"{algorithm} {wanted[algorithm]}", f"{algorithm} {found[algorithm]}")
        for algorithm in sorted(wanted)
        if found[algorithm] != wanted[algorithm]
    ]


def _sums(file: Path, wanted: Mapping[str, str]) -> dict[str, str]:
    hashed, _ = digests(file, [algorithm for algorithm in wanted if algorithm != "crc32"])
    return dict(hashed) | ({"crc32": _crc32(file)} if "crc32" in wanted else {})


def _crc32(file: Path) -> str:
    """CRC-32 as zip files and '.sfv' lists use it (ISO 3309)."""
    running = 0
    try:
        with file.open("rb") as opened:
            while chunk := opened.read(_CHUNK_BYTES):
                running = zlib.crc32(chunk, running)
    except OSError as fault:
        found = fault.strerror or "an error"
        raise Unusable(file.name, found, "a file that can be read", "Check the disk and the permissions.") from fault
    return f"{running:08x}"
