"""Text chunks of AIFF: NAME, AUTH, '(c) ' and ANNO, as written by programs older than ID3. Read and kept, never added.

AIFF 1.3 has them in ASCII, without a NUL; what is not ASCII is read as UTF-8, else as Mac OS Roman, the format's home.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from delivery.tags.chunks import Chunk, Layout, body_of

CHUNKS: Mapping[str, bytes] = {"title": b"NAME", "artist": b"AUTH", "c_line": b"(c) "}
_ANNOTATION = b"ANNO"
_MOST_NOTES = 16


def fields_in(path: Path, layout: Layout) -> dict[str, str]:
    """Field id -> text of its first chunk; an ID3 tag takes precedence."""
    found = {name: next(_texts(path, layout, place), "") for name, place in CHUNKS.items()}
    return {name: text for name, text in found.items() if text}


def notes_in(path: Path, layout: Layout) -> tuple[str, ...]:
    """Notes in the file, the first sixteen of them."""
    return tuple(text for _, text in zip(range(_MOST_NOTES), _texts(path, layout, _ANNOTATION), strict=False) if text)


def outdated(path: Path, layout: Layout, values: Mapping[str, str]) -> tuple[Chunk, ...]:
    """Chunks that will differ from the tag, and that some readers would use; never notes."""
    return tuple(
        chunk
        for name, place in CHUNKS.items()
        if values.get(name)
        for chunk, text in zip(layout.all_of(place), _texts(path, layout, place), strict=True)
        if text != values[name]
    )


def _texts(path: Path, layout: Layout, place: bytes) -> Iterator[str]:
    with path.open("rb") as file:
        for chunk in layout.all_of(place):
            yield decoded(body_of(file, chunk, path))


def decoded(body: bytes) -> str:
    """Text of a chunk, up to its first NUL."""
    raw = body.partition(b"\0")[0]
    try:
        return raw.decode("utf-8").strip()
    except UnicodeDecodeError:
        return raw.decode("mac_roman").strip()
