"""YAML files as plain data with line numbers, or one clear list of faults in the text."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from delivery.errors import Faulty, Unusable
from delivery.intake.yaml.faults import QUOTE_IT, syntax_fault
from delivery.intake.yaml.nodes import Gathered, composed_root, gather
from delivery.intake.yaml.renamed_keys import Rename, current
from delivery.intake.yaml.schema_faults import faults_of
from delivery.regular import read_regular

__all__ = ["MAX_BYTES", "Document", "document_of", "faults_of", "read_document", "text_of"]

MAX_BYTES = 512 * 1024
"""Size limit: ten times a box set with all credits; the parser needs about 6 s for 1 MB."""
MOST_OPEN = 50
"""Maximum of open brackets. The parser's time grows with their square: 10,000 take 9 s."""


_OPENING = re.compile(r"(?:(?<=[\s\[{,:-])|^)[\[{]")


@dataclass(frozen=True, slots=True)
class Document:
    """A YAML file, read. Pointers are 'tracks/0/isrc', counting from 0; the file itself is ''."""

    data: Any
    """dict, list, str, int, float, bool, None. Dates stay text."""
    lines: Mapping[str, int]
    """Pointer -> line from 1: of the key in a group of keys, of the item in a list."""
    written: Mapping[str, str]
    """Pointer -> source text of every unquoted number, date, true, false and null: '0123' stays '0123'."""
    after_hash: Mapping[str, str]
    """Pointer -> the rest of an unquoted text from ' #' on without a blank after it ('Song #9': '#9'). YAML reads it as
    a comment; usually it was intended as text."""
    renames: tuple[Rename, ...] = ()
    """Outdated names that were read as those of this version."""


def read_document(path: Path) -> Document:
    """Read *path* as YAML 1.2, keeping lines and source texts.

    Raises
    ------
    Faulty : no such file, too large, not UTF-8, empty, not YAML, duplicate keys, tags, endless aliases
    """
    return document_of(text_of(path), path.name)


def document_of(text: str, file_name: str) -> Document:
    """As `read_document`, from the text of a file."""
    renewed = current(text)
    gathered = _gathered(renewed.text, file_name)
    if gathered.faults:
        raise Faulty(tuple(gathered.faults))
    return Document(gathered.data, gathered.lines, gathered.written, gathered.after_hash, renewed.renames)


def text_of(path: Path) -> str:
    """Text of the file without a byte order mark.

    Raises
    ------
    Faulty : it cannot be opened, is larger than 512 KiB, a pipe or a device, empty, or not UTF-8
    """
    raw = _bytes_of(path)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        found = f"a byte that is not UTF-8 (0x{raw[error.start]:02x})"
        raise _faulty(
            f"{path.name}:{line}", found, "UTF-8 text", "Save the file again with the encoding UTF-8."
        ) from error
    if not text.strip():
        raise _faulty(path.name, "an empty file", "YAML text", "Fill it in, or make a new one with 'delivery start'.")
    return text


def _bytes_of(path: Path) -> bytes:
    try:
        content = read_regular(path, MAX_BYTES)
        if len(content) > MAX_BYTES:
            found, wanted = f"more than {MAX_BYTES:,} bytes", f"at most {MAX_BYTES:,}"
            raise _faulty(path.name, found, wanted, "Is this the right text file?")
        return content
    except FileNotFoundError as error:
        raise _faulty(str(path), "no such file", "a YAML file", "Check the name and the folder.") from error
    except IsADirectoryError as error:
        raise _faulty(str(path), "a folder", "a YAML file", "Name the file inside it.") from error
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise _faulty(
            str(path), f"a file that does not open ({reason})", "a readable file", "Check its permissions."
        ) from error


def _gathered(text: str, file_name: str) -> Gathered:
    from ruamel.yaml.error import YAMLError

    _refuse_directives(text, file_name)
    _refuse_deep(text, file_name)
    try:
        root = composed_root(text)
        if root is None:
            raise _faulty(file_name, "nothing but comments", "keys and values", "Fill it in.")
        return gather(root, text, file_name)
    except YAMLError as error:
        raise Faulty((syntax_fault(error, text, file_name),)) from error
    except RecursionError as error:
        raise _faulty(file_name, "hundreds of nested levels", "a handful", "Is this the right file?") from error


def _refuse_directives(text: str, file_name: str) -> None:
    """Refuse '%YAML 1.1', which would change the meaning of 'no', '012' and '1:30'."""
    for number, line in enumerate(text.splitlines(), start=1):
        if line.startswith("%"):
            raise _faulty(f"{file_name}:{number}", shown_line(line), "YAML 1.2 without directives", "Delete this line.")
        if line.strip() and not line.startswith("#"):
            return


def _refuse_deep(text: str, file_name: str) -> None:
    """Count brackets that YAML may read as the start of a list or group; those inside words do not count."""
    for number, line in enumerate(text.splitlines(), start=1):
        if max(line.count("["), line.count("{")) > MOST_OPEN and len(_OPENING.findall(line)) > MOST_OPEN:
            raise _faulty(
                f"{file_name}:{number}",
                f"more than {MOST_OPEN} brackets that open",
                "a few nested levels",
                f"Is this the right file? {QUOTE_IT}",
            )
    opened = sum(len(_OPENING.findall(line)) - line.count("]") - line.count("}") for line in text.splitlines())
    if opened > MOST_OPEN:
        raise _faulty(file_name, f"{opened} brackets that are not closed", "each closed", QUOTE_IT)


def shown_line(line: str) -> str:
    """The beginning of *line*, quoted."""
    return repr(line.strip()[:60])


def _faulty(place: str, found: str, wanted: str, remedy: str) -> Faulty:
    return Faulty((Unusable(place, found, wanted, remedy),))
