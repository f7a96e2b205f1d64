"""A bag (RFC 8493): the payload below data/ and six sorted text files that list what must be present."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from delivery.errors import Unusable
from delivery.pack import layout
from delivery.pack.bag_check import Difference, Kind, check_bag
from delivery.pack.checksums import Checksums, checksums
from delivery.pack.contents import only_files
from delivery.pack.manifest import DECLARED, bag_info, info_text, manifest_text, oxum

__all__ = ["Difference", "Kind", "bag_info", "check_bag", "write_bag"]


def write_bag(
    folder: Path, info: Iterable[tuple[str, str]], known: Mapping[str, Checksums] | None = None
) -> Mapping[str, Checksums]:
    """Make a bag of *folder*, whose payload already lies below ``data/``.

    Parameters
    ----------
    folder : the hidden folder of `whole_or_nothing`
    info : labels for bag-info.txt, as `bag_info` gives them; Payload-Oxum is added
    known : checksums already computed, by path ('data/...'); other files are read

    Returns
    -------
    checksums of the whole payload, by path

    Raises
    ------
    Unusable : a link or a device in the payload, no payload, or a file that differs from *known*
    OSError : the disk is full or gone; `whole_or_nothing` turns it into Unfinished
    """
    found = {path: _checksums(path, file, known or {}) for path, file in _payload(folder).items()}
    for path in sorted(set(known or {}) - set(found)):
        raise Unusable(path, "no such file in the package", "a file whose checksums were taken", "Build it again.")
    texts = {
        layout.DECLARATION: DECLARED,
        layout.INFO: info_text([*info, ("Payload-Oxum", oxum(sums.size_bytes for sums in found.values()))]),
    }
    for algorithm in layout.ALGORITHMS:
        texts[layout.manifest(algorithm)] = manifest_text({path: s.by(algorithm) for path, s in found.items()})
    for path, text in texts.items():
        _write(layout.on_disk(folder, path), text)
    tags = {path: checksums(layout.on_disk(folder, path)) for path in texts}
    for algorithm in layout.ALGORITHMS:
        text = manifest_text({path: sums.by(algorithm) for path, sums in tags.items()})
        _write(layout.on_disk(folder, layout.tag_manifest(algorithm)), text)
    return found


def _payload(folder: Path) -> Mapping[str, Path]:
    files = only_files(folder)
    payload = {path: file for path, file in files.items() if path.startswith(f"{layout.PAYLOAD}/")}
    if not payload:
        raise Unusable(folder.name, "no files below data/", "at least one file to deliver", "Build something first.")
    return payload


def _checksums(path: str, file: Path, known: Mapping[str, Checksums]) -> Checksums:
    if path not in known:
        return checksums(file)
    size_bytes = file.stat().st_size
    if size_bytes != known[path].size_bytes:
        found, wanted = f"{size_bytes} bytes", f"{known[path].size_bytes} bytes as when its checksums were taken"
        raise Unusable(path, found, wanted, "It was changed while it was packed; build it again.")
    return known[path]


def _write(file: Path, text: str) -> None:
    with file.open("w", encoding="utf-8", newline="\n") as out:
        out.write(text)
