"""Loops compiled by numba, kept on disk where the machine allows it, and never in the way where it does not."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numba

Loop = Callable[..., Any]

FUSED = {"contract"}
"""Multiply and add in one step. Order of sums is kept, so a result does not hang on how the sound was cut."""
ANY_ORDER = {"contract", "reassoc", "nsz"}
"""Sums of fixed length may be reordered (it is what makes them fast); the length never hangs on the cut."""


def compiled(*, fast: set[str] = FUSED, inline: bool = False) -> Callable[[Loop], Loop]:
    """Compile on first use; releases the interpreter lock."""

    def made(loop: Loop) -> Loop:
        options: dict[str, Any] = {"nogil": True, "fastmath": fast, "error_model": "numpy"}
        if inline:
            options["inline"] = "always"
        try:
            return _loop(numba.njit(cache=True, **options)(loop))
        except RuntimeError:  # no folder to keep it in: package and home are both read-only
            return _loop(numba.njit(**options)(loop))

    return made


def _loop(dispatcher: Any) -> Loop:
    typed: Loop = dispatcher
    return typed
