"""What the loops need when they run as plain Python: without the compiled half of the installation, and in a debugger.

Results are those of the compiled loops but for the last bits of single precision; the time is a hundredfold.
"""

from __future__ import annotations

import sys
from contextlib import nullcontext
from functools import cache

compiled = False
nogil = nullcontext()


@cache
def report() -> None:
    """One line on stderr, once for each process."""
    print(
        "delivery: the compiled loops are missing, so measuring takes very long. Install the program again"
        " (in a clone: pip install -e .).",
        file=sys.stderr,
    )
