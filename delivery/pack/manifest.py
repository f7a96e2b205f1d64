"""Write and read the text of a bag's files: RFC 8493, 2.1.1 bagit.txt, 2.1.3 manifests, 2.2.2 bag-info.txt. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from delivery.model.release import Release, Studio
from delivery.pack import layout

DECLARED = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"

_HEX_LENGTHS = {"md5": 32, "sha1": 40, "sha256": 64, "sha512": 128}
"""Algorithms a manifest may use (RFC 8493, 2.4), and the number of digits of each."""

_LINE_END = r"(?:\r\n|\n|\r)"
"""Of all text files of a bag (RFC 8493, 2.1.1, 2.1.3, 2.2.2)."""

Labels = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Manifest:
    """A manifest as read: its entries and the faults of its text."""

    promised: Mapping[str, str]
    """Path -> checksum, lower case."""
    faults: tuple[str, ...]
    """Plain sentences with line numbers."""
    escaping: tuple[str, ...] = ()
    """Paths that would leave the package."""


def bag_info(release: Release, studio: Studio, version: str) -> Labels:
    """Labels of bag-info.txt that identify the bag; only supplied values, no date but the release's own."""
    what = f"{release.artist}: {release.title}" + (f" ({release.version})" if release.version else "")
    labels = {
        "Bag-Software-Agent": f"delivery {version}",
        "Bagging-Date": release.dated.isoformat() if release.dated else "",
        "Contact-Name": studio.engineer,
        "External-Description": f"{what}, revision {release.revision}",
        "External-Identifier": release.catalogue_number,
        "Source-Organization": studio.name,
    }
    return tuple((label, value) for label, value in labels.items() if value.strip())


def oxum(sizes_bytes: Iterable[int]) -> str:
    """Payload-Oxum: total of octets, a dot, number of files (RFC 8493, 2.2.2)."""
    sizes = tuple(sizes_bytes)
    return f"{sum(sizes)}.{len(sizes)}"


def info_text(labels: Iterable[tuple[str, str]]) -> str:
    """bag-info.txt, one line for each label, sorted by label."""
    return "".join(sorted(f"{label}: {' '.join(value.split())}\n" for label, value in labels))


def read_info(text: str) -> Labels:
    """Labels of a bag-info.txt in their order; continued lines joined, malformed lines left out."""
    unfolded = re.sub(rf"{_LINE_END}[ \t]+", " ", text)
    return tuple(
        (label.strip(), value.strip()) for label, colon, value in (s.partition(":") for s in _lines(unfolded)) if colon
    )


def declaration_fault(text: str) -> str:
    """Fault of bagit.txt; empty if there is none."""
    wanted = rf"BagIt-Version: \d+\.\d+{_LINE_END}Tag-File-Character-Encoding: UTF-8{_LINE_END}?"
    return "" if re.fullmatch(wanted, text) else "does not hold the two lines of a bag declaration"


def manifest_text(checksums: Mapping[str, str]) -> str:
    """Lines 'checksum  path', sorted by path; `sha256sum -c` and `md5sum -c` read them too."""
    paths = sorted(checksums, key=lambda path: path.encode("utf-8"))
    return "".join(f"{checksums[path]}  {encoded(path)}\n" for path in paths)


def checksum_list(checksums: Mapping[str, str]) -> bytes:
    """Checksum list for `sha256sum -c` and `md5sum -c` in the files' own folder: names not encoded."""
    return "".join(f"{checksums[name]}  {name}\n" for name in sorted(checksums, key=str.encode)).encode("utf-8")


def read_manifest(text: str, algorithm: str, *, payload: bool) -> Manifest:
    """Read the entries of a manifest; *payload*: whether its paths must be below data/ or must not."""
    promised: dict[str, str] = {}
    faults, escaping = [], []
    for number, line in enumerate(_lines(text), start=1):
        if not line:
            continue
        found = re.fullmatch(rf"([0-9a-fA-F]{{{_HEX_LENGTHS[algorithm]}}})[ \t]+(\S.*)", line)
        path = decoded(found[2]) if found else ""
        if not found:
            faults.append(f"line {number} is not a checksum and a path")
        elif layout.escapes(path):
            escaping.append(path)
        elif path.startswith(f"{layout.PAYLOAD}/") is not payload:
            faults.append(f"line {number} names {path}, which has no place in this manifest")
        elif path in promised:
            faults.append(f"line {number} names {path} a second time")
        else:
            promised[path] = found[1].lower()
    if text and not text.endswith(("\n", "\r")):
        faults.append("the last line is cut short")
    return Manifest(promised, tuple(faults), tuple(escaping))


def _lines(text: str) -> list[str]:
    """Lines, empty ones too; `splitlines` would also split at characters that a path may contain."""
    return re.split(_LINE_END, text)


def known(algorithm: str) -> bool:
    """True if this program can compute *algorithm*."""
    return algorithm in _HEX_LENGTHS


def encoded(path: str) -> str:
    """RFC 8493, 2.1.3: only LF, CR and % are percent-encoded."""
    return path.replace("%", "%25").replace("\n", "%0A").replace("\r", "%0D")


def decoded(path: str) -> str:
    """*path* with percent-encoded line ends decoded (RFC 8493, 2.1.3)."""
    codes = {"%25": "%", "%0A": "\n", "%0D": "\r"}
    return re.sub(r"%(?:25|0[AD])", lambda code: codes[code[0].upper()], path, flags=re.IGNORECASE)
