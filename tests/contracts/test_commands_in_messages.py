"""Every command and option that a message names exists: the program's own command tree is the judge."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import typer.main

import delivery
from delivery.cli import make_app

PACKAGE = Path(delivery.__file__).parent
FOLDERS = ("intake", "rules", "pipeline", "tasks", "report/view", "report/text", "chain", "pack")
COMMAND = re.compile(r"\bdelivery ([a-z][a-z-]+)(?= (?:[A-Z]{2,}|--[a-z]))")
OPTION = re.compile(r"\bdelivery ([a-z][a-z-]+)(?: [a-z]+)?(?: [A-Z][A-Z:.]*)* (--[a-z][a-z-]+)")


def _literals() -> Iterator[tuple[str, str]]:
    for folder in FOLDERS:
        for path in sorted((PACKAGE / folder).rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Constant) and isinstance(node.value, str):
                    yield f"{path.relative_to(PACKAGE)}:{node.lineno}", node.value


def _options(command: Any) -> set[str]:
    own = {name for parameter in command.params for name in (*parameter.opts, *parameter.secondary_opts)}
    below = getattr(command, "commands", {}).values()
    return own.union(*(_options(one) for one in below))


def test_commands_and_options_named_in_messages_exist() -> None:
    """A remedy that names a command or an option that was renamed sends the reader nowhere."""
    root: Any = typer.main.get_command(make_app())
    texts = list(_literals())
    named = [(place, name) for place, text in texts for name in COMMAND.findall(text)]
    options = [(place, *pair) for place, text in texts for pair in OPTION.findall(text)]
    assert named
    assert options
    assert [one for one in named if one[1] not in root.commands] == []
    assert [one for one in options if one[1] in root.commands and one[2] not in _options(root.commands[one[1]])] == []
