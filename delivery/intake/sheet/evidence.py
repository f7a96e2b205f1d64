"""Evidence that a row of a sheet and a file belong together: code, title, version, number, length. Pure."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from typing import Any

from delivery.intake.begin.masters import Master
from delivery.intake.begin.name_parts import Parts, parts_of, version_key, without_studio_words
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


@dataclass(frozen=True, slots=True)
class Evidence:
    """How well a row and a file match."""

    points: int
    against: tuple[str, ...] = ()
    """Evidence against it, in words."""


def weigh(row: Row, master: Master, before: Mapping[str, Any] | None = None) -> Evidence:
    """Weigh the evidence for the pair.

    Parameters
    ----------
    before : the row of this file at the last import
    """
    if row["file"]:
        same = file_key(str(row["file"])) in (file_key(master.name), file_key(master.name.rpartition("/")[2]))
        return Evidence(20 if same else -20)
    listed = [_by_code(row, master), _by_title(row, master), _by_number(row, master), _by_length(row, master)]
    listed += [Evidence(KNOWN)] if before and _same_row(row, before) else []
    return Evidence(sum(one.points for one in listed), tuple(text for one in listed for text in one.against))


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


def name_keys(master: Master) -> tuple[tuple[str, str], ...]:
    """Title and version by the file's tags and by its name, in a form in which equal ones are equal."""
    return tuple((_title_key(one.title), version_key(one.version)) for one in _named(master))


def file_key(name: str) -> str:
    """A file name in a form in which equal ones are equal, whatever their accents, slashes and case."""
    return unicodedata.normalize("NFC", name.replace("\\", "/")).casefold().strip()


def _title_key(text: str) -> str:
    """Letters and digits only, without accents and width: 'Öresund – Part 2' and 'oresund part 2' are one title."""
    bare = unicodedata.normalize("NFKD", text.casefold().replace("&", " and ").replace("ø", "o").replace("ß", "ss"))
    return " ".join(re.sub(r"[\W_]+", " ", "".join(c for c in bare if not unicodedata.combining(c))).split())
