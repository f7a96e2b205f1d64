"""Numbers and limits in words. A number that does not meet its limit is never rounded until it appears to."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from math import ceil
from typing import Any

Wording = Callable[[Any], str]
MOST_DIGITS = 16
"""Maximum number of decimals read; beyond it, the shortest exact form is used."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit and the decimals worth printing; called with a number it words it: ``DBTP(-1)`` -> '-1.00 dBTP'."""

    name: str
    digits: int
    signed: bool = False

    def __call__(self, value: float) -> str:
        return self._text(value, self.digits)

    def exact(self, limit: float) -> str:
        """All the decimals a limit was written with, and at least ``digits``."""
        return self._shortest(limit, lambda shown: abs(shown - limit) < 1e-12)

    def beside(self, value: float, *limits: float) -> str:
        """As many decimals as needed to show the side of each limit: -0.996 beside -1.00."""
        return self._shortest(value, lambda shown: all(_side(shown, limit) == _side(value, limit) for limit in limits))

    def within(self, value: float, *limits: float) -> str:
        """The same for a value that is met: it may be printed equal to a limit, for limits are inclusive."""
        return self._shortest(
            value, lambda shown: all(_side(shown, limit) in (0, _side(value, limit)) for limit in limits)
        )

    def _shortest(self, value: float, tells: Callable[[float], bool]) -> str:
        for digits in range(self.digits, MOST_DIGITS):
            text = self._text(value, digits)
            if tells(float(text.removesuffix(self.name).replace(",", ""))):
                return text
        return f"{value!r} {self.name}".rstrip()

    def _text(self, value: float, digits: int) -> str:
        number = f"{value:{'+' if self.signed else ''}z,.{digits}f}"
        return f"{number} {self.name}" if self.name else number


@dataclass(frozen=True, slots=True)
class Magnitude:
    """Words numbers without their sign, for limits on a magnitude."""

    unit: Unit

    def __call__(self, value: float) -> str:
        return self.unit(abs(value))

    def within(self, value: float, *limits: float) -> str:
        """Text of the magnitude of *value*, exact enough for *limits*."""
        return self.unit.within(abs(value), *limits)


@dataclass(frozen=True, slots=True)
class Keyed:
    """Words one number of a group of them."""

    key: str
    unit: Unit

    def __call__(self, group: Mapping[str, float]) -> str:
        return self.unit(group[self.key])

    def within(self, group: Mapping[str, float], *limits: float) -> str:
        """Text of the member of *group* under the key, exact enough for *limits*."""
        return self.unit.within(group[self.key], *limits)


def edges_of(limit: Any) -> Iterator[float]:
    """A limit's own edges: the number, or those of a window; none for a list or a flag."""
    if isinstance(limit, Mapping):
        yield from (limit[key] for key in ("at_least", "at_most") if key in limit)
    elif isinstance(limit, (int, float)) and not isinstance(limit, bool):
        yield limit


def _side(value: float, limit: float) -> int:
    return (value > limit) - (value < limit)


DB = Unit("dB", 2)
DBFS = Unit("dBFS", 2, signed=True)
DBTP = Unit("dBTP", 2, signed=True)
LUFS = Unit("LUFS", 2, signed=True)
LU = Unit("LU", 1)
SECONDS = Unit("s", 2)
PERCENT = Unit("%", 3)
BITS = Unit("bit", 0)
BYTES = Unit("bytes", 0)
PIXELS = Unit("px", 0)
PLAIN = Unit("", 2, signed=True)


def enough(step: float, unit: Unit = DB) -> str:
    """A step large enough as a remedy, rounded up: '0.43 dB' for 0.421."""
    scale = 10**unit.digits
    return unit(max(1, ceil(round(step * scale, 6))) / scale)  # the ninth decimal is arithmetic noise


def counted(number: int, thing: str) -> str:
    """'1 run', '2 runs', '1,500 runs'."""
    return f"{number:,} {thing}" if number == 1 else f"{number:,} {thing}s"


def kilohertz(rate_hz: int) -> str:
    """Exact, in kHz: 44100 -> '44.1 kHz', 44099 -> '44.099 kHz'."""
    return f"{rate_hz / 1000:.12g} kHz"


def at_most(unit: Unit) -> Wording:
    """Wording of an upper limit in *unit*."""
    return lambda limit: f"at most {unit.exact(limit)}"


def at_least(unit: Unit) -> Wording:
    """Wording of a lower limit in *unit*."""
    return lambda limit: f"at least {unit.exact(limit)}"


def within(unit: Unit) -> Wording:
    """Windows: '-24.00 to -22.00 LUFS', with the target if there is one."""
    bare = replace(unit, name="")

    def words(window: Mapping[str, float]) -> str:
        low, high, target = (window.get(key) for key in ("at_least", "at_most", "target"))
        if low is None or high is None:
            span = at_least(unit)(low) if low is not None else at_most(unit)(high)
        else:
            span = f"exactly {unit.exact(low)}" if low == high else f"{bare.exact(low)} to {unit.exact(high)}"
        return span if target is None or target == low == high else f"{span}, best {unit.exact(target)}"

    return words


def one_of(each: Wording = str) -> Wording:
    """Wording of a choice."""
    return lambda limit: listed((each(item) for item in limit), "or")


def all_of(each: Wording = str) -> Wording:
    """Wording of a list."""
    return lambda limit: listed((each(item) for item in limit), "and")


def always(text: str) -> Wording:
    """For flags: the limit is only ever ``true``."""
    return lambda _limit: text


def listed(items: Iterable[str], last: str = "and") -> str:
    """'a', 'a and b', 'a, b and c'."""
    *first, final = tuple(items) or ("none",)
    return f"{', '.join(first)} {last} {final}" if first else final


def runs(positions: Iterable[int]) -> list[str]:
    """Ascending positions; three or more in a row as '3 to 6'."""
    drawn: list[list[int]] = []
    for position in positions:
        if drawn and position == drawn[-1][-1] + 1:
            drawn[-1].append(position)
        else:
            drawn.append([position])
    return [text for run in drawn for text in ([f"{run[0]} to {run[-1]}"] if len(run) > 2 else map(str, run))]


def silent(*_facts: Any) -> str:
    """For rules whose facts are not worth printing when met."""
    return ""
