"""Read a package as the ledger records it: after a build, and to rebuild a lost ledger. The same for both."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from delivery.absolute import absolute
from delivery.errors import Unusable
from delivery.ledger.past import DeliveredFile, DeliveredRecording, PastDelivery
from delivery.ledger.rows import MOST_BYTES
from delivery.pack import layout
from delivery.pack.seal import BadSeal, fingerprint, signer_of
from delivery.regular import read_regular

REMEDY = "Name a package folder as 'delivery build' wrote it."


def is_package(folder: Path) -> bool:
    """True for a folder with a tag manifest and a data document where a package has them."""
    wanted = (layout.tag_manifest("sha256"), layout.DATA_JSON)
    return all(layout.on_disk(folder, path).is_file() for path in wanted)


def read_package(folder: Path) -> PastDelivery:
    """The package in *folder* as one delivery. Its checksums are not verified here.

    Raises
    ------
    Unusable : no package, or its data document cannot be used
    """
    manifest, document = _bytes(folder, layout.tag_manifest("sha256")), _bytes(folder, layout.DATA_JSON)
    try:
        return _delivery(folder, manifest, json.loads(document))
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as fault:
        found = f"data that cannot be used ({type(fault).__name__}: {fault})"
        raise Unusable(folder.name, found, "the data document of a package", REMEDY) from fault


def release_key(release: Mapping[str, Any]) -> str:
    """Catalogue number, artist, title and version: the key that a repeated delivery shares.

    Parameters
    ----------
    release : with these texts, as in the data document
    """
    parts = (release["catalogue_number"], release["artist"], release["title"], release["version"])
    return "\n".join(" ".join(part.casefold().split()) for part in parts)


def _bytes(folder: Path, path: str) -> bytes:
    try:
        return read_regular(layout.on_disk(folder, path), MOST_BYTES)
    except OSError as fault:
        found = f"no {path}" if isinstance(fault, FileNotFoundError) else f"{path}: {fault.strerror}"
        raise Unusable(folder.name, found, "a package", REMEDY) from fault


def _delivery(folder: Path, manifest: bytes, document: Mapping[str, Any]) -> PastDelivery:
    release = document["release"]
    files = tuple(_files(document))
    texts: dict[str, Any] = {name: str(release[name]) for name in TEXTS}
    return PastDelivery(
        fingerprint=fingerprint(manifest),
        release_key=release_key(release),
        **texts,
        revision=int(release["revision"]),
        dated=release["dated"] or "",
        package=folder.name,
        path=str(absolute(folder)),
        sealed_by=_sealed_by(folder, manifest),
        specs=tuple({key: spec[key] for key in SPEC_KEYS} for spec in _shipped_specs(document["specs"], files)),
        waivers=tuple(release["waivers"]),
        recordings=tuple(_recordings(document)),
        files=files,
        approvals=tuple(_approvals(release)),
        document=document,
    )


TEXTS = ("title", "version", "artist", "label", "client", "catalogue_number", "upc")
SPEC_KEYS = ("id", "title", "edition", "checked", "digest")


def _sealed_by(folder: Path, manifest: bytes) -> str:
    """Fingerprint of the key whose seal holds; empty if there is none."""
    try:
        return signer_of(manifest, read_regular(layout.on_disk(folder, layout.SEAL), MOST_BYTES)).fingerprint
    except (BadSeal, OSError):
        return ""


def _shipped_specs(specs: Iterable[Mapping[str, Any]], files: Iterable[DeliveredFile]) -> Iterator[Mapping[str, Any]]:
    shipped = {file.spec for file in files}
    return (spec for spec in specs if spec["id"] in shipped)


def _files(document: Mapping[str, Any]) -> Iterator[DeliveredFile]:
    for made in (*document["parts"], *document["images"]):
        shipped = made["shipped"]
        if shipped:
            yield DeliveredFile(
                made["spec"], made.get("track"), shipped["path"], shipped["sha256"], shipped["audio_hash"]
            )


def _recordings(document: Mapping[str, Any]) -> Iterator[DeliveredRecording]:
    """The masters of which something was shipped, by themselves or inside a disc or side."""
    inside = {song["track"] for image in document["images"] if image["shipped"] for song in image["programme"]["songs"]}
    shipped = inside | {part["track"] for part in document["parts"] if part["shipped"]}
    for source in document["sources"]:
        if source["track"] in shipped and source["measured"]:
            figures = source["measured"]["figures"]
            yield DeliveredRecording(
                source["track"],
                source["isrc"],
                figures["audio_hash"] or "",
                float(figures["duration_s"] or 0.0),
                source["title"],
                source["version"],
                source["display_artist"],
            )


def _approvals(release: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """The approval that holds for exactly this audio."""
    given = release["approval"]
    if given and given["holds"]:
        yield given["by"], given["date"] or ""
