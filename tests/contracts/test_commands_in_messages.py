"""Every command and option that a message, README or the guide names exists: the program's own commands decide."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import typer.main

import delivery
from delivery.cli import make_app

PACKAGE = Path(delivery.__file__).parent
ROOT = PACKAGE.parent
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((PACKAGE / "guide").glob("*.md"))]
LINE = re.compile(
    r"(['`$] ?|^ {4}|: )?\bdelivery ([a-z][a-z-]*)\b([^\n'`;#·)]*(?:'[^'\n]*'[^\n'`;#·)]*)*)", re.MULTILINE
)
"""What marks it as a command, the command, and the rest of the line. Without a mark an unknown word is prose."""
OPTION = re.compile(r"(?<![\w-])(--[a-z][a-z-]+|-[a-z]\b)")
NOTHING_LEFT = {"news.md"}
"""The page that names former commands too."""


@cache
def root() -> Any:
    return typer.main.get_command(make_app())


def options(command: Any) -> set[str]:
    own = {name for parameter in command.params for name in (*parameter.opts, *parameter.secondary_opts)}
    return own | {"--help"}


def faults(text: str) -> Iterator[str]:
    """Commands and options in *text* that do not exist."""
    for mark, name, rest in LINE.findall(text):
        command = root().commands.get(name)
        if command is None:
            if mark.strip(" :"):
                yield f"delivery {name}"
            continue
        below = getattr(command, "commands", {})
        first = (rest.split() or [""])[0]
        if below and first.islower() and first.isalpha() and (mark or OPTION.search(rest)):
            if first not in below:
                yield f"delivery {name} {first}"
                continue
            command = below[first]
        known = options(command)
        yield from (f"delivery {name} {option}" for option in OPTION.findall(rest) if option not in known)


def texts(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line and text of every string; of an f-string, with X for each value."""
    parts = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values}
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            yield (
                node.lineno,
                "".join(str(part.value) if isinstance(part, ast.Constant) else "X" for part in node.values),
            )
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in parts:
            yield node.lineno, node.value


def test_commands_and_options_named_in_messages_exist() -> None:
    """A remedy with a command or an option that was renamed would mislead the reader."""
    found = [
        (f"{path.relative_to(PACKAGE)}:{line}", fault)
        for path in sorted(PACKAGE.rglob("*.py"))
        for line, text in texts(ast.parse(path.read_text(encoding="utf-8")))
        if "delivery " in text
        for fault in faults(text)
    ]
    assert found == []


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_commands_and_options_in_the_guide_exist(page: Path) -> None:
    assert page.name in NOTHING_LEFT or list(faults(page.read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("Write one: delivery start X", []),
        ("See 'delivery begin'.", ["delivery begin"]),
        ("'delivery build X --replace --nothing'", ["delivery build --nothing"]),
        ("delivery build X --nothing", ["delivery build --nothing"]),
        ("    $ delivery reference mend indie", ["delivery reference mend"]),
        ("    $ delivery spec new mine --based-on sync --old", ["delivery spec --old"]),
        ("run `delivery history --rebuild X` and `delivery tick`", ["delivery tick"]),
        ("the delivery sheet is in X", []),
        ("no delivery was recorded", []),
    ],
)
def test_a_command_that_does_not_exist_is_found(text: str, wrong: list[str]) -> None:
    assert list(faults(text)) == wrong
