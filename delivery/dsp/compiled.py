"""Loops compiled by numba, kept on disk where the machine allows it, and never in the way where it does not.

A loop is compiled when it is first called, and numba is only imported then: an album whose figures are all known from
before is judged without it.
"""

from __future__ import annotations

import hashlib
import sys
import threading
from collections.abc import Callable, Mapping
from types import FunctionType
from typing import Any

Loop = Callable[..., Any]

FUSED = {"contract"}
"""Multiply and add in one step. Order of sums is kept, so a result does not hang on how the sound was cut."""
ANY_ORDER = {"contract", "reassoc", "nsz"}
"""Sums of fixed length may be reordered (it is what makes them fast); the length never depends on the cut."""

_lock = threading.RLock()


def compiled(*, fast: set[str] = FUSED, inline: bool = False) -> Callable[[Loop], Loop]:
    """Compile on first use; releases the interpreter lock."""

    def made(loop: Loop) -> Loop:
        assert isinstance(loop, FunctionType)
        return _Waiting(loop, fast, inline)

    return made


class _Waiting:
    """A loop that becomes numba's dispatcher when it is first wanted."""

    def __init__(self, loop: FunctionType, fast: set[str], inline: bool) -> None:
        self.loop, self.fast, self.inline = loop, fast, inline
        self.__doc__ = loop.__doc__
        self.dispatcher: Loop | None = None
        self.key = ""

    def __call__(self, *arguments: Any) -> Any:
        return (self.dispatcher or self.made())(*arguments)

    def made(self) -> Loop:
        """The dispatcher; one for all threads."""
        with _lock:
            if self.dispatcher is None:
                named = {name: self.loop.__globals__.get(name) for name in self.loop.__code__.co_names}
                loops = {name: value for name, value in named.items() if isinstance(value, _Waiting)}
                seen = {name: value.made() for name, value in loops.items()}
                self.key = _key(self.loop, {**named, **{name: value.key for name, value in loops.items()}}, self.fast)
                self.dispatcher = _dispatcher(_again(self.loop, seen, self.key), self.fast, self.inline)
            return self.dispatcher


def _key(loop: FunctionType, named: Mapping[str, object], fast: set[str]) -> str:
    """A name for what is compiled: its own code, the constants it sees, the loops it calls, and the compiler.

    numba keeps what it compiled by the time and size of the one source file. Installed files of two versions may have
    the same time and size, and a constant may stand in another file. Two environments with other compilers that share
    one source folder would read each other's machine code.
    """
    import numba

    constants = sorted(
        (name, repr(value)) for name, value in named.items() if isinstance(value, int | float | str | tuple)
    )
    compiler = (numba.__version__, sys.version_info[:2])
    text = repr((loop.__code__.co_code, loop.__code__.co_consts, constants, sorted(fast), compiler))
    return hashlib.sha256(text.encode()).hexdigest()[:12]


def _again(loop: FunctionType, seen: Mapping[str, Loop], key: str) -> FunctionType:
    """The same function, seeing dispatchers where its module names loops that still wait: numba cannot call those."""
    again = FunctionType(loop.__code__, {**loop.__globals__, **seen}, loop.__name__, loop.__defaults__)
    again.__qualname__, again.__module__ = f"{loop.__qualname__}-{key}", loop.__module__
    return again


def _dispatcher(loop: FunctionType, fast: set[str], inline: bool) -> Loop:
    import numba

    options: dict[str, Any] = {"nogil": True, "fastmath": fast, "error_model": "numpy"}
    if inline:
        options["inline"] = "always"
    try:
        made: Loop = numba.njit(cache=True, **options)(loop)
    except RuntimeError:  # no folder to keep it in: package and home are both read-only
        made = numba.njit(**options)(loop)
    return made
