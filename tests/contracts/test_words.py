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
