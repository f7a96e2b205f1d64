"""What every HTML page shares: the templates, and the policy that its reader's browser enforces."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

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
    )
    filters: dict[str, Any] = {"fig": typographic, "plots": plots, "bars": bars, "jumps": jumps, "beam": beam}
    environment.filters.update(filters)
    return environment


@cache
def template_text(name: str) -> str:
    """Text of a template, script or style sheet."""
    return (TEMPLATES / name).read_text(encoding="utf-8").replace("\r\n", "\n")
