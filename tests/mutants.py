"""Mutation testing of a pure part: is every line held by a test?

    .venv/bin/python tests/mutants.py delivery/chain/joined.py --tests tests/chain/test_stream.py
    .venv/bin/python tests/mutants.py --parts --sample 300       # a random 300 of each package of PARTS
    .venv/bin/python tests/mutants.py --show 'delivery.chain.joined.*'

mutmut changes one operator, number or name at a time, in a copy of the tree, and runs the tests: a change that no test
notices has survived. The copy and what was found stay in ``build/mutants`` (or --folder), for --show. mutmut is fetched
beside the environment and never put into it. Linux and macOS.

A package has thousands of changes, hours of tests: --sample tries a random choice (--seed gives another one) and prints
the score with its 95 % interval (Wilson's).

Two things that mutmut leaves out are done here. It does not change decorated functions, rules and properties among
them: in the copy a decorator is applied after its function instead. And it runs tests in forks of a process that has
imported everything, so what runs at import or stands in a cache keeps its unchanged value: a change that seems to
survive is tried once more in a process of its own.
"""

from __future__ import annotations

import argparse
import ast
import difflib
import json
import os
import random
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from functools import lru_cache
from pathlib import Path

ROOT = Path(__file__).parents[1]
COPIED = ("delivery", "specs", "tests", "demo", "pyproject.toml", "README.md", "LICENSE")
MUTMUT = "mutmut==3.8.1"
PARTS = {
    "model": (
        ("delivery/model/*",),
        (
            "tests/model",
            "tests/intake",
            "tests/contracts/test_fields.py",
            "tests/pack",
            "tests/compare",
            "tests/pipeline/test_side_papers.py",
        ),
    ),
    "rules": (
        ("delivery/rules/*",),
        ("tests/rules", "tests/contracts/test_limits_and_figures.py", "tests/test_schema.py"),
    ),
    "chain": (("delivery/chain/*",), ("tests/chain", "tests/judges/test_cue_sheet.py")),
    "pack": (
        ("delivery/pack/*",),
        (
            "tests/pack",
            "tests/pipeline/test_side_papers.py",
            "tests/pipeline/test_images.py",
            "tests/judges/test_cue_sheet.py",
        ),
    ),
    "client's sheet": (
        ("delivery/intake/sheet/*",),
        ("tests/intake/sheet", "tests/hostile/test_ods.py", "tests/hostile/test_sheets.py"),
    ),
    "report": (
        ("delivery/report/view/*", "delivery/report/label_copy/*"),
        (
            "tests/report",
            "tests/compare/test_changes.py",
            "tests/compare/test_reference.py",
            "tests/cli/test_history.py",
            "tests/pipeline/test_disc_papers.py",
            "tests/pipeline/test_side_papers.py",
        ),
    ),
}
"""Packages whose code is pure, and the tests that hold them."""
KILLED = ("killed", "caught by type check")
UNTESTED = "no tests"
"""No test runs the changed function in its own process, at import or later: counted as survived, without a trial."""
PLAIN_IDS = "disable_test_id_escaping_and_forfeit_all_rights_to_community_support=true"
"""mutmut names tests one by one, and pytest does not find a test again by a name with escaped letters in it."""
PYTEST = ("-x", "-p", "no:cacheprovider", "--hypothesis-profile=ci", "-o", PLAIN_IDS, "-m", "not slow")
NAMED_BYTES = """

def pytest_make_parametrize_id(val: object) -> str | None:
    return ascii(val)[:40] if isinstance(val, bytes) else None
"""
"""With unescaped names pytest fails on bytes as a parameter; the copy of the tests names them so."""
LONGEST_S = 300
"""How long the tests of a part may take with a change in a process of its own."""
KEPT_DECORATORS = {"staticmethod", "classmethod", "overload"}


def prepared(folder: Path, modules: tuple[str, ...], tests: tuple[str, ...]) -> None:
    """A fresh copy of the tree in *folder*, and what mutmut is to do there."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, folder / name)
    for module in {found for one in modules for found in folder.glob(one.replace("/*", "/**/*.py"))}:
        module.write_text(decorated_afterwards(module.read_text(encoding="utf-8")), encoding="utf-8")
    with (folder / "tests" / "conftest.py").open("a", encoding="utf-8") as file:
        file.write(NAMED_BYTES)
    lines = {
        "source_paths": ["delivery"],
        "only_mutate": modules,
        "also_copy": ["specs", "demo", "README.md"],
        "pytest_add_cli_args_test_selection": tests,
        "pytest_add_cli_args": PYTEST,
    }
    text = "\n[tool.mutmut]\n" + "".join(f"{key} = {list(value)!r}\n" for key, value in lines.items())
    with (folder / "pyproject.toml").open("a", encoding="utf-8") as file:
        file.write(text + "mutate_only_covered_lines = false\nuse_git_change_detection = false\n")


def decorated_afterwards(source: str) -> str:
    """Source in which ``@rule(...) def f`` has become ``def f`` and ``f = rule(...)(f)``, with the same effect."""
    lines = source.splitlines()
    for function in sorted(_decorated(ast.parse(source)), key=lambda one: one.lineno, reverse=True):
        indent = " " * function.col_offset
        first = function.decorator_list[0].lineno
        calls = [ast.get_source_segment(source, one) or "" for one in function.decorator_list]
        applied = function.name
        for call in reversed(calls):
            applied = f"({call})({applied})"
        end = function.end_lineno or function.lineno
        lines[first - 1 : end] = [*lines[function.lineno - 1 : end], f"{indent}{function.name} = {applied}"]
    return "\n".join(lines) + "\n"


def _decorated(tree: ast.Module) -> Iterator[ast.FunctionDef]:
    """Functions of the module and its classes with decorators that mutmut does not know."""
    bodies: list[Sequence[ast.stmt]] = [tree.body, *(one.body for one in tree.body if isinstance(one, ast.ClassDef))]
    for statement in (one for body in bodies for one in body):
        if isinstance(statement, ast.FunctionDef):
            names = {ast.unparse(one) for one in statement.decorator_list}
            if names and not names & KEPT_DECORATORS:
                yield statement


def overlay(folder: Path) -> Path:
    """mutmut and what it needs, in a folder that is behind the environment's own packages."""
    into = folder.parent / "mutmut"
    if not into.exists():
        places = os.pathsep.join((str(Path(sys.executable).parent), os.environ.get("PATH", os.defpath)))
        uv = shutil.which("uv", path=places) or "uv"
        command = [uv, "pip", "install", "-q", "--python", sys.executable, "--target"]
        subprocess.run([*command, str(into), MUTMUT], check=True)
    return into


def mutmut(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run it in *folder*; the environment's packages go first, so that pytest is the usual one.

    Processes that tests start find mutmut by PYTHONPATH, since mutated modules import it. The record of the tests is
    made by running all of them without a change; mutmut's second such run is left out.
    """
    code = (
        f"import sys; sys.path.append({str(overlay(folder))!r}); sys.argv[0] = 'mutmut'; "
        "from mutmut.workers.isolation import ForkRunner; ForkRunner.run_clean_tests = lambda *_, **__: 0; "
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


def chosen(folder: Path, count: int, seed: int) -> list[str]:
    """A random choice of the mutants in *folder*; all of them as an empty list."""
    if not count:
        return []
    mutmut(folder, "run", "--max-children", "1", "none of them")  # makes the mutants, then finds none of that name
    names = sorted(fates(folder))
    return random.Random(len(names) + seed).sample(names, count) if len(names) > count else []


def tests_of(folder: Path, name: str) -> tuple[str, ...]:
    """The test files that run any function of the module of a mutant, by mutmut's record of the tests; maybe none.

    Files and not only the tests that run the changed function: what stands in a cache ran in another test. What runs
    at import is recorded with the first test of all, and any test may hold it: none is named.
    """
    record = json.loads((folder / "mutants" / "mutmut-stats.json").read_text(encoding="utf-8"))
    module, function = name.rpartition(".")[0], name.rpartition("__mutmut_")[0]
    first = next(iter(record["duration_by_test"]), "")
    if first in record["tests_by_mangled_function_name"].get(function, ()):
        return ()
    ran = (tests for run, tests in record["tests_by_mangled_function_name"].items() if run.rpartition(".")[0] == module)
    return tuple(sorted({test.partition("::")[0] for tests in ran for test in tests}))


def survives_alone(folder: Path, name: str, tests: tuple[str, ...]) -> bool:
    """Whether the tests pass with this change in a new process, which imports the changed code.

    Only the files that run its module are tried; all of them where none is known to.
    """
    environment = {**os.environ, "PYTHONPATH": str(overlay(folder)), "MUTANT_UNDER_TEST": name}
    command: list[str] = [sys.executable, "-m", "pytest", "-q", *PYTEST, *(tests_of(folder, name) or tests)]
    try:
        ran = subprocess.run(command, cwd=folder / "mutants", env=environment, capture_output=True, timeout=LONGEST_S)
    except subprocess.TimeoutExpired:
        return False
    return ran.returncode == 0


def score(folder: Path, modules: tuple[str, ...], tests: tuple[str, ...], sample: int = 0, seed: int = 0) -> str:
    """Test the mutants of *modules*; the survivors, and how many there were."""
    prepared(folder, modules, tests)
    names = chosen(folder, sample, seed)
    ran = mutmut(folder, "run", "--max-children", "1", *names)
    found = fates(folder)
    tried = {name: found[name] for name in names} if names else found
    if not tried or all(fate == "not checked" for fate in tried.values()):
        return "The tests did not run:\n" + ran.stdout[-3000:] + ran.stderr[-2000:]
    lived = [
        name
        for name, fate in tried.items()
        if fate == UNTESTED or (fate not in KILLED and survives_alone(folder, name, tests))
    ]
    wording = {name for name in tried if changes_wording_only(*versions(folder, name))}
    lines = [f"  {tried[name]}: {name}" for name in lived if name not in wording]
    if texts := wording & set(lived):
        lines.append(f"  and {len(texts)} that change only the wording or the case of a sentence")
    lines.append(share(len(tried) - len(lived), len(tried), len(found), "mutants"))
    meant = len(tried) - len(wording)
    lines.append(share(meant - len(set(lived) - wording), meant, 0, "of those that change more than wording"))
    return "\n".join(lines)


def share(killed: int, tried: int, known: int, what: str) -> str:
    """'90 of 100 mutants killed (90.0 %; 83 to 94 % of all 4000, by 95 %)'."""
    low, high = interval(killed, tried) if tried else (0, 1)
    of_all = f"; {100 * low:.0f} to {100 * high:.0f} % of all{f' {known}' if known else ''}, by 95 %"
    return f"{killed} of {tried} {what} killed ({100 * killed / max(tried, 1):.1f} %{of_all})"


@lru_cache
def functions_of(path: Path) -> dict[str, str]:
    """The source of each function of a changed module, by name."""
    source = path.read_text(encoding="utf-8")
    lines = source.splitlines()
    defined = (one for one in ast.walk(ast.parse(source)) if isinstance(one, ast.FunctionDef))
    return {one.name: "\n".join(lines[one.lineno - 1 : one.end_lineno]) for one in defined}


def versions(folder: Path, name: str) -> tuple[str, str]:
    """The source of a function before and after the change that a mutant is."""
    module, _, changed = name.rpartition(".")
    path = folder / "mutants" / module.replace(".", "/")
    known = functions_of(path / "__init__.py" if path.is_dir() else path.with_suffix(".py"))
    original = changed.rpartition("_")[0] + "_orig"
    return known[original].replace(original, changed), known[changed]


def shown(folder: Path, name: str) -> str:
    """The change that a mutant is, as lines that begin with - and +."""
    before, after = versions(folder, name)
    return "\n".join(difflib.unified_diff(before.splitlines(), after.splitlines(), name, lineterm="", n=2))


def changes_wording_only(before: str, after: str) -> bool:
    """Whether two versions of a function differ in nothing but the marks or capitals of one sentence.

    mutmut changes a text by putting XX at both ends, or by its case. A text without a blank is a name or a key, not a
    sentence: a change to it counts.
    """
    if before == after:
        return False
    changed = [(old, new) for old, new in zip(before.splitlines(), after.splitlines(), strict=False) if old != new]
    if len(changed) != 1:
        return False
    old, new = changed[0]
    plain = re.sub(r"XX(?=[\"'])|(?<=[\"'])XX", "", new)
    if plain.casefold() != old.casefold():
        return False
    texts = zip(_texts(old), _texts(new), strict=False)
    return any(one != other and " " in one.strip() for one, other in texts)


def _texts(line: str) -> list[str]:
    return [found[1] for found in re.finditer(r"""["']([^"']*)["']""", line)]


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
    requested.add_argument("--seed", type=int, default=0, help="another number: another random choice")
    requested.add_argument("--show", default="", help="the change that a mutant is, by its name in the last run")
    requested.add_argument("--folder", type=Path, default=ROOT / "build" / "mutants" / "tree")
    options = requested.parse_args()
    options.folder = options.folder.absolute()
    if options.show:
        print(shown(options.folder, options.show))
        return
    some = {name: PARTS[name] for name in options.modules or PARTS} if options.parts else {}
    for name, (modules, tests) in (some or {"": (tuple(options.modules), tuple(options.tests))}).items():
        print(
            f"{name or ' '.join(modules)}\n{score(options.folder, modules, tests, options.sample, options.seed)}",
            flush=True,
        )


if __name__ == "__main__":
    main()
