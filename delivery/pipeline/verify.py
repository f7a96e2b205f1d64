"""Verify a delivered package: every checksum, audio hash and figure against the data beside the sheet."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from delivery.absolute import absolute
from delivery.errors import DeliveryError, Unusable
from delivery.intake.begin.masters import LOSSLESS, LOSSY
from delivery.ledger.file_state import file_sha256
from delivery.meters import figures, measure
from delivery.model.figure import Figure
from delivery.pack import layout
from delivery.pack.bag_check import Difference, Kind, check_bag
from delivery.pack.contents import contents_of, printable
from delivery.pack.foreign_lists import check_lists, has_list, refuse_without_list
from delivery.pack.seal import BadSeal, Signer, fingerprint, signer_of
from delivery.pipeline.cutting_figures import of_promised
from delivery.pipeline.sources import Progress, quiet, side_by_side
from delivery.regular import read_regular

MOST_BYTES = 256 * 2**20
"""Size limit of the data beside the sheet; a release of 14 songs to five specs has two million bytes."""


@dataclass(frozen=True, slots=True)
class Checked:
    """Result of verifying a package."""

    package: Path
    files: int
    """Number of delivered sound files measured again."""
    differences: tuple[Difference, ...]
    lists: tuple[str, ...] = ()
    """For a folder that is not a package: the checksum lists it was checked against; no audio was measured."""
    listed: int = 0
    """Number of files those lists name."""
    fingerprint: str = ""
    """Fingerprint of the tag manifest, as `build` printed it; empty if there is none."""
    sealed_by: Signer | None = None
    """Signer whose key sealed the package, if the seal holds."""
    sealed: bool = False
    """Whether there is a seal at all."""
    expected_signer: bool = False
    """Whether ``sealed_by`` is one of the signers required."""

    @property
    def whole(self) -> bool:
        """True if nothing differs except files that operating systems leave in folders."""
        return all(difference.harmless for difference in self.differences)

    def rows(self) -> list[tuple[str, str, str, str]]:
        """Path, subject, expected, found: one row for each difference."""
        return [(each.path, str(each.kind), each.expected, each.found) for each in self.differences]

    def as_document(self) -> dict[str, Any]:
        """The document for ``--json``."""
        return {
            "package": self.package.name,
            "files_measured": self.files,
            "checksum_lists": list(self.lists),
            "files_listed": self.listed,
            "whole": self.whole,
            "fingerprint": self.fingerprint,
            "sealed": self.sealed,
            "sealed_by": self.sealed_by.fingerprint if self.sealed_by else "",
            "expected_signer": self.expected_signer,
            "differences": [dict(zip(("path", "what", "expected", "found"), row, strict=True)) for row in self.rows()],
        }


def verify(
    package: str | Path, *, signers: tuple[Signer, ...] = (), workers: int = 2, progress: Progress = quiet
) -> Checked:
    """Verify a package folder, before or after its transfer; always measures again.

    A folder that is not a package but holds a checksum list, such as a plant's image, is checked against that list.
    Without *signers* this finds damage, not forgery: a person who changes a file can rewrite the checksum lists too.

    Parameters
    ----------
    signers : required signers; a package sealed by none of them differs

    Raises
    ------
    Unusable : no folder, or no list of its contents in it
    """
    package = Path(package)
    if package.is_file() and package.suffix.lower() == layout.ARCHIVE_EXTENSION:
        raise Unusable(package.name, "a zip file", "the package folder", "Unpack it, then verify the folder.")
    package = absolute(package)
    refuse_without_list(package)
    if has_list(package):
        listed = check_lists(package)
        return Checked(package, 0, listed.differences, listed.lists, listed.files)
    delivered, unlike_data = _held_against_data(package)
    seal = _seal(package, signers)
    differences = [*check_bag(package), *unlike_data, *seal.differences]
    present = [each for each in delivered if layout.on_disk(package, each["path"]).is_file()]
    for found in side_by_side(lambda each: _compare(package, each), present, workers, "measuring again", progress):
        differences += found
    return Checked(
        package,
        len(present),
        _in_order(differences),
        fingerprint=seal.fingerprint,
        sealed_by=seal.signer,
        sealed=seal.there,
        expected_signer=seal.expected,
    )


def _in_order(differences: Iterable[Difference]) -> tuple[Difference, ...]:
    """In order of path; a file reported twice is kept once, with the more specific reason."""
    fullest: dict[tuple[str, Kind], Difference] = {}
    for each in differences:
        known = fullest.get((each.path, each.kind))
        if known is None or len(each.expected + each.found) > len(known.expected + known.found):
            fullest[each.path, each.kind] = each
    return tuple(sorted(fullest.values(), key=lambda each: (each.path, each.kind, each.expected, each.found)))


@dataclass(frozen=True, slots=True)
class _Seal:
    fingerprint: str = ""
    there: bool = False
    signer: Signer | None = None
    expected: bool = False
    differences: tuple[Difference, ...] = ()


def _seal(package: Path, signers: tuple[Signer, ...]) -> _Seal:
    """Verify the signature of the tag manifest against the required *signers*."""
    file, manifest = layout.on_disk(package, layout.SEAL), layout.on_disk(package, layout.tag_manifest("sha256"))
    wanted = " or ".join(signer.name or signer.fingerprint for signer in signers)
    try:
        message = read_regular(manifest, MOST_BYTES)
    except OSError:
        return _Seal(there=file.exists())  # the bag check reports the manifest as missing
    printed = fingerprint(message)
    try:
        signer = signer_of(message, read_regular(file, MOST_BYTES))
    except FileNotFoundError:
        missing = Difference(layout.SEAL, Kind.SEAL, f"a seal by {wanted}", "no seal")
        return _Seal(printed, differences=(missing,) if signers else ())
    except (BadSeal, OSError) as fault:
        return _Seal(printed, there=True, differences=(Difference(layout.SEAL, Kind.SEAL, "a seal", str(fault)),))
    if signers and signer.key not in {each.key for each in signers}:
        other = Difference(layout.SEAL, Kind.SEAL, f"a seal by {wanted}", f"a seal by {signer.fingerprint}")
        return _Seal(printed, True, signer, differences=(other,))
    return _Seal(printed, True, signer, bool(signers))


def _held_against_data(package: Path) -> tuple[list[Mapping[str, Any]], list[Difference]]:
    """Compare every delivered file that the data names, and the rest of the payload, with the data beside the sheet.

    A person who changes a file can rewrite the checksum lists, so the data is compared independently of them: files it
    does not name, papers with other bytes, and data that is missing or names files outside the package are differences.
    """
    try:
        document = json.loads(read_regular(layout.on_disk(package, layout.DATA_JSON), MOST_BYTES))
        made = [*document["parts"], *document["images"]]
        delivered = [each["shipped"] for each in made if each["shipped"]]
        papers = {each["path"]: each["sha256"] for each in document.get("papers", ())}
        paths = [each["path"] for each in delivered if each["figures"].keys()] + list(papers)
        escaping = [path for path in paths if layout.escapes(path)]
    except FileNotFoundError:
        return [], [Difference(layout.DATA_JSON, Kind.MISSING, "the data as built")]
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as fault:
        why = f" ({fault.strerror})" if isinstance(fault, OSError) else ""
        found = f"data that cannot be read{why}, so no figure could be compared"
        return [], [Difference(layout.DATA_JSON, Kind.UNREADABLE, "the data as built", found)]
    entry = f"an entry in {layout.DATA_JSON}"
    differences = [Difference(printable(path), Kind.ESCAPES, found=entry) for path in escaping]
    inside = [each for each in delivered if each["path"] not in escaping]
    named = {layout.same_file(each["path"]) for each in inside}
    differences += [Difference(path, Kind.MISSING, "a file that the data names") for path in _absent(package, named)]
    differences += _papers_unlike(package, {path: papers[path] for path in papers if path not in escaping})
    differences += _unnamed(package, named | set(map(layout.same_file, papers)), every="papers" in document)
    return inside, differences


def _absent(package: Path, named: Iterable[str]) -> Iterator[str]:
    return (path for path in sorted(named) if not layout.on_disk(package, path).is_file())


def _papers_unlike(package: Path, papers: Mapping[str, str]) -> Iterator[Difference]:
    for path, sha256 in sorted(papers.items()):
        try:
            found = file_sha256(layout.on_disk(package, path))
        except Unusable as fault:
            missing = not layout.on_disk(package, path).exists()
            found = "" if missing else fault.found
            kind = Kind.MISSING if missing else Kind.UNREADABLE
            yield Difference(path, kind, "a paper that the data names", found)
            continue
        if found != sha256:
            yield Difference(path, Kind.CHANGED, f"sha256 {sha256}", f"sha256 {found}")


def _unnamed(package: Path, named: set[str], *, every: bool) -> Iterator[Difference]:
    """Files of the payload that the data does not name; for packages whose data lists no papers, sound files only."""
    for path in contents_of(package).files:
        here = layout.same_file(printable(path))
        if not here.startswith(f"{layout.PAYLOAD}/") or here in named | {layout.DATA_JSON} or layout.is_dropping(here):
            continue
        if every or PurePosixPath(here).suffix.lower() in LOSSLESS | LOSSY:
            yield Difference(here, Kind.UNNAMED, "a file that the data names", "a file that it does not name")


def _compare(package: Path, promised: Mapping[str, Any]) -> list[Difference]:
    path = promised["path"]
    try:
        measured = measure(layout.on_disk(package, path))
    except DeliveryError as error:
        return [Difference(path, Kind.UNREADABLE, "sound that can be read to its end", str(error))]
    known = figures()
    readings = {name: measured.value(name) for name in known}
    readings |= of_promised(layout.on_disk(package, path), promised["figures"])
    return list(_differing(path, promised["figures"], readings, known))


def _differing(
    path: str, promised: Mapping[str, Any], found: Mapping[str, Any], known: Mapping[str, Figure]
) -> Iterator[Difference]:
    if promised.get("audio_hash") != found.get("audio_hash"):
        yield Difference(path, Kind.SOUND, f"audio hash {promised.get('audio_hash')}", f"{found.get('audio_hash')}")
    for name, value in promised.items():
        if name == "audio_hash" or name not in known or isinstance(value, list):
            continue
        if not _agrees(value, found[name], known[name].digits):
            yield Difference(path, Kind.FIGURE, f"{name} {value}", f"{found[name]}")


def _agrees(promised: Any, found: Any, digits: int | None) -> bool:
    """Equal to the precision printed on the sheet: other processors may differ in the last bits of a sum."""
    if isinstance(promised, float) and isinstance(found, float):
        return abs(promised - found) <= 10.0 ** -(3 if digits is None else digits)
    return bool(promised == found)
