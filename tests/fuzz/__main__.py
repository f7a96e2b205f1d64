"""``python -m tests.fuzz --seconds 1500 --seed 2 --keep FOLDER``: a long run by hand.

About 150 cases a second, for a decoder child is kept after damaged files; ``--fresh-children`` starts a new one after
each, as a job does, at about 15 a second.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from contextlib import nullcontext
from pathlib import Path

from tests.fuzz.kinds import kinds
from tests.fuzz.tried import Harm, kept_children, run


def main() -> int:
    """Print every kind of harm once with its first file, then the counts; 1 when there was any."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path, help="folder for the files that do harm")
    parser.add_argument("--only", default="", help="kinds whose name contains this, such as m4a")
    parser.add_argument("--cases", type=int, default=0, help="end after so many")
    parser.add_argument("--fresh-children", action="store_true")
    options = parser.parse_args()
    seen: set[tuple[str, str]] = set()
    begun_s = time.monotonic()
    children = nullcontext() if options.fresh_children else kept_children()
    with children, tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        chosen = [kind for kind in kinds(folder) if options.only in kind.name]
        for found in run(chosen, folder, options.seconds, options.seed, options.cases):
            if not isinstance(found, Harm):
                took_s = time.monotonic() - begun_s
                print(f"{found.total()} cases, {took_s:.0f} s: {dict(found)}; {len(seen)} kinds of harm", flush=True)
            elif (key := (found.kind, found.how[:60])) not in seen:
                seen.add(key)
                print(f"{found.kind} case {found.number}: {found.how}", flush=True)
                if options.keep:
                    options.keep.mkdir(parents=True, exist_ok=True)
                    (options.keep / f"{options.seed}-{found.number}-{found.kind}").write_bytes(found.content)
    return 1 if seen else 0


if __name__ == "__main__":
    sys.exit(main())
