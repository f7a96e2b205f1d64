"""Mutation testing of a pure part: is every line held by a test?

    .venv/bin/python tests/mutants.py delivery/chain/joined.py --tests tests/chain/test_stream.py
    .venv/bin/python tests/mutants.py --parts --sample 300       # a random 300 of each package of PARTS
    .venv/bin/python tests/mutants.py --show 'delivery.chain.joined.*'

mutmut changes one operator, number or name at a time, in a copy of the tree, and runs the tests: a change that no test
notices has survived. The copy and what was found stay in ``build/mutants`` (or --folder), for --show. mutmut is fetched
beside the environment and never put into it. Linux and macOS.

A package has thousands of changes, hours of tests: --sample tries a random choice, the same each time, and gives the
score with its 95 % interval (Wilson's).
"""

from __future__ import annotations

import argparse
import os
import random
import re
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
COPIED = ("delivery", "specs", "tests", "demo", "pyproject.toml", "README.md", "LICENSE")
MUTMUT = "mutmut==3.8.1"
PARTS = {
    "model": (("delivery/model/*",), ("tests/model", "tests/intake", "tests/contracts/test_fields.py")),
    "rules": (("delivery/rules/*",), ("tests/rules", "tests/contracts/test_limits_and_figures.py")),
    "chain": (("delivery/chain/*",), ("tests/chain",)),
    "pack": (
        ("delivery/pack/*",),
        (
            "tests/pack",
            "tests/pipeline/test_side_papers.py",
            "tests/pipeline/test_images.py",
            "tests/judges/test_cue_sheet.py",
        ),
    ),
    "client's sheet": (("delivery/intake/sheet/*",), ("tests/intake/sheet",)),
    "report": (("delivery/report/view/*", "delivery/report/label_copy/*"), ("tests/report",)),
}
"""Packages whose code is pure, and the tests that hold them."""
KILLED = ("killed", "timeout", "caught by type check")


def prepared(folder: Path, modules: tuple[str, ...], tests: tuple[str, ...]) -> None:
    """A fresh copy of the tree in *folder*, and what mutmut is to do there."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("__pycache__", "references"))
        else:
            shutil.copy(source, folder / name)
    lines = {
        "source_paths": ["delivery"],
        "only_mutate": modules,
        "also_copy": ["specs", "demo", "README.md"],
        "pytest_add_cli_args_test_selection": tests,
        "pytest_add_cli_args": ["-x", "-p", "no:cacheprovider", "--hypothesis-profile=ci", "-m", "not slow"],
    }
    text = "\n[tool.mutmut]\n" + "".join(f"{key} = {list(value)!r}\n" for key, value in lines.items())
    with (folder / "pyproject.toml").open("a", encoding="utf-8") as file:
        file.write(text + "mutate_only_covered_lines = false\nuse_git_change_detection = false\n")


def overlay(folder: Path) -> Path:
    """mutmut and what it needs, in a folder that is behind the environment's own packages."""
    into = folder.parent / "mutmut"
    if not into.exists():
        command = [shutil.which("uv") or "uv", "pip", "install", "-q", "--python", sys.executable, "--target", into]
        subprocess.run([*command, MUTMUT], check=True)
    return into


def mutmut(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run it in *folder*; the environment's packages go first, so that pytest is the usual one.

    Processes that tests start find mutmut by PYTHONPATH, since mutated modules import it.
    """
    code = (
        f"import sys; sys.path.append({str(overlay(folder))!r}); sys.argv[0] = 'mutmut'; "
        "from mutmut.__main__ import cli; cli()"
    )
    environment = {**os.environ, "PYTHONPATH": str(overlay(folder))}
    return subprocess.run(
        [sys.executable, "-c", code, *arguments], cwd=folder, text=True, capture_output=True, env=environment
    )


def fates(folder: Path) -> dict[str, str]:
    """Mutant -> what became of it."""
    lines = mutmut(folder, "results", "--all", "true").stdout.splitlines()
    found = (line.strip().rpartition(": ") for line in lines if ": " in line)
    return {name: fate for name, _, fate in found}


def chosen(folder: Path, count: int) -> list[str]:
    """A random choice of the mutants in *folder*; all of them as an empty list."""
    if not count:
        return []
    mutmut(folder, "run", "--max-children", "1", "none of them")  # makes the mutants, then finds none of that name
    names = sorted(fates(folder))
    return random.Random(len(names)).sample(names, count) if len(names) > count else []


def score(folder: Path, modules: tuple[str, ...], tests: tuple[str, ...], sample: int = 0) -> str:
    """Test the mutants of *modules*; the survivors, and how many there were."""
    prepared(folder, modules, tests)
    names = chosen(folder, sample)
    ran = mutmut(folder, "run", "--max-children", "1", *names)
    found = fates(folder)
    tried = {name: found[name] for name in names} if names else found
    if not tried or all(fate == "not checked" for fate in tried.values()):
        return "The tests did not run:\n" + ran.stdout[-3000:] + ran.stderr[-2000:]
    killed = sum(fate in KILLED for fate in tried.values())
    lived = [name for name, fate in tried.items() if fate not in KILLED]
    wording = [name for name in lived if changes_wording_only(shown(folder, name))]
    lines = [f"  {tried[name]}: {name}" for name in lived if name not in wording]
    if wording:
        lines.append(f"  and {len(wording)} that change only the wording or the case of a text")
    lines.append(f"{killed} of {len(tried)} mutants killed ({100 * killed / len(tried):.1f} %)")
    if names:
        low, high = interval(killed, len(tried))
        lines.append(f"a random choice of {len(found)}: {100 * low:.0f} to {100 * high:.0f} % of all, by 95 %")
    return "\n".join(lines)


def shown(folder: Path, name: str) -> str:
    """The change that a mutant is, as lines that begin with - and +."""
    return mutmut(folder, "show", name).stdout


def changes_wording_only(difference: str) -> bool:
    """Whether the lines taken out and put in differ in nothing but marks and capitals within texts.

    mutmut changes a text by putting XX at both ends, or by its case: a sentence for people, or a name like utf-8.
    """
    lines = [line for line in difference.splitlines() if not line.startswith(("---", "+++"))]
    before, after = ("".join(line[1:] for line in lines if line.startswith(sign)) for sign in "-+")
    return before.casefold() == re.sub(r"XX(?=[\"'])|(?<=[\"'])XX", "", after).casefold()


def interval(hits: int, tries: int, z: float = 1.96) -> tuple[float, float]:
    """Wilson's score interval of a share: E. B. Wilson, 1927, J. Am. Stat. Assoc. 22, 209-212."""
    share, scale = hits / tries, 1 + z * z / tries
    centre = (share + z * z / (2 * tries)) / scale
    half = z / scale * (share * (1 - share) / tries + z * z / (4 * tries * tries)) ** 0.5
    return centre - half, centre + half


def main() -> None:
    requested = argparse.ArgumentParser(prog="tests/mutants.py", description=__doc__)
    requested.add_argument("modules", nargs="*")
    requested.add_argument("--tests", nargs="+", default=[])
    requested.add_argument("--parts", action="store_true", help="the packages of PARTS; with names: those of them")
    requested.add_argument("--sample", type=int, default=0, help="how many mutants of each part; 0: all")
    requested.add_argument("--show", default="", help="the change that a mutant is, by its name in the last run")
    requested.add_argument("--folder", type=Path, default=ROOT / "build" / "mutants" / "tree")
    options = requested.parse_args()
    if options.show:
        print(shown(options.folder, options.show))
        return
    some = {name: PARTS[name] for name in options.modules or PARTS} if options.parts else {}
    for name, (modules, tests) in (some or {"": (tuple(options.modules), tuple(options.tests))}).items():
        print(f"{name or ' '.join(modules)}\n{score(options.folder, modules, tests, options.sample)}", flush=True)


if __name__ == "__main__":
    main()
