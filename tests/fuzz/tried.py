"""One case: a mutated file given to its reader, watched for time, memory, exceptions and changes to the file."""

from __future__ import annotations

import random
import signal
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import FrameType

from delivery.audio import isolated
from delivery.errors import DeliveryError
from tests.fuzz.kinds import Kind

MOST_S, PATIENCE_S = 5.0, 120.0
"""For a first attempt, and for a second: other work on the machine slows one down, a hang never ends."""
HUNG = "it hung"
MOST_GROWTH_BYTES = 300 * 2**20


CASES_A_CHILD = 200
REPORT_EVERY = 10_000


@contextmanager
def kept_children() -> Iterator[None]:
    """Keep a decoder child after damaged files too, until it dies or has served ``CASES_A_CHILD`` of them.

    A job replaces it after each; starting one takes longer than a hundred cases.
    """
    really_end, served = isolated._Child.end, Counter[int]()

    def end(child: isolated._Child) -> None:
        served[id(child)] += 1
        alive = child._process.poll() is None and not child._unanswered
        if alive and served[id(child)] < CASES_A_CHILD and not isolated._idle:
            isolated._idle.append(child)
        else:
            del served[id(child)]
            really_end(child)

    isolated._Child.end = end  # type: ignore[method-assign]
    try:
        yield
    finally:
        isolated._Child.end = really_end  # type: ignore[method-assign]


@dataclass(frozen=True)
class Harm:
    """What one file did that no file may do."""

    kind: str
    number: int
    how: str
    content: bytes


class TooLong(BaseException):
    """Not an Exception, so that no reader takes it for a damaged file."""


def _too_long(_signal: int, _frame: FrameType | None) -> None:
    raise TooLong


def resident_bytes() -> int:
    """Most memory this process has held so far. Linux; 0 elsewhere."""
    try:
        status = Path("/proc/self/status").read_text(encoding="ascii")
    except OSError:
        return 0
    return next(int(line.split()[1]) * 1024 for line in status.splitlines() if line.startswith("VmHWM"))


def attempt(kind: Kind, content: bytes, path: Path, most_s: float = MOST_S) -> str:
    """How reading *content* did harm; empty when it was read or refused as it should be."""
    path.write_bytes(content)
    before = resident_bytes()
    signal.signal(signal.SIGALRM, _too_long)
    signal.setitimer(signal.ITIMER_REAL, most_s)
    try:
        kind.read(path)
    except (DeliveryError, OSError):
        pass
    except TooLong:
        return HUNG
    except Exception as problem:  # noqa: BLE001 - whatever it is, it is the finding
        return f"{type(problem).__name__}: {problem}"[:300]
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
    if path.read_bytes() != content:
        return "the file was changed"
    grown = resident_bytes() - before
    return f"{grown >> 20} MB more memory" if grown > MOST_GROWTH_BYTES else ""


def run(
    kinds: Sequence[Kind], folder: Path, seconds: float, seed: int, cases: int = 0
) -> Iterator[Harm | Counter[str]]:
    """Try kinds in turn until time is up, or *cases* are done where that is not 0.

    Every harm as it is met; every ``REPORT_EVERY`` cases and last, how many cases of each kind there were.
    """
    ends, number, counts = time.monotonic() + seconds, 0, Counter[str]()
    for kind in kinds:
        if how := attempt(kind, kind.good, folder / kind.name):
            yield Harm(kind.name, -1, f"the good file: {how}", kind.good)
    while (time.monotonic() < ends or number < len(kinds)) and not (cases and number >= cases):
        kind = kinds[number % len(kinds)]
        dice = random.Random(f"{seed} {number} {kind.name}")
        content = kind.mutate(kind.good, dice)
        how = attempt(kind, content, folder / kind.name)
        if how == HUNG:
            how = attempt(kind, content, folder / kind.name, PATIENCE_S)
        if how:
            yield Harm(kind.name, number, how, content)
        counts[kind.name] += 1
        number += 1
        if number % REPORT_EVERY == 0:
            yield counts
    yield counts
