"""Read an answer: a small text file, JSON as the sheet's form makes it or plain text as people write it."""

from __future__ import annotations

import errno
import os
from pathlib import Path

from delivery.errors import Unusable
from delivery.intake.approval.answer import Answer
from delivery.intake.approval.answer_file import from_json
from delivery.intake.approval.mail_text import from_text
from delivery.regular import read_regular

MAX_BYTES = 256 * 1024
"""An answer is a few lines; a mail with all that it quotes stays far below."""


def answer_of(path: Path) -> Answer:
    """The answer in *path*.

    Raises
    ------
    Unusable : no such file, too large, not text, or an answer file with faults
    Faulty : lines of a mail that cannot be read, all of them
    """
    wanted = "the answer file of the sheet, or the text of a mail"
    try:
        content = read_regular(path, MAX_BYTES)
    except OSError as fault:
        reason = fault.strerror or os.strerror(fault.errno or errno.EIO)
        raise Unusable(path.name, f"no way to read it ({reason})", wanted, "Check the path.") from fault
    if len(content) > MAX_BYTES:
        raise Unusable(path.name, f"more than {MAX_BYTES:,} bytes", wanted, "Save the client's own lines as text.")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise Unusable(
            path.name, f"no UTF-8 text (byte {fault.start})", wanted, "Save the mail as plain text."
        ) from fault
    if "\0" in text:
        raise Unusable(path.name, "no text", wanted, "Save the mail as plain text.")
    return from_json(text, path.name) if text.lstrip().startswith("{") else from_text(text, path.name)
