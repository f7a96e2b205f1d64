"""Translate the errors of a YAML parser for people who type label copy."""

from __future__ import annotations

from typing import Any

from delivery.errors import Unusable

QUOTE_IT = "Put the whole text in quotes."
INDENT = "Indent with blanks only, the same number for all keys of one group."

MEANINGS: tuple[tuple[str, str, str, str], ...] = (
    # in the parser's words                 found, wanted, remedy
    ("character '\\t'", "a tab", "blanks", INDENT),
    (
        "mapping values are not allowed",
        "a second ': ' in one value, or a line indented too far",
        "one 'key: value' a line",
        "Put a text that contains ': ' in quotes; otherwise compare the indentation with the line above.",
    ),
    (
        "unexpected end of stream",
        "a quotation mark that is never closed",
        "a closing quotation mark",
        "Close it; a quotation mark inside the text is written \\\" in double quotes, '' in single ones.",
    ),
    (
        "expected ',' or ']'",
        "a list '[' that is not closed",
        "',' between its items and ']' at its end",
        "Close it; a text that begins with '[' goes in quotes.",
    ),
    (
        "expected ',' or '}'",
        "a group '{' that is not closed",
        "',' between its keys and '}' at its end",
        "Close it; a text that begins with '{' goes in quotes.",
    ),
    (
        "expected <block end>",
        "text after a complete value, or indentation that matches no line above",
        "one 'key: value' a line",
        f"{QUOTE_IT} Or: {INDENT}",
    ),
    ("undefined alias", "a text that begins with '*'", "plain or quoted text", QUOTE_IT),
    ("expected alphabetic or numeric", "a text that begins with '&' or '*'", "plain or quoted text", QUOTE_IT),
    (
        "cannot start any token",
        "a text that begins with a character reserved by YAML",
        "plain or quoted text",
        QUOTE_IT,
    ),
    (
        "could not find expected ':'",
        "a line without ': '",
        "one 'key: value' a line",
        "Write a colon and a blank after the key; a text over several lines goes in quotes.",
    ),
    ("unknown escape", "a backslash inside double quotes", "plain text", "Write \\\\, or use single quotes."),
    (
        "expected escape sequence",
        "a broken escape inside double quotes",
        "plain text",
        "Write \\\\, or use single quotes.",
    ),
    ("another document", "a second document ('---')", "one document a file", "Delete everything from this line on."),
    (
        "sequence entries are not allowed",
        "a '- ' in the middle of a line",
        "each list item on a line of its own",
        QUOTE_IT,
    ),
    ("duplicate anchor", "an anchor '&' used twice", "plain or quoted text", QUOTE_IT),
)


def syntax_fault(error: Any, text: str, file_name: str) -> Unusable:
    """One fault with the line, in plain words; *error* is any ruamel.yaml YAMLError."""
    if hasattr(error, "position") and hasattr(error, "character"):
        return _bad_character(error, text, file_name)
    problem = str(getattr(error, "problem", None) or error)
    place = f"{file_name}:{_line(error, problem)}"
    for words, found, wanted, remedy in MEANINGS:
        if words in problem:
            return Unusable(place, found, wanted, remedy)
    return Unusable(place, f"text YAML cannot read ({problem})", "one 'key: value' a line", f"{QUOTE_IT} Or: {INDENT}")


def _line(error: Any, problem: str) -> int:
    """The line of the fault; for something never closed, the line that opens it."""
    opened = "end of stream" in problem or problem.startswith("expected ','")
    marks = (error.context_mark, error.problem_mark) if opened else (error.problem_mark, error.context_mark)
    return next((mark.line + 1 for mark in marks if mark is not None), 1)


def _bad_character(error: Any, text: str, file_name: str) -> Unusable:
    code = error.character if isinstance(error.character, int) else ord(error.character)
    line = text.count("\n", 0, error.position) + 1
    found = f"the control character U+{code:04X}"
    return Unusable(f"{file_name}:{line}", found, "printable text", "Delete it; pasting often adds it.")
