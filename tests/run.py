"""The tests, in the clone's own environment, on every core: ``python3 tests/run.py [arguments for pytest]``.

Long tests (marked ``thorough``) take a part of their cases; ``--all``, or a test named by ``::``, takes every case.
``--quick`` stands for a selection that takes less than a minute.

Paths among the arguments count from the clone, wherever this is started.

Tests that use outside programs are skipped where these are not installed; the end of the output lists them.
"""

import sys

if sys.version_info < (3, 11):  # noqa: UP036 (older ones must get this sentence, not a traceback)
    sys.exit("delivery needs Python 3.11 or newer; this is %d.%d." % sys.version_info[:2])  # noqa: UP031

from pathlib import Path
from shutil import which

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from demo import environment

VARIABLES = {"PYTHONDONTWRITEBYTECODE": "", "OPENBLAS_NUM_THREADS": "1"}
"""Hundreds of processes are started: without the first each would compile all modules again, where a container switches
that off; without the second each would start a thread for each core, and there is a test on each core already."""
QUICK = ("tests/rules", "tests/model", "tests/tags", "tests/formats", "tests/contracts/test_rules.py")
QUICK += ("tests/contracts/test_fields.py", "tests/test_schema.py", "tests/test_public_api.py", "-m", "not slow")
"""What ``--quick`` stands for: 3,000 tests of what changes most, 25 s of processor time."""
JUDGES = (
    *("ffmpeg", "ffprobe", "sox", "soxi", "flac", "metaflac", "lame", "mediainfo"),
    *("pdffonts", "pdftoppm", "pdftotext", "qpdf", "chromium", "opusdec", "ssh-keygen"),
)
"""Outside programs that tests use for a second opinion."""


def main() -> int:
    words = [word for word in sys.argv[1:] if word != "--all"]
    if words == sys.argv[1:] and not any("::" in word for word in words):
        words.insert(0, "--sample")
    given = [each for word in words for each in (QUICK if word == "--quick" else (word,))]
    command = [str(environment.ready("dev")), "-m", "pytest", "-n", "auto", "--dist", "worksteal", *given]
    code = environment.call(command, environment.ROOT, VARIABLES)
    absent = [judge for judge in JUDGES if which(judge) is None]
    if absent:
        print(f"\n!!! NOT USED, because not installed: {', '.join(absent)}. The tests that need them were SKIPPED.")
    return code


if __name__ == "__main__":
    sys.exit(main())
