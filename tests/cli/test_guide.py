"""The guide: its pages are installed, listed and readable, and README stays short."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from delivery.__main__ import run
from delivery.guide import ABOUT, page
from delivery.intake.yaml.renamed_keys import RULES

ROOT = Path(__file__).resolve().parents[2]
README_BYTES = 7_168


def test_topics_and_pages_are_the_same() -> None:
    assert {path.stem for path in (ROOT / "delivery" / "guide").glob("*.md")} == set(ABOUT)


def test_readme_is_short_and_names_every_page() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert len(text.encode()) <= README_BYTES
    linked = set(re.findall(r"\]\(((?:delivery|demo|DEVELOPERS)[^)]*)\)", text))
    assert all((ROOT / path).is_file() for path in linked)
    assert {f"delivery/guide/{topic}.md" for topic in ABOUT} <= linked


@pytest.mark.parametrize("topic", sorted(ABOUT))
def test_a_page_shows_itself(topic: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["guide", topic]) == 0
    shown = capsys.readouterr().out
    assert page(topic).splitlines()[0].removeprefix("# ") in shown
    assert run(["guide", topic, "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {"topic": topic, "markdown": page(topic)}


def test_topics_are_listed_and_a_slip_is_answered(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["guide"]) == 0
    assert [line.split()[0] for line in capsys.readouterr().out.splitlines()] == list(ABOUT)
    assert run(["guide", "spec"]) == 2
    assert "Did you mean specs?" in capsys.readouterr().err


def test_no_page_but_the_news_uses_an_old_name() -> None:
    old = [rule for rule in RULES if "-" in rule]
    for topic in set(ABOUT) - {"news"}:
        assert not [rule for rule in old if re.search(rf"[`\[]{rule}[`\]]", page(topic))], topic
        assert not re.search(r"accept-title|allow-shortfall|delivery tick|\basks:|falls short", page(topic)), topic


def commands() -> list[list[str]]:
    from delivery.cli import make_command

    command = make_command()
    inner = [[name, below] for name, one in command.commands.items() for below in getattr(one, "commands", {})]
    return [[], *([name] for name in command.commands), *inner]


@pytest.mark.parametrize("words", commands(), ids=" ".join)
@pytest.mark.parametrize("columns", [80, 100])
def test_help_is_plain_and_fits(
    words: list[str], columns: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """No types of Python, no line wider than the terminal, and the first sentence of each command whole in the list."""
    monkeypatch.setenv("COLUMNS", str(columns))
    assert run([*words, "--help"]) == 0
    shown = capsys.readouterr().out
    assert max(map(len, shown.splitlines())) <= columns
    assert not re.search(r"<(str|int|path|bool|float|list)|list\[|Path\b", shown)
    assert not re.search(r"\w\.\.\.$", shown.partition("Commands:")[2], re.MULTILINE)
