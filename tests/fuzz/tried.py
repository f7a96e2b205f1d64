"""One case: a mutated file given to its reader, watched for time, memory, exceptions and changes to the file."""

from __future__ import annotations

import random
import signal
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import FrameType

from delivery.errors import DeliveryError
from tests.fuzz.kinds import Kind

MOST_S = 5.0
HUNG = f"more than {MOST_S:g} s"
MOST_GROWTH_BYTES = 300 * 2**20


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


def attempt(kind: Kind, content: bytes, path: Path) -> str:
    """How reading *content* did harm; empty when it was read or refused as it should be."""
    path.write_bytes(content)
    before = resident_bytes()
    signal.signal(signal.SIGALRM, _too_long)
    signal.setitimer(signal.ITIMER_REAL, MOST_S)
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


def run(kinds: Sequence[Kind], folder: Path, seconds: float, seed: int) -> Iterator[Harm | Counter[str]]:
    """Try kinds in turn until time is up. Every harm as it is met; last, how many cases of each kind there were."""
    ends, number, counts = time.monotonic() + seconds, 0, Counter[str]()
    for kind in kinds:
        if how := attempt(kind, kind.good, folder / kind.name):
            yield Harm(kind.name, -1, f"the good file: {how}", kind.good)
    while time.monotonic() < ends or number < len(kinds):
        kind = kinds[number % len(kinds)]
        dice = random.Random(f"{seed} {number} {kind.name}")
        content = kind.mutate(kind.good, dice)
        how = attempt(kind, content, folder / kind.name)
        if how == HUNG:  # once more: other work on the machine does not come twice, a hang does
            how = attempt(kind, content, folder / kind.name)
        if how:
            yield Harm(kind.name, number, how, content)
        counts[kind.name] += 1
        number += 1
    yield counts
