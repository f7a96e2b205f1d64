"""Verify a bag with our own reader, which reports which file differs and how."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from delivery.errors import Unusable
from delivery.pack import layout
from delivery.pack.checksums import digests
from delivery.pack.contents import Contents, contents_of, printable
from delivery.pack.manifest import Manifest, declaration_fault, known, oxum, read_info, read_manifest
from delivery.regular import read_regular

MOST_BYTES = 16 * 2**20
"""Size limit of a list of checksums: a hundred thousand files."""
MOST_LINES = 100_000
"""Line limit: each line that is not a checksum is reported, and 16 MiB can hold eight million such lines."""


class Kind(StrEnum):
    """Kind of a difference."""

    MISSING = "missing"
    EXTRA = "extra"
    RENAMED = "renamed"
    CHANGED = "changed"
    SIZE = "size"
    """The payload total differs from bag-info.txt, although every listed file matches."""
    MANIFEST = "manifest damaged"
    UNREADABLE = "unreadable"
    LINK = "link"
    """A link or a device: refused, not followed."""
    ESCAPES = "leaves the package"
    SOUND = "other sound"
    """The decoded samples differ from those delivered."""
    FIGURE = "other figure"
    """Measured again, it differs from the sheet."""
    UNNAMED = "not in the data"
    """Neither a delivered file nor a paper according to the data beside the sheet."""
    SEAL = "seal does not hold"
    DROPPING = "system file"
    """Left behind by an operating system; delete it, the audio is not affected."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One difference between a package and its lists."""

    path: str
    """Path inside the package."""
    kind: Kind
    expected: str = ""
    """'sha256 <checksum>', the old path of a renamed file, or a Payload-Oxum."""
    found: str = ""

    @property
    def harmless(self) -> bool:
        """True for an additional file that systems create, such as a folder's thumbnail."""
        return self.kind is Kind.DROPPING

    def __str__(self) -> str:
        sums_text = [f"expected {self.expected}" if self.expected else "", f"found {self.found}" if self.found else ""]
        return f"{self.path}: {self.kind}" + "".join(f", {text}" for text in sums_text if text)


def check_bag(folder: Path) -> tuple[Difference, ...]:
    """Every difference in *folder* from its lists, sorted by path; empty: the bag is complete.

    Every file is read once. Stricter than RFC 8493 requires: tag manifests must exist, and files beside them must be
    listed.

    Raises
    ------
    Unusable : the folder does not exist or cannot be listed
    """
    if not folder.is_dir():
        raise Unusable(folder.name, "no such folder", "the folder of a package", "Check the path.")
    there = contents_of(folder)
    files = {layout.same_file(printable(path)): file for path, file in there.files.items()}
    payload, tags = _Promise.read(files, payload=True), _Promise.read(files, payload=False)
    differences = [
        *(Difference(printable(path), Kind.LINK, found="a link or a device") for path in (*there.links, *there.others)),
        *_declaration(files),
        *payload.damage,
        *tags.damage,
        *_files(files, payload, tags, there),
    ]
    if not any(d.path.startswith(f"{layout.PAYLOAD}/") and not d.harmless for d in differences):
        differences.extend(_total(files))
    return tuple(sorted(_missing_manifest_once(differences), key=lambda d: (d.path, d.kind, d.expected, d.found)))


def _missing_manifest_once(differences: list[Difference]) -> set[Difference]:
    """Report a missing manifest once: its name and its checksum are both missing; the latter is more precise."""
    fuller = {d.path for d in differences if d.kind is Kind.MISSING and d.expected}
    return {d for d in differences if d.expected or d.kind is not Kind.MISSING or d.path not in fuller}


@dataclass(frozen=True, slots=True)
class _Promise:
    """The contents of all payload manifests, or of all tag manifests, together."""

    sums: Mapping[str, Mapping[str, str]]
    """Path -> algorithm -> checksum."""
    names: Mapping[str, str]
    """Algorithm -> the manifest's own path."""
    damage: tuple[Difference, ...]

    @classmethod
    def read(cls, files: Mapping[str, Path], *, payload: bool) -> _Promise:
        name_for = layout.manifest if payload else layout.tag_manifest
        names = {a: name for name in files for a in re.findall(rf"\A{name_for('([a-z0-9]+)')}\Z", name)}
        wanted = (name_for(algorithm) for algorithm in layout.ALGORITHMS)
        damage = [Difference(name, Kind.MISSING) for name in wanted if name not in files]
        sums: dict[str, dict[str, str]] = {}
        unread = set()
        for algorithm, name in names.items():
            manifest, found = _manifest(files[name], name, algorithm, payload=payload)
            damage.extend(found)
            if found and not manifest.promised:  # its own fault is the only one worth reporting
                unread.add(algorithm)
            for path, checksum in manifest.promised.items():
                sums.setdefault(layout.same_file(path), {})[algorithm] = checksum
        for path, by_algorithm in sums.items():
            silent = [names[a] for a in names if a not in by_algorithm and a not in unread]
            damage.extend(Difference(name, Kind.MANIFEST, f"a line for {path}", "none") for name in silent)
        return cls(sums, names, tuple(damage))


def _manifest(file: Path, name: str, algorithm: str, *, payload: bool) -> tuple[Manifest, list[Difference]]:
    if not known(algorithm):
        unknown = Difference(name, Kind.MANIFEST, "a checksum of a known kind", algorithm)
        return Manifest({}, ()), [unknown]
    try:
        content = read_regular(file, MOST_BYTES)
        text = content.decode("utf-8")
    except (OSError, UnicodeDecodeError) as fault:
        return Manifest({}, ()), [Difference(name, Kind.MANIFEST, "UTF-8 text", _why(fault))]
    if len(content) > MOST_BYTES or max(content.count(b"\n"), content.count(b"\r")) > MOST_LINES:
        wanted = f"at most {MOST_BYTES:,} bytes and {MOST_LINES:,} lines"
        return Manifest({}, ()), [Difference(name, Kind.MANIFEST, wanted, "a list that is far longer")]
    manifest = read_manifest(text, algorithm, payload=payload)
    return manifest, [
        *(Difference(name, Kind.MANIFEST, found=fault) for fault in manifest.faults),
        *(Difference(printable(path), Kind.ESCAPES, found=f"a line in {name}") for path in manifest.escaping),
    ]


def _declaration(files: Mapping[str, Path]) -> Iterator[Difference]:
    if layout.DECLARATION not in files:
        yield Difference(layout.DECLARATION, Kind.MISSING)
        return
    try:
        fault = declaration_fault(read_regular(files[layout.DECLARATION], MOST_BYTES).decode("utf-8", "replace"))
    except OSError as error:
        fault = _why(error)
    if fault:
        yield Difference(layout.DECLARATION, Kind.MANIFEST, found=fault)


def _files(files: Mapping[str, Path], payload: _Promise, tags: _Promise, there: Contents) -> Iterator[Difference]:
    """Every file listed or present, once."""
    missing: dict[str, Mapping[str, str]] = {}
    links = {layout.same_file(link) for link in there.links}
    for promise in (payload, tags):
        for path, sums in promise.sums.items():
            if path in files:
                yield from _content(path, files[path], sums, promise)
            elif path not in links:
                missing[path] = sums
    listed = {*payload.sums, *tags.sums, *tags.names.values()}
    listed |= set(payload.names.values()) | {
        layout.DECLARATION,
        layout.SEAL,
    }  # their own damage is reported elsewhere
    for path in [path for path in files if path not in listed]:
        old = _old_path(files[path], missing)
        if layout.is_dropping(path):
            yield Difference(path, Kind.DROPPING)
        elif old:
            del missing[old]
            yield Difference(path, Kind.RENAMED, old, path)
        else:
            yield Difference(path, Kind.EXTRA)
    for path, sums in missing.items():
        yield Difference(path, Kind.MISSING, _sum_text(sums, next(iter(sums))))


def _content(path: str, file: Path, sums: Mapping[str, str], promise: _Promise) -> Iterator[Difference]:
    try:
        found, size_bytes = digests(file, sums)
    except Unusable as fault:
        yield Difference(path, Kind.UNREADABLE, found=fault.found)
        return
    differing = sorted((a for a in sums if found[a] != sums[a]), reverse=True)
    if differing and len(differing) < len(sums):  # bytes cannot match one checksum and not another
        for algorithm in differing:
            expected = f"{_sum_text(found, algorithm)} for {path}"
            yield Difference(promise.names[algorithm], Kind.MANIFEST, expected, _sum_text(sums, algorithm))
    elif differing:
        sums_text = f"{_sum_text(found, differing[0])} ({size_bytes} bytes)"
        yield Difference(path, Kind.CHANGED, _sum_text(sums, differing[0]), sums_text)


def _old_path(file: Path, missing: Mapping[str, Mapping[str, str]]) -> str:
    """The missing file whose bytes *file* has; empty if there is none."""
    if not missing:
        return ""
    algorithms = sorted({algorithm for sums in missing.values() for algorithm in sums})
    try:
        found, _ = digests(file, algorithms)
    except Unusable:
        return ""
    return next((path for path, sums in missing.items() if all(found[a] == sums[a] for a in sums)), "")


def _total(files: Mapping[str, Path]) -> Iterator[Difference]:
    """Compare Payload-Oxum with the files present, system files left out."""
    if layout.INFO not in files:
        return
    info = dict(read_info(_text(files[layout.INFO])))
    sizes = (
        f.stat().st_size for p, f in files.items() if p.startswith(f"{layout.PAYLOAD}/") and not layout.is_dropping(p)
    )
    found = oxum(sizes)
    if info.get("Payload-Oxum", found) != found:
        yield Difference(layout.INFO, Kind.SIZE, info["Payload-Oxum"], found)


def _sum_text(sums: Mapping[str, str], algorithm: str) -> str:
    return f"{algorithm} {sums[algorithm]}"


def _text(file: Path) -> str:
    """The readable part of the text; the tag manifest reports an unreadable file."""
    try:
        return read_regular(file, MOST_BYTES).decode("utf-8", "replace")
    except OSError:
        return ""


def _why(fault: Exception) -> str:
    return fault.strerror or "an error" if isinstance(fault, OSError) else "bytes that are not UTF-8"
