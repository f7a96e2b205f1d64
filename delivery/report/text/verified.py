"""The result of `verify` on the terminal: a package, its seal, or a folder with a checksum list."""

from __future__ import annotations

import re
from collections.abc import Sequence

from rich.console import RenderableType
from rich.text import Text

from delivery.report.text.tables import table
from delivery.report.view import words


def verify_table(package: str, files: int, differences: Sequence[tuple[str, str, str, str]]) -> list[RenderableType]:
    """Result of verifying a package.

    Parameters
    ----------
    files : how many sound files were measured again
    differences : path, what, expected, found
    """
    again = f"{files} sound file{'s' if files != 1 else ''} measured again" if files else "no sound was measured"
    if not differences and not files:
        return [Text(f"{package}: every checksum agrees; the package has no sound file, so no figure was measured.")]
    if not differences:
        return [Text(f"{package}: whole. Every checksum, every audio hash and every figure agrees; {again}.")]
    rows = table("file", "differs by", "expected", "found")
    for row in differences:
        rows.add_row(*(Text(_short_sums(words.plain(text))) for text in row))
    return [Text(f"{package}: differs from what was packed", style="bold"), rows, Text(f"{again}.")]


def seal_lines(fingerprint: str, sealed_by: str, *, expected: bool) -> list[RenderableType]:
    """The signer of a package, and what an unsealed one cannot prove.

    Parameters
    ----------
    sealed_by : fingerprint of the key; empty where no seal holds
    expected : whether that key is the expected one
    """
    if not fingerprint:
        return []
    lines = [f"Fingerprint of the package: {fingerprint}"]
    if sealed_by and expected:
        lines.append(f"Sealed by {sealed_by}, the expected signer: it is what was sealed.")
    elif sealed_by:
        lines.append(f"Sealed by {sealed_by}. Whose key that is, only --signer with the sender's public key can prove.")
    else:
        lines.append(
            "No seal: this finds damage, not forgery. Compare the fingerprint with the sender's by telephone, or ask "
            "for a sealed package (delivery build --sign KEY)."
        )
    return [Text(line) for line in lines]


def lists_table(
    folder: str, files: int, lists: Sequence[str], differences: Sequence[tuple[str, str, str, str]]
) -> list[RenderableType]:
    """A folder of other people's files, checked against the checksum lists in it.

    Parameters
    ----------
    files : how many files the lists name
    differences : path, what, expected, found
    """
    against = f"{words.counted(files, 'file')} named by {words.listed(map(words.plain, lists))}"
    if not differences:
        return [Text(f"{folder}: agrees with its checksum list; {against}. What the files mean was not looked at.")]
    rows = table("file", "differs by", "expected", "found")
    for row in differences:
        rows.add_row(*(Text(_short_sums(words.plain(text))) for text in row))
    return [Text(f"{folder}: differs from its checksum list", style="bold"), rows, Text(f"{against}.")]


def _short_sums(text: str) -> str:
    """Enough of a checksum to tell two apart; the whole of it is in the JSON document."""
    return re.sub(r"\b([0-9a-f]{12})[0-9a-f]{20,}\b", r"\1...", text)
