"""Right-to-left order: where the runs of one direction begin, and in which order they are printed."""

from __future__ import annotations

from itertools import groupby
from typing import Any

from bidi import algorithm

OPENING = "([{\u2045\u207d\u2329\u27e8\u3008\u300a\u300c\u300e\u3010\u3014\uff08\uff3b"
CLOSING = ")]}\u2046\u207e\u232a\u27e9\u3009\u300b\u300d\u300f\u3011\u3015\uff09\uff3d"
BRACKETS = dict(zip(OPENING, CLOSING, strict=True))


def levels(text: str, base: int | None = None) -> tuple[int, ...]:
    """Embedding level of each character by the Unicode Bidirectional Algorithm (UAX #9); odd reads right to left.

    Parameters
    ----------
    base : level of the paragraph; None: from its first strong character
    """
    if _is_left_to_right(text, base):
        return (0,) * len(text)
    level = base_level(text) if base is None else base
    storage: dict[str, Any] = algorithm.get_empty_storage()
    storage["base_level"], storage["base_dir"] = level, ("L", "R")[level]
    algorithm.get_embedding_levels(text, storage)
    weightless = [found["type"] in algorithm.X9_REMOVED for found in storage["chars"]]
    algorithm.explicit_embed_and_overrides(storage)
    algorithm.resolve_weak_types(storage)
    resolve_brackets(storage["chars"], level)
    algorithm.resolve_neutral_types(storage, False)
    algorithm.resolve_implicit_levels(storage, False)
    return _with_weightless([found["level"] for found in storage["chars"]], weightless, level)


def _is_left_to_right(text: str, base: int | None) -> bool:
    """True for a paragraph without a letter of a script that is written from the right, or a mark of direction."""
    return not base and max(text, default="") < "\u0590"


def base_level(text: str) -> int:
    """Paragraph level, 0 or 1, from the first strong character (UAX 9, P2 and P3)."""
    return int(algorithm.get_base_level(text))


def resolve_brackets(found: list[dict[str, Any]], level: int) -> None:
    """Rule N0, which the algorithm's package leaves out: a pair of brackets turns with what it holds.

    Directions of the pair are written into *found*. Without embeddings (they are stripped) the text is one run.
    """
    along = "LR"[level % 2]
    for opens, closes in _pairs([str(each["ch"]) for each in found], [str(each["type"]) for each in found]):
        inside = {_strong(each["type"]) for each in found[opens + 1 : closes]} - {""}
        before = next((_strong(each["type"]) for each in reversed(found[:opens]) if _strong(each["type"])), along)
        if inside:
            turned = along if along in inside or before == along else before
            found[opens]["type"] = found[closes]["type"] = turned


def _strong(kind: str) -> str:
    """For brackets, numbers count as right to left."""
    return "L" if kind == "L" else "R" if kind in ("R", "AL", "EN", "AN") else ""


def _pairs(characters: list[str], kinds: list[str]) -> list[tuple[int, int]]:
    """Rule BD16: matching brackets, by the place of the opening one."""
    waiting: list[tuple[str, int]] = []
    pairs = []
    for at, character in enumerate(characters):
        if kinds[at] != "ON":
            continue
        if character in BRACKETS:
            waiting.append((BRACKETS[character], at))
        elif any(character == closing for closing, _ in waiting):
            while waiting[-1][0] != character:
                waiting.pop()
            pairs.append((waiting.pop()[1], at))
    return sorted(pairs)


def _with_weightless(found: list[int], weightless: list[bool], level: int) -> tuple[int, ...]:
    """The algorithm drops joiners; they get the level of the letter before them."""
    rest, all_levels = iter(found), []
    for skipped in weightless:
        level = level if skipped else next(rest)
        all_levels.append(level)
    return tuple(all_levels)


def visual_runs(text: str, base: int | None = None) -> list[tuple[str, int]]:
    """*text* cut where the level changes, in the order to print: rule L2 on whole runs.

    Within a run the characters stay in logical order; shaping turns a right-to-left run by itself.
    """
    if text and _is_left_to_right(text, base):
        return [(text, 0)]
    found = levels(text, base)
    runs = [
        ("".join(text[at] for at in run), level)
        for level, run in ((level, list(at)) for level, at in groupby(range(len(text)), key=found.__getitem__))
    ]
    for turn in range(max(found, default=0), 0, -1):
        runs = _turned(runs, turn)
    return runs


def _turned(runs: list[tuple[str, int]], level: int) -> list[tuple[str, int]]:
    turned: list[tuple[str, int]] = []
    for high, stretch in groupby(runs, key=lambda run: run[1] >= level):
        row = list(stretch)
        turned += reversed(row) if high else row
    return turned
