"""The manual page, made of the help texts: ``python -m delivery.cli._man`` writes delivery/guide/delivery.1 again."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

PAGE = Path(__file__).parents[1] / "guide" / "delivery.1"


def manual() -> str:
    """The page in the man macros (groff_man(7))."""
    from delivery import __version__
    from delivery.cli import EPILOG, make_command
    from delivery.guide import ABOUT

    command = make_command()
    day, _, codes = EPILOG.partition("\n\n")
    lines = [
        f'.TH DELIVERY 1 "" "delivery {__version__}" "User Commands"',
        ".SH NAME",
        "delivery \\- check masters against delivery specs and pack releases",
        ".SH SYNOPSIS",
        ".B delivery",
        "\\fICOMMAND\\fR [\\fIOPTIONS\\fR] ...",
        ".SH DESCRIPTION",
        _text(command.help),
        *_as_printed(day),
        ".PP",
        _text(codes),
        ".SH COMMANDS",
        *_commands(command, ()),
        ".SH GUIDE",
        "Pages that \\fBdelivery guide\\fR \\fITOPIC\\fR prints:",
        *(line for topic, about in ABOUT.items() for line in (".TP", f".B {_text(topic)}", _text(about))),
    ]
    return "\n".join(lines) + "\n"


def _commands(group: Any, above: tuple[str, ...]) -> Iterator[str]:
    for name, command in group.commands.items():
        path = (*above, name)
        if getattr(command, "commands", None):
            yield from _commands(command, path)
            continue
        arguments = [each for each in command.params if each.param_type_name == "argument"]
        yield f".SS {_text(' '.join(path))}"
        yield f"\\fBdelivery {_text(' '.join(path))}\\fR " + " ".join(
            f"\\fI{_text(each.metavar)}\\fR" for each in arguments
        )
        yield ".PP"
        yield _text(command.help or "")
        for option in (each for each in command.params if each.param_type_name == "option"):
            value = "" if option.is_flag else f" \\fI{_text(option.metavar or 'TEXT')}\\fR"
            yield ".TP"
            yield f"\\fB{_text(', '.join(option.opts))}\\fR{value}"
            yield _text(option.help or "")
        if command.epilog:
            yield from _as_printed(command.epilog)


def _as_printed(text: str) -> Iterator[str]:
    """Lines as they are, such as commands to copy: without the mark that keeps the help from wrapping them."""
    yield from (".PP", ".nf", *(_line(line) for line in text.splitlines() if line != "\b"), ".fi")


def _line(text: str) -> str:
    indent = len(text) - len(text.lstrip())
    return " " * indent + _text(text)


def _text(text: str) -> str:
    """Plain text for roff: paragraphs joined, signs that it would read as its own escaped."""
    paragraphs = [" ".join(part.split()) for part in re.split(r"\n\s*\n", text.strip())]
    escaped = [part.replace("\\", "\\e").replace("-", "\\-") for part in paragraphs]
    return "\n.PP\n".join(f"\\&{part}" if part.startswith((".", "'")) else part for part in escaped)


if __name__ == "__main__":
    PAGE.write_text(manual(), encoding="utf-8")
