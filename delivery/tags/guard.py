"""Parsing of untrusted bytes: the many exceptions of a library become one clear message."""

from __future__ import annotations

import importlib
import struct
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from delivery.errors import Unfinished, Unusable

MOST_BYTES = 64 * 2**20
"""Larger tags are not read into memory; a cover picture is the largest sensible content."""


def mutagen(module: str) -> Any:
    """Import a module of the tag library when needed; it has no types of its own."""
    return importlib.import_module(f"mutagen.{module}")


def broken(path: Path, found: str, wanted: str = "tags that can be read") -> Unusable:
    """The error about unreadable tags of *path*."""
    return Unusable(path.name, found, wanted, "Write the file again with the program that made it.")


@contextmanager
def clear(path: Path, doing: str) -> Iterator[None]:
    """Turn exceptions of a tag library on malformed bytes into Unusable; errors of the disk stay OSError.

    The list is long because mutagen does not wrap the errors of its own parsing (seen while fuzzing: struct.error,
    IndexError, KeyError, TypeError, AssertionError and their like, next to its MutagenError).
    """
    leaks = (
        mutagen("_util").MutagenError,
        struct.error,
        zlib.error,
        EOFError,
        ValueError,
        LookupError,
        ArithmeticError,
    )
    try:
        yield
    except (*leaks, TypeError, AttributeError, AssertionError, RecursionError) as error:
        cause = error.args[0] if error.args else error
        if isinstance(cause, OSError) and cause.errno:  # it wraps these; those without a number mean a file cut short
            raise cause from error
        cause_text = str(cause) or type(error).__name__
        raise broken(path, f"a tag that stops {doing} ({cause_text})") from error


@contextmanager
def disk(path: Path) -> Iterator[None]:
    """Turn system errors (disk full, no permission, file gone) into Unfinished."""
    try:
        yield
    except OSError as error:
        raise _unfinished(path, error) from error


def _unfinished(path: Path, error: OSError) -> Unfinished:
    from delivery.disk import no_space

    if full := no_space(error, path):
        return full
    return Unfinished(
        path.name, f"{error.strerror or error}", "a file that can be opened", "Check disk and permissions."
    )
