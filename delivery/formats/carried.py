"""Tags and chunks of any file, and of a delivered file: the one place for both."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Protocol, cast

from delivery.errors import Unfinished, Unusable
from delivery.formats.embedding import embed, embedded, read_tags
from delivery.formats.registry import containers
from delivery.model.carried import Item, Passage, Positions
from delivery.model.part import TagReport
from delivery.tags import own_texts
from delivery.tags.chunks import is_chunked
from delivery.tags.guard import disk
from delivery.tags.keeping import Wish, passage, unwanted

if TYPE_CHECKING:
    from delivery.model.figure import Measurement

_UNREAD = "tags and chunks of this file cannot be read; it ships unchanged"


class Family(Protocol):
    """Functions of each module of ``tags`` for a family of containers."""

    def items(self, path: Path) -> tuple[Item, ...]:
        """Tags and chunks of *path*."""

    def strip(self, path: Path, gone: Collection[Item]) -> None:
        """Remove *gone* from *path*, our own copy."""


@dataclass(frozen=True, slots=True)
class Making:
    """How a delivered file was made, as far as its tags and chunks depend on it."""

    container: str
    copied: bool
    """Its bytes are the master's."""
    identical: bool
    """Its samples are the master's."""
    positions: Positions
    id3_version: float = 2.4


def items_of(path: Path) -> tuple[Item, ...]:
    """Tags and chunks of a file; unreadable content is one item that reports this.

    Empty for a container that this program reads but does not write.

    Raises
    ------
    Unfinished : the disk fails
    """
    try:
        with disk(path):
            family = _family(path)
            return family.items(path) if family else ()
    except Unfinished:  # no fault of tags and chunks
        raise
    except Unusable as problem:
        return (Item("unknown", "tags", f"not readable: {problem.found}"),)


def dress(
    master: Path,
    carried: Collection[Item],
    file: Path,
    making: Making,
    wish: Wish,
    picture: bytes | None = None,
    measurement: Measurement | None = None,
) -> tuple[TagReport, Passage]:
    """Write into the rendered *file*, our own copy, the master's permitted tags and chunks, and label copy if it is
    embedded.

    A copy with nothing to remove and nothing to add is not changed.

    Parameters
    ----------
    carried : items of *master*, from `items_of`
    measurement : of *file*, for loudness in the broadcast chunk that label copy brings

    Raises
    ------
    Unusable : unreadable tags or chunks, whose content is therefore unknown
    Unfinished : the disk fails
    """
    family = _family(file)
    if family is None:
        return dressed(carried, file, making, wish, picture, measurement)
    gone = unwanted(carried, wish)
    with disk(file):
        if not making.copied:
            family.strip(file, family.items(file))
            _carry(master, carried, file, family, making, wish, gone)
        elif gone:
            family.strip(file, gone)
    return _read_back(embed, carried, file, family, making, wish, picture, measurement)


def dressed(
    carried: Collection[Item],
    file: Path,
    making: Making,
    wish: Wish,
    picture: bytes | None = None,
    measurement: Measurement | None = None,
) -> tuple[TagReport, Passage]:
    """What `dress` returned for this very file: its tags and chunks, read again. Nothing is written.

    Raises
    ------
    Unusable : unreadable tags or chunks
    Unfinished : the disk fails
    """
    family = _family(file)
    if family is None:
        not_stored = tuple(wish.values) if wish.embedded else ()
        return TagReport({}, not_stored=not_stored, notes=(_UNREAD,) if making.copied else ()), Passage()
    return _read_back(embedded, carried, file, family, making, wish, picture, measurement)


def _read_back(
    read: Callable[..., TagReport],
    carried: Collection[Item],
    file: Path,
    family: Family,
    making: Making,
    wish: Wish,
    picture: bytes | None,
    measurement: Measurement | None,
) -> tuple[TagReport, Passage]:
    """Tags by *read*, which is `embed` or, of a file that has its tags, `embedded`; and the chunks."""
    if wish.embedded or picture:
        wanted = _to_embed(wish, picture, measurement)
        report = read(file, making.container, *wanted, id3_version=making.id3_version)
    else:
        report = TagReport(read_tags(file, making.container))
    with disk(file):
        return report, passage(carried, unwanted(carried, wish), family.items(file), wish)


def _to_embed(
    wish: Wish, picture: bytes | None, measurement: Measurement | None
) -> tuple[Mapping[str, str], bytes | None, Measurement | None]:
    return (wish.values, picture, measurement) if wish.embedded else ({}, picture, None)


def _carry(
    master: Path,
    carried: Collection[Item],
    file: Path,
    family: Family,
    making: Making,
    wish: Wish,
    gone: Collection[Item],
) -> None:
    staying = [item for item in carried if item not in gone and item.kind in wish.keep]
    if is_chunked(file) and is_chunked(master) and staying:
        from delivery.tags.carry_chunks import carry

        carry(master, file, gone, making.positions, same_loudness=making.identical)
    there = {item.kind for item in family.items(file)}
    container = containers().get(making.container)
    formats = container.tag_formats if container else ()
    own_texts.write(file, formats, [item for item in staying if item.kind not in there])


def _family(path: Path) -> Family | None:
    """The module for files with this beginning; None if there is none."""
    from delivery.tags import carried_chunks, carried_mp4, carried_mpeg, carried_vorbis, tails

    if is_chunked(path):
        return cast(Family, carried_chunks)
    ends = tails.ends_of(path)
    with path.open("rb") as file:
        file.seek(ends.start)
        head = file.read(12)
    if head[:4] in (b"fLaC", b"OggS"):
        return cast(Family, carried_vorbis)
    if head[4:8] == b"ftyp":
        return cast(Family, carried_mp4)
    if head[:1] == b"\xff" or ends.head or ends.tail:  # some writers leave zeros between a tag and the first frame
        return cast(Family, carried_mpeg)
    return None
