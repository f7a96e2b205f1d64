"""Plain words: phrases that were replaced by the field's own terms do not return to code, specs, guides or tests."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
REPLACED = {
    "falls short": "not met, not ready",
    "shortfall": "not met",
    "hangs on": "depends on",
    "ticked": "accepted",
    "jacket": "container",
    "a free name": "a path that does not exist yet",
    "a free place": "a path that does not exist yet",
    "put end to end": "joined without a gap",
    "thinned out": "decimated",
    "parted by": "separated by",
    "meant so": "intended",
    "strangers": "untrusted",
    "is not spared": "listen through",
    "nothing is to be done": "no action needed",
    "dialect": "tag format",
    "no home": "not stored",
    "earlier life": "processing history",
    "Loss in mono": "mono fold-down loss",
    "Left minus right": "channel balance",
    "kb/s": "kbit/s",
    "the walk": "the pipeline",
    "accuse": "say what is suspected",
    "nobody foresaw": "unforeseen",
    "holds still": "unchanged",
    "goes nowhere": "no spec receives it",
    "trouble stays its own": "does not stop the others",
    "never turns back": "no step goes back",
    "never refuses": "refuses nothing",
    "by the door": "say what is raised or deleted",
    "never half of either": "atomically",
    "words of {bits}": "integers of {bits} bits",
    "the file knows": "say what the code does",
    "nobody's business": "not interpreted",
    "runs on into": "is joined without a gap",
    "as its size promises": "not upscaled",
    "leave for every recording": "clearance",
    "hears silence": "meets silence",
    "loses its way": "fails to find",
    "has no home": "is not stored",
    "tells the truth": "matches the file",
    "counted through:": "numbered across sides:",
    "is what keeps files": "keeps files",
    "whoever is asked": "a person",
    "whoever knows": "the caller",
    "nobody decides": "undecided",
    "nobody knows": "unknown",
    "somebody has told": "stated",
    "word lengths": "bit depths",
    "are told": "are reported",
    "is said once": "is printed once",
    "are said once": "are printed once",
    "held against": "compared with",
    "the other floors": "the other layers",
    "hang on the": "depend on the",
    "sends along": "includes",
    "slip of the pen": "misspelling",
    "the rails": "full scale; clipped",
    "keep the processor fed": "hide the latency of additions",
    "stand beside each other": "are side by side",
    "stands beside each other": "are side by side",
    "stand out of": "are outstanding in",
    "nothing to speak of": "no relevant ...",
    "at full tilt": "at full level",
    "comes back whole": "is read back whole",
    "no word about": "is not mentioned",
    "nobody to ask": "no questions are possible",
    "words cannot hold": "integer samples cannot hold",
    "goes on from": "continues from",
}
"""Phrase -> what to write instead."""
IN_TESTS = {
    "left alone": "unchanged",
    "is said": "is reported",
    "are said": "are reported",
    "is told": "gets, is given",
    "told nothing": "gets nothing",
    "survives the": "is kept by, is unchanged by",
    "believed": "used, trusted",
    "a stranger": "another site, an untrusted file",
    "packing room": "the package pack",
    "of this room": "of this folder",
    "stands ready": "listens",
    "tells of": "mentions",
    "speaks of": "contains, names",
    "wants": "requires",
    "spoilt": "damaged",
}
"""Phrase -> what to write instead, in names and docstrings of tests, where other words are wrong only there."""
WHERE = (
    "delivery/**/*.py",
    "delivery/**/*.md",
    "delivery/**/*.j2",
    "specs/*.yaml",
    "README.md",
    "DEVELOPERS.md",
    "tests/**/*.py",
    "demo/**/*.py",
)
EXEMPT = {"news.md", "renamed_keys.py", "test_words.py", "test_guide.py", "test_limits_and_figures.py"}
"""They name what was replaced."""


@cache
def texts() -> tuple[tuple[str, str], ...]:
    """Path and text of every file that is searched."""
    files = [path for pattern in WHERE for path in ROOT.glob(pattern) if path.name not in EXEMPT]
    return tuple((str(path.relative_to(ROOT)), path.read_text(encoding="utf-8")) for path in files)


@pytest.mark.parametrize("phrase", sorted(REPLACED))
def test_a_replaced_phrase_does_not_come_back(phrase: str) -> None:
    assert len(texts()) > 900
    whole = re.compile(rf"\b{re.escape(phrase)}\b")
    found = [
        f"{path}:{text.count(chr(10), 0, match.start()) + 1}"
        for path, text in texts()
        if phrase in text
        for match in whole.finditer(text)
    ]
    assert not found, f"write {REPLACED[phrase]!r}"


def names_and_docstrings() -> Iterator[tuple[str, str]]:
    """Place and text: names of test functions in words, and docstrings of modules, classes and functions."""
    for path in sorted((ROOT / "tests").rglob("*.py")):
        if path.name in EXEMPT:
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef):
                place = f"{path.relative_to(ROOT)}:{getattr(node, 'lineno', 1)}"
                yield place, " ".join((ast.get_docstring(node) or "").split())
                if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                    yield place, node.name.replace("_", " ")


def test_names_and_docstrings_of_tests_are_in_plain_words() -> None:
    read = list(names_and_docstrings())
    assert len(read) > 7_000
    phrases = re.compile(rf"\b({'|'.join(map(re.escape, IN_TESTS))})\b")
    found = [
        f"{place}: {match[0]}: write {IN_TESTS[match[0]]!r}" for place, text in read for match in phrases.finditer(text)
    ]
    assert not found, "\n".join(found)
