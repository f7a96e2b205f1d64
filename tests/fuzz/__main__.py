"""``python -m tests.fuzz --seconds 1500 --seed 2 --keep FOLDER``: a long run by hand."""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from tests.fuzz.kinds import kinds
from tests.fuzz.tried import Harm, run


def main() -> int:
    """Print every kind of harm once with its first file, then the counts; 1 when there was any."""
    asked = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    asked.add_argument("--seconds", type=float, default=60)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--keep", type=Path, help="folder for the files that do harm")
    asked.add_argument("--only", default="", help="kinds whose name contains this, such as m4a")
    options = asked.parse_args()
    seen: set[tuple[str, str]] = set()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        chosen = [kind for kind in kinds(folder) if options.only in kind.name]
        for found in run(chosen, folder, options.seconds, options.seed):
            if not isinstance(found, Harm):
                print(f"{found.total()} cases: {dict(found)}; {len(seen)} kinds of harm")
            elif (key := (found.kind, found.how[:60])) not in seen:
                seen.add(key)
                print(f"{found.kind} case {found.number}: {found.how}", flush=True)
                if options.keep:
                    options.keep.mkdir(parents=True, exist_ok=True)
                    (options.keep / f"{options.seed}-{found.number}-{found.kind}").write_bytes(found.content)
    return 1 if seen else 0


if __name__ == "__main__":
    sys.exit(main())
