"""The whole job shown once: an album as it arrived is checked, the corrected one is built into its packages.

Run it with any Python from 3.11 on, from any folder: ``python3 demo/run.py``. The first run sets up ``.venv``.
"""

import sys

if sys.version_info < (3, 11):  # noqa: UP036 (older ones must get this sentence, not a traceback)
    sys.exit("delivery needs Python 3.11 or newer; this is %d.%d." % sys.version_info[:2])  # noqa: UP031

import shutil
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from demo import environment

OUT = environment.ROOT / "demo" / "out"
DELIVERED = OUT / "delivered"
OWN = OUT / "user"
"""What the program keeps for a person: of the demo nothing is to be among the real deliveries."""
OWN_FOLDERS = {name: str(OWN / name) for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME")} | {
    f"WIN_PD_OVERRIDE_{name}": str(OWN / name) for name in ("LOCAL_APPDATA", "APPDATA")
}


def delivery(*words: str) -> int:
    """Run the command as a person would, its words shown first."""
    shown = " ".join(f"'{word}'" if " " in word else word for word in words)
    print(f"\n$ delivery {shown}\n", flush=True)
    return environment.call([sys.executable, "-m", "delivery", *words], variables=OWN_FOLDERS)


def show() -> int:
    """Play the album, check it as received, build it as corrected; 0 when both end as they should."""
    from demo import album

    received, corrected = album.make(OUT)
    for name in ("XDG_DATA_HOME", "WIN_PD_OVERRIDE_LOCAL_APPDATA"):
        shutil.rmtree(OWN_FOLDERS[name], ignore_errors=True)  # each showing is the first delivery
    print("\nThe album as it arrived, with faults planted on purpose. The check should refuse it.")
    checked = delivery("check", str(received))
    if checked != 1:
        print(f"\nThe faults planted in '{received.parent.name}' should end the check with 1; it ended with {checked}.")
        return 1
    print("\nThe same album with new masters and the codes put right. The build should make all of it.")
    DELIVERED.mkdir(exist_ok=True)
    built = delivery("build", str(corrected), "--into", str(DELIVERED), "--replace")
    if built != 0:
        print(f"\nThe corrected album should be ready to go; the build ended with {built}.")
        return 1
    return point_at_results()


def point_at_results() -> int:
    """Say where the package and its sheet lie."""
    sheets = sorted(DELIVERED.rglob("delivery-sheet.pdf"), key=lambda sheet: sheet.stat().st_mtime)
    if not sheets:
        print(f"\nThe build ended well, but there is no sheet in {DELIVERED}.")
        return 1
    package = DELIVERED / sheets[-1].relative_to(DELIVERED).parts[0]
    print(f"\nThe package:   {package}\nIts PDF sheet: {sheets[-1]}")
    return 0


def main() -> int:
    python = environment.ready()
    if not environment.inside():
        return environment.call([str(python), str(Path(__file__).resolve()), *sys.argv[1:]])
    return show()


if __name__ == "__main__":
    sys.exit(main())
