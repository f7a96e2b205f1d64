"""Text of the merged release file: changes inserted, a removed track turned into comments, every other byte unchanged.

Pure.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from delivery.errors import Faulty, Unusable
from delivery.intake.begin.first_file import DATES, RELEASE_HELP
from delivery.intake.begin.tracks import FURTHER, TRACK_HELP
from delivery.intake.release.confirm import without
from delivery.intake.sheet.statements import RELEASE, Plan, file_key
from delivery.intake.yaml.change import (
    Edit,
    added_key,
    line_end_of,
    line_start,
    pair_of,
    replaced,
    with_edits,
)
from delivery.intake.yaml.insert import content_end, next_line
from delivery.intake.yaml.nodes import composed_root
from delivery.intake.yaml.quoting import value
from delivery.intake.yaml.text import document_of
from delivery.model.unconfirmed import ORDER

RELEASE_ORDER = (*RELEASE_HELP, "revision")
TRACK_ORDER = ("file", "title", "disc", "number", "side", *TRACK_HELP, *FURTHER)
BY_POSITION = ("waivers", "accepted", "qc_log")
"""Lists whose entries refer to tracks by position."""


def merged_text(text: str, plan: Plan, new_tracks: Mapping[str, Sequence[str]], name: str) -> str:
    """*text*, a release file, with the changes of *plan*.

    Parameters
    ----------
    new_tracks : YAML lines of each added track, by its file
    name : of the file, for messages

    Raises
    ------
    Unusable : it is written in a way that cannot be edited safely
    """
    try:
        data = document_of(text, name).data
        positions = {file_key(str(track["file"])): at for at, track in enumerate(data["tracks"], start=1)}
        confirmed = {(key, positions[file_key(where)] if where else None) for where, key in plan.confirmed}
        changed = without(text, confirmed)
        changed = _with_values(changed, plan)
        changed = _with_positions(changed, _moved(plan, positions))
        changed = _with_tracks(changed, plan, new_tracks)
        reads = document_of(changed, name).data
    except (Faulty, ValueError, AttributeError, IndexError, KeyError):
        reads = None
    if reads is None or _bare(reads) != _bare(_wanted(data, plan, new_tracks, positions)):
        raise Unusable(
            name, "a layout that cannot be edited safely", "keys in lines", "Put in by hand what is listed as changed."
        )
    return changed


def _with_values(text: str, plan: Plan) -> str:
    root = composed_root(text)
    as_json = root.flow_style
    groups = {file_key(pair_of(node, "file")[1].value): node for node in pair_of(root, "tracks")[1].value}
    edits: list[Edit] = []
    for where, sets in _sets(plan).items():
        group = groups[file_key(where)] if where else root
        missing = []
        for key, data in sets.items():
            pair, new = pair_of(group, key), _written(key, data, as_json)
            if pair is not None:
                edits += replaced(text, pair, new or ("null" if as_json else "~" if group.flow_style else ""))
            elif new:
                missing.append((key, new))
        edits += added_key(text, group, missing, TRACK_ORDER if where else RELEASE_ORDER)
    return with_edits(text, edits)


def _sets(plan: Plan) -> dict[str, dict[str, Any]]:
    """File ('' for the release) -> keys and new values; None: value removed."""
    sets: dict[str, dict[str, Any]] = {}
    for one in plan.taken():
        if one.key != ORDER:
            sets.setdefault(one.where, {}).update({one.key: one.now, **one.also})
    for old, new in plan.renamed.items():
        sets.setdefault(old, {})["file"] = new
    return sets


def _written(key: str, data: Any, as_json: bool) -> str:
    if data is None:
        return ""
    if as_json:
        return json.dumps(data, ensure_ascii=False)
    return str(data) if key in DATES else value(data)


def _moved(plan: Plan, positions: Mapping[str, int]) -> dict[int, int | None]:
    """Old position -> new position of the tracks that moved; None: removed."""
    now = {key: at for at, key in enumerate(plan.order, start=1)}
    return {old: now.get(key) for key, old in positions.items() if now.get(key) != old}


def _with_positions(text: str, moved: Mapping[int, int | None]) -> str:
    """Renumber waivers, acceptances and notes of moved tracks; an entry of a removed track becomes a comment."""
    root = composed_root(text)
    edits: list[Edit] = []
    for key in BY_POSITION:
        pair = pair_of(root, key)
        entries = pair[1].value if pair and isinstance(pair[1].value, list) else []
        if any(_position(node) in moved for node in entries):
            edits += _followed(text, pair, moved)
    return with_edits(text, edits)


def _followed(text: str, pair: Any, moved: Mapping[int, int | None]) -> list[Edit]:
    head, entries = pair
    gone = [node for node in entries.value if moved.get(_position(node) or 0, 0) is None]
    if entries.flow_style and gone:
        margin, at = " " * head.start_mark.column, line_start(text, head.start_mark.index)
        kept = [_renumbered(_span(text, node), moved) for node in entries.value if node not in gone]
        comments = "".join(f"{margin}# of a removed track: {_span(text, node)}{line_end_of(text)}" for node in gone)
        return [Edit(at, at, comments), *replaced(text, pair, f"[{', '.join(kept)}]")]
    edits: list[Edit] = []
    for node in entries.value:
        if node in gone:
            start = line_start(text, text.rindex("-", 0, node.start_mark.index))
            end = next_line(text, content_end(node))
            edits.append(Edit(start, end, _as_comment(text[start:end], entries.start_mark.column)))
        elif (old := _position(node)) is not None and old in moved:
            edits += replaced(text, pair_of(node, "track"), str(moved[old]))
    return edits


def _position(entry: Any) -> int | None:
    track = pair_of(entry, "track")
    return int(track[1].value) if track and str(track[1].value).isdecimal() else None


def _renumbered(entry: str, moved: Mapping[int, int | None]) -> str:
    """One entry in braces, as text, with the new position of its track."""
    root = composed_root(entry)
    old = _position(root)
    if old is None or old not in moved:
        return entry
    return with_edits(entry, replaced(entry, pair_of(root, "track"), str(moved[old])))


def _span(text: str, node: Any) -> str:
    return text[node.start_mark.index : content_end(node)]


def _with_tracks(text: str, plan: Plan, new_tracks: Mapping[str, Sequence[str]]) -> str:
    """Tracks in their new order with the new ones; removed ones become comments in place."""
    tracks = pair_of(composed_root(text), "tracks")[1]
    renamed = {file_key(new): file_key(old) for old, new in plan.renamed.items()}
    keys = [renamed.get(key, key) for node in tracks.value for key in [file_key(pair_of(node, "file")[1].value)]]
    if list(plan.order) == keys:
        return text
    if tracks.flow_style:
        return _in_brackets(text, tracks, keys, plan, new_tracks)
    column = tracks.start_mark.column
    bounds = _bounds(text, tracks)
    line_end = line_end_of(text)
    blocks = {key: text[start:end] for key, (start, end) in zip(keys, bounds, strict=True)}
    blocks = {key: block if block.endswith("\n") else block + line_end for key, block in blocks.items()}
    for name, lines in new_tracks.items():
        blocks[file_key(name)] = "".join(f"{' ' * column}{line[2:]}{line_end}" for line in lines)
    order = list(plan.order)
    for key in map(file_key, reversed(plan.removed)):  # as a comment after the track before it
        blocks[key] = _as_comment(blocks[key], column, "# removed, for it is not on the label copy:", line_end)
        before = [one for one in keys[: keys.index(key)] if one in order]
        order.insert(order.index(before[-1]) + 1 if before else 0, key)
    return text[: bounds[0][0]] + "".join(blocks[key] for key in order) + text[bounds[-1][1] :]


def _bounds(text: str, tracks: Any) -> list[tuple[int, int]]:
    """First and last line of each track; comments directly above its dash, at most as deep, belong to it."""
    column = tracks.start_mark.column
    starts: list[int] = []
    for node in tracks.value:
        start = line_start(text, text.rindex("-", 0, node.start_mark.index))
        least = next_line(text, content_end(tracks.value[len(starts) - 1])) if starts else 0
        while start > least:
            above = line_start(text, start - 1)
            line = text[above:start]
            if not line.lstrip().startswith("#") or len(line) - len(line.lstrip()) > column:
                break
            start = above
        starts.append(start)
    end = next_line(text, content_end(tracks.value[-1]))
    for line in text[end:].splitlines(keepends=True):
        if not (line.startswith(" " * (column + 1)) and line.lstrip().startswith("#")):
            break
        end += len(line)
    return list(zip(starts, [*starts[1:], end], strict=True))


def _as_comment(block: str, column: int, title: str = "", line_end: str = "\n") -> str:
    lines = block.splitlines(keepends=True)
    head = [f"{' ' * column}{title}{line_end}"] if title else []
    for line in lines:
        quiet = not line.strip() or line.lstrip().startswith("#")
        head.append(line if quiet else f"{line[:column]}# {line[column:]}")
    return "".join(head)


def _in_brackets(
    text: str, tracks: Any, keys: Sequence[str], plan: Plan, new_tracks: Mapping[str, Sequence[str]]
) -> str:
    """A list in brackets, such as JSON written by a program, stays in brackets."""
    items = {key: _span(text, node) for key, node in zip(keys, tracks.value, strict=True)}
    for name, lines in new_tracks.items():
        data = document_of("\n".join(lines), name).data[0]
        items[file_key(name)] = json.dumps(_bare(data), ensure_ascii=False)
    start, end = tracks.value[0].start_mark.index, content_end(tracks.value[-1])
    between = text[content_end(tracks.value[0]) : tracks.value[1].start_mark.index] if len(keys) > 1 else ", "
    if "#" in between:
        raise ValueError("comments between the tracks have no place to go")
    return text[:start] + between.join(items[key] for key in plan.order) + text[end:]


def _wanted(
    data: Mapping[str, Any], plan: Plan, new_tracks: Mapping[str, Sequence[str]], positions: Mapping[str, int]
) -> dict[str, Any]:
    """The merged file as plain data, computed independently: the edited text must read the same."""
    sets, moved = _sets(plan), _moved(plan, positions)
    by_key = {file_key(where): values for where, values in sets.items() if where}
    confirmed = {(file_key(where), key) for where, key in plan.confirmed}

    def left(group: Mapping[str, Any], where: str) -> dict[str, Any]:
        marks = [key for key in group.get("to_confirm") or () if (where, key) not in confirmed]
        return {**group, "to_confirm": marks or None}

    tracks = {file_key(str(one["file"])): left(one, file_key(str(one["file"]))) for one in data["tracks"]}
    tracks = {key: {**track, **by_key.get(key, {})} for key, track in tracks.items()}
    tracks |= {file_key(name): document_of("\n".join(lines), name).data[0] for name, lines in new_tracks.items()}
    wanted = {**left(data, RELEASE), **sets.get(RELEASE, {}), "tracks": [tracks[key] for key in plan.order]}
    for key in BY_POSITION:
        wanted[key] = [
            {**entry, "track": moved.get(entry["track"], entry["track"])} if "track" in entry else entry
            for entry in data.get(key) or ()
            if moved.get(entry.get("track"), 0) is not None
        ]
    return wanted


def _bare(data: Any) -> Any:
    """Without values that count as not supplied."""
    if isinstance(data, Mapping):
        return {key: one for key, inner in data.items() if (one := _bare(inner)) not in (None, [], {})}
    return [_bare(one) for one in data] if isinstance(data, (list, tuple)) else data
