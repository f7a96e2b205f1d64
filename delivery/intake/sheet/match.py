"""Match rows with files by code, title, number and length: evidence is weighed, ties become questions. Pure."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from types import MappingProxyType
from typing import Any

from delivery.errors import Unusable
from delivery.intake.begin.masters import Master
from delivery.intake.begin.name_parts import Parts, parts_of, version_key, without_studio_words
from delivery.intake.sheet.parsed import Ask
from delivery.intake.sheet.row import Row

NEAR = 0.84
"""Titles this similar (ratio of common pieces) are one title with a typing error."""
SAME_S, CLOSE_S, FAR_S = 1.0, 2.5, 10.0
"""Label copy has whole seconds; masters have a tail. Common practice, no source."""
GENERIC = re.compile(
    r"(?:audio ?)?(?:track|spur|titel|piste|untitled|mixdown|bounce|master|song|audio)? ?\d*", re.IGNORECASE
)
KNOWN = 6
"""Points for an earlier answer, or a match settled before."""
SECURE = 2
"""Minimum points of a pair."""

Before = Mapping[str, Mapping[str, Any]]
"""File name -> fields of the row it was matched with."""
LEAVE_OUT = "leave this row out"
"""Last choice of every question about a row."""
NOTHING: Before = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Evidence:
    """How well a row and a file match."""

    points: int
    against: tuple[str, ...] = ()
    """Evidence against it, in words."""


@dataclass(frozen=True, slots=True)
class Matched:
    """Rows and files matched with each other."""

    pairs: tuple[tuple[Row, Master], ...]
    """In row order."""
    spare: tuple[Master, ...]
    """Files matched by no row."""
    remarks: tuple[str, ...]
    faults: tuple[Unusable, ...]
    without_file: tuple[Row, ...] = ()
    """Rows left out by an answer, and those already reported as faults."""


def match(
    rows: Sequence[Row], masters: Sequence[Master], name: str, ask: Ask | None = None, before: Before = NOTHING
) -> Matched:
    """Pairs of rows and files.

    A pair is accepted if it is the best for both, by a clear margin, and strong enough. The rest becomes a question, or
    refused if no questions are possible.

    Parameters
    ----------
    name : of the sheet, for messages
    ask : asks a person; None: no questions are possible
    before : row of each file at the last import, so that no question comes twice; empty: it was left out
    """
    bounces = _new_bounces(masters, before)
    weights = {
        (r, m): weigh(row, master, None if master.name in bounces else before.get(master.name))
        for r, row in enumerate(rows)
        for m, master in enumerate(masters)
    }
    found = _sure(weights, len(rows), len(masters))
    chosen: dict[int, int] = dict(found)
    faults: list[Unusable] = []
    unmatched: list[Row] = []
    left_out: list[Row] = []
    for r, row in enumerate(rows):
        if r in chosen:
            continue
        free = [m for m in range(len(masters)) if m not in chosen.values()]
        likely = sorted((m for m in free if weights[r, m].points > 0), key=lambda m: (-weights[r, m].points, m)) or free
        choices = [*(_described(masters[m]) for m in likely), LEAVE_OUT]
        answer = ask(f"Which file is {row.description}?", choices) if ask else None
        if answer is not None and answer < len(likely):
            chosen[r] = likely[answer]
        elif answer is not None:
            left_out.append(row)
        else:
            unmatched.append(row)
            if not _named_twice(row, rows):  # already reported with both cells
                probable = [masters[m] for m in likely if weights[r, m].points > 0]
                faults.append(_unmatched(row, probable, free != [], name))
    pairs = tuple((rows[r], masters[m]) for r, m in sorted(chosen.items()))
    spare = tuple(master for m, master in enumerate(masters) if m not in chosen.values())
    doubts = [(masters[m].name, rows[r], weights[r, m].against) for r, m in sorted(found.items())]
    remarks = (
        *_doubts([one for one in doubts if one[2]]),
        *(f"{row.description} has no file: left out." for row in left_out),
    )
    return Matched(pairs, spare, remarks, tuple(faults), (*left_out, *unmatched))


def _doubts(pairs: Sequence[tuple[str, Row, tuple[str, ...]]]) -> Iterator[str]:
    """One remark, however many files are matched with rows that disagree."""
    if len(pairs) == 1:
        name, row, against = pairs[0]
        yield f"{name} is matched with {row.description}, although {' and '.join(against)}."
    elif pairs:
        listed = "; ".join(f"{name} for {row.description}: {' and '.join(against)}" for name, row, against in pairs)
        yield f"{len(pairs)} files are matched with rows that differ: {listed}."


def weigh(row: Row, master: Master, before: Mapping[str, Any] | None = None) -> Evidence:
    """Weigh the evidence for the pair.

    Parameters
    ----------
    before : the row of this file at the last import
    """
    if row["file"]:
        same = _file_key(str(row["file"])) in (_file_key(master.name), _file_key(master.name.rpartition("/")[2]))
        return Evidence(20 if same else -20)
    listed = [_by_code(row, master), _by_title(row, master), _by_number(row, master), _by_length(row, master)]
    listed += [Evidence(KNOWN)] if before and _same_row(row, before) else []
    return Evidence(sum(one.points for one in listed), tuple(text for one in listed for text in one.against))


def _new_bounces(masters: Sequence[Master], before: Before) -> set[str]:
    """Known files beside which a new one of the same title and version lies: ask again which of the two ships."""
    keys = {
        master.name: tuple((_title_key(one.title), version_key(one.version)) for one in _named(master))
        for master in masters
    }
    fresh = {key for name, found in keys.items() if before and name not in before for key in found}
    return {name for name, found in keys.items() if before.get(name) and fresh & set(found)}


def _named_twice(row: Row, rows: Sequence[Row]) -> bool:
    return bool(row["file"]) and sum(_file_key(str(one["file"])) == _file_key(str(row["file"])) for one in rows) > 1


def _same_row(row: Row, before: Mapping[str, Any]) -> bool:
    """Same recording code, or same number and at most a corrected title: a revised sheet seldom changes both."""
    if row["isrc"] and before.get("isrc"):
        return bool(row["isrc"] == before["isrc"])
    title, known = (_title_key(str(one or "")) for one in (row["title"], before.get("title")))
    alike = SequenceMatcher(None, title, known, autojunk=False).ratio() >= NEAR
    return alike and all(row[key] == before.get(key) for key in ("version", "disc", "number"))


def _by_code(row: Row, master: Master) -> Evidence:
    code = master.name_guess.isrc or re.sub(r"[^A-Z0-9]", "", master.tags.get("isrc", "").upper())
    if not (row["isrc"] and code):
        return Evidence(0)
    return Evidence(8) if row["isrc"] == code else Evidence(-8, (f"the file has the ISRC {code}",))


def _by_title(row: Row, master: Master) -> Evidence:
    """The best match with the file's tags and its name, title and version each by itself."""
    named = list(_named(master))
    if not (named and row["title"]):
        return Evidence(0)
    wanted = parts_of(str(row["title"]))
    version = str(row["version"] or wanted.version)
    return max((_alike(wanted.title, version, one) for one in named), key=lambda evidence: evidence.points)


def _named(master: Master) -> Iterator[Parts]:
    tagged = parts_of(master.tags.get("title", "")) if master.tags.get("title", "").strip() else Parts("")
    for one in (
        replace(tagged, version=master.tags.get("version") or tagged.version),
        Parts(master.name_guess.title, master.name_guess.version, master.name_guess.guest),
    ):
        if one.title and not GENERIC.fullmatch(one.title.strip()):
            yield one


def _alike(title: str, version: str, named: Parts) -> Evidence:
    """Similarity of a row and a file's title and version; a file of another version is another recording."""
    row, file = _title_key(title), _title_key(named.title)
    called = f"it is called {_shown(named)!r}"
    if row == file:
        return _by_version(version, named, Evidence(5))
    if row == _title_key(without_studio_words(named.title, doubtful=True)):
        return _by_version(version, named, Evidence(4))
    if SequenceMatcher(None, row, file, autojunk=False).ratio() >= NEAR:
        return _by_version(version, named, Evidence(3, (f"its title there is {_shown(named)!r}",)))
    if _within(file, row) or _within(row, file):
        return _by_version(version, named, Evidence(1, (called,)))
    return Evidence(-3, (called,))


def _by_version(version: str, named: Parts, title: Evidence) -> Evidence:
    wanted, there = version_key(version), version_key(named.version)
    if wanted == there:
        return title
    if not there:
        return Evidence(min(title.points, 3), (*title.against, f"its name does not contain {version!r}"))
    if not wanted:
        return Evidence(min(title.points, 1), (*title.against, f"its name has {named.version!r}"))
    return Evidence(-3, (*title.against, f"its name has {named.version!r}"))


def _shown(named: Parts) -> str:
    return f"{named.title} ({named.version})" if named.version else named.title


def _within(few: str, many: str) -> bool:
    """'low water' is part of 'low water final master': the words of one title, adjacent in the other."""
    return len(few) > 3 and f" {few} " in f" {many} "


def _by_number(row: Row, master: Master) -> Evidence:
    number = master.tag_number or master.name_guess.number or _generic_number(master.name_guess.title)
    if not (row["number"] and number):
        return Evidence(0)
    disc = (row["disc"] or 1) == (master.disc or 1)
    return Evidence(2) if number == row["number"] and disc else Evidence(-2, (f"the file has the number {number}",))


def _generic_number(title: str) -> int | None:
    """'Track 03', 'Audio 3': a name that is only a number."""
    digits = re.search(r"\d{1,3}$", title.strip()) if GENERIC.fullmatch(title.strip()) else None
    return int(digits[0]) if digits else None


def _by_length(row: Row, master: Master) -> Evidence:
    if not (row["duration"] and master.facts):
        return Evidence(0)
    stated_s = [float(row["duration"]), *([float(row["duration_or"])] if row["duration_or"] else [])]
    off_s = min(abs(master.facts.duration_s - seconds) for seconds in stated_s)
    if off_s <= SAME_S:
        return Evidence(2)
    if off_s <= CLOSE_S:
        return Evidence(1)
    return Evidence(-2 if off_s > FAR_S else -1)  # the importer reports how the lengths differ


def _sure(weights: Mapping[tuple[int, int], Evidence], rows: int, masters: int) -> dict[int, int]:
    """Pairs that are each other's best by a clear margin; each round may clear others."""
    chosen: dict[int, int] = {}
    changed = True
    while changed:
        changed = False
        free_rows = [r for r in range(rows) if r not in chosen]
        free = [m for m in range(masters) if m not in chosen.values()]
        for r in free_rows:
            best = _best({m: weights[r, m].points for m in free if m not in chosen.values()})
            if best is None or weights[r, best].points < SECURE:
                continue
            if _best({q: weights[q, best].points for q in free_rows if q not in chosen}) == r:
                chosen[r] = best
                changed = True
    return chosen


def _best(points: Mapping[int, int]) -> int | None:
    """The one with most points; None for a tie."""
    top = max(points.values(), default=0)
    best = [key for key, value in points.items() if value == top]
    return best[0] if len(best) == 1 else None


def _unmatched(row: Row, likely: Sequence[Master], free: bool, name: str) -> Unusable:
    place = f"{name} {row.places.get('title', '')} {row.description}".replace("  ", " ")
    remedy = "Name the file in a column 'File', or correct number, title or length."
    if len(likely) > 1:
        return Unusable(
            place,
            f"{len(likely)} files that may be it: {', '.join(one.name for one in likely[:6])}",
            "one file",
            remedy,
        )
    if likely:
        return Unusable(place, f"only {likely[0].name}, a weak match", "a certain match", remedy)
    return Unusable(
        place,
        "no matching file" if free else "no file left",
        "a file for each row",
        f"Put it into the folder, or take the row out. {remedy}",
    )


def _described(master: Master) -> str:
    if master.facts is None:
        return master.name
    minutes, seconds = divmod(round(master.facts.duration_s), 60)
    return f"{master.name} ({minutes}:{seconds:02})"


def _file_key(name: str) -> str:
    return unicodedata.normalize("NFC", name.replace("\\", "/")).casefold().strip()


def _title_key(text: str) -> str:
    """Letters and digits only, without accents and width: 'Öresund – Part 2' and 'oresund part 2' are one title."""
    bare = unicodedata.normalize("NFKD", text.casefold().replace("&", " and ").replace("ø", "o").replace("ß", "ss"))
    return " ".join(re.sub(r"[\W_]+", " ", "".join(c for c in bare if not unicodedata.combining(c))).split())
