"""Spellings an artist intends, stored in the studio file; every other byte of it is unchanged."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from delivery.errors import Faulty, Unfinished, Unusable
from delivery.intake.studio.file import load_studio
from delivery.intake.studio.location import studio_file
from delivery.intake.text_files import write_text
from delivery.intake.yaml.insert import content_end, inserted, inserted_lines, next_line
from delivery.intake.yaml.nodes import composed_root
from delivery.intake.yaml.quoting import flow, quoted
from delivery.intake.yaml.text import document_of, text_of
from delivery.regular import read_regular

KEY = "accepted_titles"
NEW = "# Who signs the sheet, and what artists mean exactly so. Keys: specs/studio.schema.json explains each.\n"


def accept_titles(beside: Path, artist: str, titles: Sequence[str]) -> tuple[Path, tuple[str, ...]]:
    """Record *titles* as intended by *artist*; creates the studio file if there is none.

    Parameters
    ----------
    beside : a release file or its folder; the studio file in force there is written

    Returns
    -------
    The studio file, and the titles that were new to it.

    Raises
    ------
    Faulty : the studio file has faults; nothing is changed
    Unusable : its layout cannot be edited safely; the remedy has the text to add
    Unfinished : it cannot be written; nothing is changed
    """
    known = load_studio(beside).accepted_titles.get(artist, ())
    fresh = tuple(title for title in dict.fromkeys(titles) if title not in known)
    file = studio_file(beside)
    text, mark = (text_of(file), _mark(file)) if file.exists() else (NEW, "")
    for title in fresh:
        text = _checked(text, with_title(text, artist, title), artist, title, file)
    if fresh:
        try:
            file.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            reason = error.strerror or type(error).__name__
            raise Unfinished(
                str(file), f"no way to write it ({reason})", "a folder to write in", "Nothing was changed."
            ) from error
        write_text(file, mark + text)
    return file, fresh


def with_title(text: str, artist: str, title: str) -> str:
    """*text*, a studio file, with one more spelling for *artist*."""
    root = composed_root(text)
    if root is None:
        return inserted_lines(text, len(text), [f"{KEY}:", *_entry(artist, title, 2)])
    pair = _pair(root, KEY)
    if pair is None:
        at = root.start_mark.column
        return inserted_lines(text, len(text), [" " * at + f"{KEY}:", *_entry(artist, title, at + 2)])
    head, entries = pair
    if not isinstance(entries.value, list) or not entries.value:
        return _first_entry(text, head, entries, artist, title)
    for entry in entries.value:
        named, listed = _pair(entry, "artist"), _pair(entry, "titles")
        if named and listed and named[1].value == artist and isinstance(listed[1].value, list) and listed[1].value:
            return _one_more(text, listed[1], title)
    if entries.flow_style:
        return inserted(text, content_end(entries.value[-1]), f", {_in_braces(artist, title)}")
    lines = _entry(artist, title, entries.start_mark.column)
    return inserted_lines(text, next_line(text, content_end(entries.value[-1])), lines)


def _checked(before: str, after: str, artist: str, title: str, file: Path) -> str:
    """Check that the edited text reads as the old data plus one spelling."""
    wanted = dict((document_of(before, file.name).data if before != NEW else None) or {})
    entries = [dict(entry) for entry in wanted.get(KEY) or ()]
    same = next((entry for entry in entries if entry["artist"] == artist and entry.get("titles")), None)
    if same:
        same["titles"] = [*same["titles"], title]
    else:
        entries.append({"artist": artist, "titles": [title]})
    try:
        reads = document_of(after, file.name).data
    except Faulty:
        reads = None
    if reads != {**wanted, KEY: entries}:
        remedy = f"Add by hand, under {KEY}: {_in_braces(artist, title)}"
        raise Unusable(file.name, "a layout nothing can be added to", "keys in lines", remedy)
    return after


def _pair(node: Any, key: str) -> Any:
    return next((pair for pair in node.value if isinstance(pair, tuple) and pair[0].value == key), None)


def _first_entry(text: str, head: Any, value: Any, artist: str, title: str) -> str:
    """The key exists without a value."""
    if not (isinstance(value.value, str) and not value.value):
        text = text[: value.start_mark.index].rstrip(" ") + text[value.end_mark.index :]
    at = next_line(text, head.end_mark.index)
    return inserted_lines(text, at, _entry(artist, title, head.start_mark.column + 2))


def _one_more(text: str, titles: Any, title: str) -> str:
    last = content_end(titles.value[-1])
    if titles.flow_style:
        return inserted(text, last, f", {quoted(title)}")
    return inserted_lines(text, next_line(text, last), [" " * titles.start_mark.column + f"- {quoted(title)}"])


def _entry(artist: str, title: str, indent: int) -> list[str]:
    blanks = " " * indent
    return [f"{blanks}- artist: {quoted(artist)}", f"{blanks}  titles:", f"{blanks}    - {quoted(title)}"]


def _in_braces(artist: str, title: str) -> str:
    return flow({"artist": artist})[:-1] + f", titles: [{quoted(title)}]}}"


def _mark(file: Path) -> str:
    return "\ufeff" if read_regular(file, 3).startswith(b"\xef\xbb\xbf") else ""
