"""What every HTML page shares: the templates, and the policy that its reader's browser enforces."""

from __future__ import annotations

import base64
import hashlib
import pickle
import sys
from collections.abc import Iterable
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemBytecodeCache, FileSystemLoader, StrictUndefined
from jinja2.bccache import Bucket

from delivery.own_folders import cache_folder
from delivery.report.html.plots import bars, beam, jumps, plots
from delivery.report.view.words import typographic

TEMPLATES = Path(__file__).with_name("templates")


def policy(scripts: Iterable[str], *, fonts: bool = False, media: bool = False) -> str:
    """Content Security Policy (W3C, level 3) of a page that needs nothing but itself.

    Parameters
    ----------
    media : the page plays files that are beside it
    """
    digests = (base64.b64encode(hashlib.sha256(script.encode("utf-8")).digest()).decode("ascii") for script in scripts)
    allowed = {
        "default-src": "'none'",
        "img-src": "data:",
        "style-src": "'unsafe-inline'",
        **({"font-src": "data:"} if fonts else {}),
        **({"media-src": "'self' file:"} if media else {}),
        "script-src": " ".join(f"'sha256-{digest}'" for digest in digests) or "'none'",
        "base-uri": "'none'",
        "form-action": "'none'",
    }
    return "; ".join(f"{key} {value}" for key, value in allowed.items())


class CompiledTemplates(FileSystemBytecodeCache):
    """Templates as Jinja compiled them, kept in the user's own folder: compiling takes longer than filling them in.

    Jinja compiles again what is missing, damaged, or of another template, Python or Jinja.
    """

    def __init__(self) -> None:
        super().__init__(str(cache_folder() / "templates"))

    def load_bytecode(self, bucket: Bucket) -> None:
        """Load a kept template, if there is one."""
        try:
            super().load_bytecode(bucket)
        except (OSError, EOFError, ValueError, pickle.UnpicklingError):
            bucket.reset()

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep a template, where there is a folder to keep it in."""
        with suppress(OSError):
            Path(self.directory).mkdir(mode=0o700, parents=True, exist_ok=True)
            super().dump_bytecode(bucket)


@cache
def environment() -> Environment:
    """The environment of all pages; texts are escaped."""
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES, encoding="utf-8"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        newline_sequence="\n",
        keep_trailing_newline=True,
        bytecode_cache=None if sys.dont_write_bytecode else CompiledTemplates(),
    )
    filters: dict[str, Any] = {"fig": typographic, "plots": plots, "bars": bars, "jumps": jumps, "beam": beam}
    environment.filters.update(filters)
    return environment


@cache
def template_text(name: str) -> str:
    """Text of a template, script or style sheet."""
    return (TEMPLATES / name).read_text(encoding="utf-8").replace("\r\n", "\n")
