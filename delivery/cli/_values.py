"""What is typed becomes values: texts, paths and numbers without the library that typer would load for them.

Typer checks values by pydantic, whose loading takes longer than a short file takes to measure. It builds its check of a
parameter when the first value comes and keeps it in ``_runtime_param``; these are put there first. Where a later
typer does not look there, they are not used and typer's own check applies.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, get_args

Number = TypeVar("Number", int, float)


def value_kind(parameter: Any) -> Any:
    """The Python type of one value of *parameter*: of an item where it takes several."""
    annotation = getattr(getattr(parameter, "type_descriptor", None), "annotation", None)
    return next(iter(get_args(annotation)), annotation)


def convert_plainly(parameter: Any) -> None:
    """Let *parameter* take texts, paths and numbers as they are; other kinds stay with the library."""
    convert = {str: _same, bool: _flag, Path: _path, int: _whole_number, float: _number}.get(value_kind(parameter))
    if convert is not None:
        parameter._runtime_param = _Plain(convert)


class _Plain:
    """Typer's interface for the conversion of one parameter's value."""

    def __init__(self, convert: Callable[[Any, Any], Any]) -> None:
        self._convert = convert

    def coerce(self, value: Any, param: Any, ctx: Any) -> Any:
        several = param.multiple or param.nargs == -1
        if value is None:
            return () if several else None
        try:
            return [self._convert(one, param) for one in value] if several else self._convert(value, param)
        except ValueError:  # refused with the library's own message
            param._runtime_param = None
            return param.get_runtime_param().coerce(value, param=param, ctx=ctx)


def _same(value: str, param: Any) -> str:  # noqa: ARG001 - the interface of conversions
    return value


def _flag(value: bool | str, param: Any) -> bool:  # noqa: ARG001 - the interface of conversions
    """Raises ValueError for an unknown text; the library decides which ones mean yes."""
    if not isinstance(value, bool):
        raise ValueError(value)
    return value


def _path(value: str | Path, param: Any) -> Path:  # noqa: ARG001 - the interface of conversions
    return Path(value)


def _whole_number(value: int | str, param: Any) -> int:
    """Raises ValueError for what is no number, and for one outside the limits of the option."""
    return _within_limits(int(value), param)


def _number(value: float | str, param: Any) -> float:
    """Raises ValueError for what is no number, and for one outside the limits of the option."""
    return _within_limits(float(value), param)


def _within_limits(number: Number, param: Any) -> Number:
    limits = param.type_descriptor.parameter_info
    if (limits.min is not None and number < limits.min) or (limits.max is not None and number > limits.max):
        raise ValueError(number)
    return number
