"""A merge in sentences: what is taken, what is kept, what is undecided. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from delivery.intake.sheet.statements import RELEASE, Outcome, Plan, Stated, Verdict, file_key
from delivery.intake.sheet.write import RELEASE_KEYS, TRACK_KEYS
from delivery.model.fields import FIELDS
from delivery.model.unconfirmed import ORDER

TITLES = {"composers": "Composers", "lyricists": "Lyricists", "writers": "Writers", "publishers": "Publishers",
          "artists": "Artists", "credits": "Credits", ORDER: "Order of the tracks"}  # fmt: skip

Titles = Mapping[str, str]
"""Key of a file -> title and version of its track."""


def titles_of(ours: Mapping[str, Any], sheet: Stated) -> Titles:
    """Title with version of every track of the file or the sheet, by the key of its file."""
    there = {file_key(str(track["file"])): _with_version(track) for track in ours["tracks"]}
    return {**{file_key(name): _with_version(values) for name, values in sheet.tracks.items()}, **there}


def _with_version(track: Mapping[str, Any]) -> str:
    return f"{track.get('title')} ({track['version']})" if track.get("version") else str(track.get("title"))


def changes(plan: Plan, titles: Titles) -> Iterator[str]:
    """One sentence for each change to the release file."""
    yield from (
        f"{_titled(one, titles)}: was {shown_value(one.file)}, now {shown_value(_now(one))}."
        for one in plan.taken()
        if one.where == RELEASE and one.key != ORDER
    )
    for name in plan.removed:
        yield f"{shown_value(titles[file_key(name)])} ({name}) is not on the sheet: its lines become comments."
    for name in plan.added:
        yield f"{shown_value(titles[file_key(name)])} ({name}) is new."
    for old, new in plan.renamed.items():
        yield f"{shown_value(titles[file_key(old)])}, File: was {shown_value(old)}, now {shown_value(new)}."
    yield from (
        f"{_titled(one, titles)}: was {shown_value(one.file)}, now {shown_value(_now(one))}."
        for one in plan.taken()
        if one.where
    )
    for one in plan.taken():
        if one.key == ORDER:
            yield f"The order is different: {', '.join(titles[key] for key in one.sheet)}."
    if plan.confirmed:
        count = len(plan.confirmed)
        verb = "value from file names is" if count == 1 else "values from file names are"
        yield f"{count} {verb} settled by the sheet: {', '.join(_addresses(plan, titles))}."


def kept(plan: Plan, titles: Titles) -> Iterator[str]:
    """Values kept from the release file although the sheet differs."""
    for one in plan.outcomes:
        if one.verdict is Verdict.KEPT and one.key == ORDER:
            yield "The order of the tracks is kept from the release file."
        elif one.verdict is Verdict.KEPT:
            beside = "leaves it empty" if one.sheet is None else f"has {shown_value(one.sheet)}"
            yield f"{_titled(one, titles)} stays {shown_value(one.file)}; the sheet {beside}."
    for name in plan.stays_out:
        yield f"{shown_value(titles[file_key(name)])} ({name}) stays out: it was removed from the release file by hand."


def conflict(one: Outcome, titles: Titles) -> tuple[str, str, str]:
    """For a conflict: its subject, the sheet's value and the file's."""
    if one.key == ORDER:
        sheet, file = (", ".join(titles[key] for key in order) for order in (one.sheet, one.file))
        return TITLES[ORDER], sheet, file
    return _titled(one, titles), shown_value(one.sheet), shown_value(one.file)


def title_of(where: str, key: str) -> str:
    """'ISRC', 'Release title': as headings in our own sheets."""
    known = {key: name for name, key in (TRACK_KEYS if where else RELEASE_KEYS).items()}
    return TITLES.get(key) or FIELDS[known[key]].title if key in TITLES or known.get(key) in FIELDS else key


def shown_value(value: Any) -> str:
    """*value* as printed in remarks; 'not supplied' for None."""
    if value is None:
        return "not supplied"
    if isinstance(value, (list, tuple)):
        return "; ".join(map(_person, value)) or "none"
    if isinstance(value, Mapping):
        return _person(value)
    return repr(value) if isinstance(value, str) else str(value)


def _person(value: Any) -> str:
    """'Ilse Merrow' (composer, 60 %)."""
    if not isinstance(value, Mapping):
        return shown_value(value)
    name, *others = (
        value[key] for key in sorted(value, key=lambda key: (key not in ("name", "of"), key != "roles", key))
    )
    stated = [f"{one:g} %" if isinstance(one, float | int) and not isinstance(one, bool) else
            " and ".join(one) if isinstance(one, (list, tuple)) else str(one) for one in others]  # fmt: skip
    return f"{shown_value(name)} ({', '.join(stated)})" if stated else shown_value(name)


def _now(one: Outcome) -> Any:
    return one.sheet if one.also else one.now


def _titled(one: Outcome, titles: Titles) -> str:
    title = title_of(one.where, one.key)
    return f"{shown_value(titles[file_key(one.where)])}, {title}" if one.where else title


def _addresses(plan: Plan, titles: Titles) -> Iterator[str]:
    for where, key in plan.confirmed:
        title = title_of(where, key)
        yield f"{title} of {shown_value(titles[file_key(where)])}" if where else title
