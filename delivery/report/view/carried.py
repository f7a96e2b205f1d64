"""The masters' own tags and chunks: which do not ship, which are replaced and which stay, each listed once. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from delivery.model.carried import ENCODER, KEEP_CHUNKS, LABEL_COPY, Item
from delivery.model.part import Delivery, Part
from delivery.report.view import words
from delivery.report.view.part_rows import CarriedRow
from delivery.tags.fields import FIELDS

REMOVED, REPLACED, KEPT = "Removed from the master", "Replaced in the master's tags", "Kept from the master"
_LONGEST = 60
"""Characters of a text that are shown; the data document has all of it."""
_BY_PLACE = ("bext", "others", "pictures", "unknown", *KEEP_CHUNKS)
"""Kinds for which the tag name is more informative than the kind."""

Statement = tuple[str, str]
"""What the text is about, and the text."""


def carried_rows(delivery: Delivery) -> tuple[CarriedRow, ...]:
    """By track; what applies to several specs is listed once."""
    numbers = words.numbers(delivery.release)
    positions = (source.track.position for source in delivery.sources)
    return tuple(row for position in positions for row in carried_of(delivery, position, numbers[position]))


def carried_of(delivery: Delivery, position: int, number: str) -> Iterator[CarriedRow]:
    """The rows of one track."""
    for what, sentence, specs, brief in _of_track(delivery, position):
        yield CarriedRow(position, number, what, sentence, specs, brief)


def _of_track(delivery: Delivery, position: int) -> Iterator[tuple[str, str, tuple[str, ...], str]]:
    parts = [part for part in delivery.of_track(position) if _counts(delivery, part)]
    everywhere = tuple(part.spec for part in parts)
    for what in (REMOVED, REPLACED, KEPT):
        holds: dict[Statement, dict[str, None]] = {}
        places: dict[Statement, dict[str, None]] = {}
        for part in parts:
            for statement, place in _statements(part, what):
                holds.setdefault(statement, {})[part.spec] = None
                if place:
                    places.setdefault(statement, {})[place] = None
        for specs in dict.fromkeys(tuple(each) for each in holds.values()):
            same = [one for one, where in holds.items() if tuple(where) == specs]
            text = "; ".join(_statement_text(one, places.get(one, ())) for one in same)
            brief = f"{', '.join(about for about, _ in same)}, by label copy" if what == REPLACED else ""
            yield what, text, () if specs == everywhere else specs, brief


def _counts(delivery: Delivery, part: Part) -> bool:
    """Files that were written, or in a check all that are planned."""
    return bool(part.chain) and (not delivery.built or bool(part.shipped or part.inside))


def _statements(part: Part, what: str) -> Iterator[tuple[Statement, str]]:
    """Each with the place it was found in, where the statement does not name it."""
    passage = part.passage
    if what == REPLACED:
        for each in passage.replaced:
            yield (each.item.place, f"{_quoted(each.item.text)} by {_quoted(each.now)}"), ""
        return
    yield from _items(passage.removed if what == REMOVED else passage.kept)


def _items(items: Iterable[Item]) -> Iterator[tuple[Statement, str]]:
    for item in items:
        if item.kind == ENCODER:
            continue
        if item.kind in _BY_PLACE:
            text = item.text if item.kind in (*KEEP_CHUNKS, "pictures") else _quoted(item.text)
            yield (item.place, text), ""
        else:
            known = FIELDS.get(item.field)
            label = known.meaning if known else "name" if item.kind == LABEL_COPY else item.kind.replace("_", " ")
            yield (label, _quoted(item.text)), item.place


def _statement_text(statement: Statement, places: Iterable[str]) -> str:
    """'ISRC 'ZZABC2400001' (ID3 TSRC, axml)', 'chunk cue 2 points'."""
    where = f" ({words.plain(', '.join(places))})" if places else ""
    return f"{words.plain(statement[0])} {words.plain(statement[1])}{where}"


def _quoted(text: str) -> str:
    line = " ".join(words.plain(text).split())
    return f"'{line}'" if len(line) <= _LONGEST else f"'{line[:_LONGEST].rstrip()}...'"
