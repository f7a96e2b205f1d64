"""Compiled loops are kept on disk under names that change when anything that was compiled in changes."""

from __future__ import annotations

from typing import Any

import pytest

from delivery.dsp.compiled import compiled

SOURCE = """
def inner(x):
    return {inner}

def outer(x):
    return inner(x) + CONSTANT
"""


@pytest.fixture(autouse=True)
def _nothing_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    """These loops have no source file to be kept beside."""
    monkeypatch.setattr("delivery.dsp.compiled._dispatcher", lambda loop, *_: loop)


def keyed(*, inner: str = "x * 2", constant: float = 1.0, fast: frozenset[str] = frozenset()) -> tuple[str, str]:
    """Names of the inner and the outer loop, after the outer one was called."""
    names: dict[str, Any] = {"CONSTANT": constant, "__name__": __name__}
    exec(SOURCE.format(inner=inner), names)
    for name in ("inner", "outer"):
        names[name] = compiled(fast=set(fast))(names[name])
    assert names["outer"](3.0) == eval(inner, {"x": 3.0}) + constant
    return names["inner"].key, names["outer"].key


def test_the_same_source_has_the_same_names() -> None:
    assert keyed() == keyed()


@pytest.mark.parametrize("change", [{"constant": 2.0}, {"inner": "x * 3"}, {"fast": frozenset({"contract"})}])
def test_any_change_reaches_the_outermost_loop(change: dict[str, Any]) -> None:
    """numba itself looks at one file's time and size, and would go on with the old constant of another."""
    assert keyed(**change)[1] != keyed()[1]


def test_a_change_outside_leaves_the_inner_loop_alone() -> None:
    assert keyed(constant=2.0)[0] == keyed()[0]


def test_another_version_of_the_compiler_has_names_of_its_own(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two environments may share one source folder; LLVM cannot read what a newer LLVM wrote."""
    before = keyed()
    monkeypatch.setattr("numba.__version__", "0.0.1")
    assert keyed()[0] != before[0]
    assert keyed()[1] != before[1]
