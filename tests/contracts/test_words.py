"""Plain words: phrases that were replaced by the field's own terms do not come back into code, specs or guides."""

from __future__ import annotations

import re
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
}
"""Phrase -> what to write instead."""
WHERE = ("delivery/**/*.py", "delivery/**/*.md", "delivery/**/*.j2", "specs/*.yaml", "README.md", "DEVELOPERS.md")
EXEMPT = {"news.md", "renamed.py"}
"""They name what was replaced."""


@pytest.mark.parametrize("phrase", sorted(REPLACED))
def test_a_replaced_phrase_does_not_come_back(phrase: str) -> None:
    files = [path for pattern in WHERE for path in ROOT.glob(pattern) if path.name not in EXEMPT]
    assert len(files) > 300
    found = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in files
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if re.search(rf"\b{re.escape(phrase)}\b", line)
    ]
    assert not found, f"write {REPLACED[phrase]!r}"
