"""Mutation testing of a pure part: is every line held by a test?

    .venv/bin/python tests/mutants.py delivery/chain/joined.py --tests tests/chain/test_stream.py
    .venv/bin/python tests/mutants.py --parts                    # every part of PARTS, one after another
    .venv/bin/python tests/mutants.py --show 'delivery.chain.joined.*'

mutmut changes one operator, number or name at a time, in a copy of the tree, and runs the tests: a change that no test
notices has survived. The copy and what was found stay in ``build/mutants`` (or --folder), for --show. mutmut is fetched
beside the environment and never put into it. Linux and macOS.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
COPIED = ("delivery", "specs", "tests", "demo", "pyproject.toml", "README.md", "LICENSE")
MUTMUT = "mutmut==3.8.1"
PARTS = {
    "joined songs": (("delivery/chain/joined.py",), ("tests/chain/test_stream.py",)),
    "plan": (("delivery/chain/plan.py",), ("tests/chain/test_plan.py",)),
    "codes": (("delivery/model/codes.py",), ("tests/model/test_codes.py",)),
}
"""Modules, and the tests that are quick enough to be run for each of their mutants."""


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
        "pytest_add_cli_args": ["-x", "-p", "no:cacheprovider", "--hypothesis-profile=ci"],
    }
    text = "\n[tool.mutmut]\n" + "".join(f"{key} = {list(value)!r}\n" for key, value in lines.items())
    with (folder / "pyproject.toml").open("a", encoding="utf-8") as file:
        file.write(text + "mutate_only_covered_lines = false\nuse_git_change_detection = false\n")


def overlay(folder: Path) -> Path:
    """mutmut and what it needs, in a folder that stands behind the environment's own packages."""
    into = folder.parent / "mutmut"
    if not into.exists():
        command = [shutil.which("uv") or "uv", "pip", "install", "-q", "--python", sys.executable, "--target", into]
        subprocess.run([*command, MUTMUT], check=True)
    return into


def mutmut(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run it in *folder*; the environment's packages go first, so that pytest is the usual one."""
    code = (
        f"import sys; sys.path.append({str(overlay(folder))!r}); sys.argv[0] = 'mutmut'; "
        "from mutmut.__main__ import cli; cli()"
    )
    return subprocess.run(
        [sys.executable, "-c", code, *arguments], cwd=folder, text=True, capture_output=True, env=os.environ
    )


def score(folder: Path, modules: tuple[str, ...], tests: tuple[str, ...]) -> str:
    """Test every mutant of *modules*; the survivors, and how many there were."""
    prepared(folder, modules, tests)
    ran = mutmut(folder, "run", "--max-children", "1")
    fates = [line.split() for line in mutmut(folder, "results", "--all", "true").stdout.splitlines() if ": " in line]
    reported = [(name.rstrip(":"), " ".join(fate)) for name, *fate in fates]
    if not reported or all(fate == "not checked" for _, fate in reported):
        return "The tests did not run:\n" + ran.stdout[-3000:] + ran.stderr[-2000:]
    killed = sum(fate in ("killed", "timeout", "caught by type check") for _, fate in reported)
    lines = [
        f"  {fate}: {name}" for name, fate in reported if fate not in ("killed", "timeout", "caught by type check")
    ]
    return "\n".join([*lines, f"{killed} of {len(reported)} mutants killed ({100 * killed / len(reported):.1f} %)"])


def main() -> None:
    requested = argparse.ArgumentParser(prog="tests/mutants.py", description=__doc__)
    requested.add_argument("modules", nargs="*")
    requested.add_argument("--tests", nargs="+", default=[])
    requested.add_argument("--parts", action="store_true")
    requested.add_argument("--show", default="", help="the change that a mutant is, by its name in the last run")
    requested.add_argument("--folder", type=Path, default=ROOT / "build" / "mutants" / "tree")
    options = requested.parse_args()
    if options.show:
        print(mutmut(options.folder, "show", options.show).stdout)
        return
    parts = PARTS if options.parts else {"": (tuple(options.modules), tuple(options.tests))}
    for name, (modules, tests) in parts.items():
        print(f"{name or ' '.join(modules)}\n{score(options.folder, modules, tests)}", flush=True)


if __name__ == "__main__":
    main()
