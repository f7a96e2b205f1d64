"""The Nth system call of a command fails: masters unchanged, no target or a whole one, and a clear message.

Every call of check, build, verify, import and accept is tried with the errors it can give. A plain run takes a spread
of them; ``FAULT_CASES=all pytest tests/hostile/test_faults_at_every_call.py`` tries each, and a number that many.
"""

from __future__ import annotations

import errno
import gc
import os
import re
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from delivery.__main__ import run
from delivery.intake import load_release
from delivery.pack.bag import check_bag
from tests.albums import Song, hashes, write_album, write_spec
from tests.homes import live_in
from tests.hostile.faulty_system import FAULTS, SHORT, FaultySystem

PACKAGE = "OSL-014 Harbour Arithmetic rev 1"
CASES = {"check": 12, "build": 12, "verify": 12, "import": 12, "accept": 12}
"""How many of each command's faults a plain run tries."""


@dataclass(frozen=True)
class Outcome:
    code: int
    text: str
    files: dict[str, str]
    """What is below the folder afterwards, by hash; the cache aside."""
    is_whole: bool
    """Less than without the fault, but whole: a package of one spec, a release file for a master that does not open."""


@dataclass(frozen=True)
class World:
    """A folder in which one command runs again and again from the same beginning."""

    root: Path
    beginning: Path
    command: tuple[str, ...]
    text: Callable[[], str]

    def outcome(self, system: FaultySystem) -> Outcome:
        for name in ("masters", "out"):
            shutil.rmtree(self.root / name, ignore_errors=True)
            shutil.copytree(self.beginning / name, self.root / name)
        self.text()
        with pytest.MonkeyPatch.context() as patch:
            system.install(patch)
            code = run(list(self.command))
        gc.collect()  # a file that was left open is closed, and its buffer written, before anything is compared
        masters, out = hashes(self.root / "masters"), hashes(self.root / "out")
        return Outcome(code, self.text(), masters | out, self._is_whole(masters))

    def _is_whole(self, masters: dict[str, str]) -> bool:
        before = hashes(self.beginning / "masters")
        if self.command[0] == "start":
            made = self.root / "masters" / "release.yaml"
            return (
                made.is_file() and bool(load_release(made)) and {path: masters.get(path) for path in before} == before
            )
        names = {path.name for path in (self.root / "out").iterdir()}
        whole = names in ({PACKAGE}, {PACKAGE, f"{PACKAGE} mail.txt"}) and not check_bag(self.root / "out" / PACKAGE)
        return whole and masters == before


@pytest.fixture
def world(
    request: pytest.FixtureRequest,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capfd: pytest.CaptureFixture[str],
) -> World:
    """A release of one short song for two specs, packed for `verify`, its sheet at hand for `import`."""
    live_in(tmp_path / "home", monkeypatch)
    monkeypatch.setenv("DELIVERY_TRACEBACK", "1")
    monkeypatch.setenv("COLUMNS", "400")  # no message is cut or wrapped
    beginning, root = tmp_path / "beginning", tmp_path / "root"
    masters, out = beginning / "masters", beginning / "out"
    out.mkdir(parents=True)
    masters.mkdir()
    write_spec(masters, "native", "{bits: {must: [24]}, true_peak_max_dbtp: {should: -20.0}}", "{}")
    write_spec(masters, "sixteen", "{bits: {must: [16]}}", "{depth: lower}")
    release = write_album(masters, [Song("One", rate_hz=44_100, seconds=0.5)], ["native", "sixteen"])
    here, there = root / "masters" / "release.yaml", root / "out"
    commands = {
        "check": ("check", str(here), "--no-cache", "--workers", "1"),
        "build": ("build", str(here), "--into", str(there), "--no-cache", "--workers", "1"),
        "verify": ("verify", str(there / PACKAGE)),
        "import": ("start", str(here.parent), "--label-copy", str(here.with_name("copy.csv"))),
        "accept": ("accept", str(here), "true_peak_max_dbtp:1", "--by", "A. Moreau", "--why", "as intended"),
    }
    if request.param == "verify":
        run(["build", str(release), "--into", str(out)])
    if request.param == "import":
        release.unlink()
        sheet = "No,Title,ISRC\n1,One,ZZOSL2600001\n"
        release.with_name("copy.csv").write_text(sheet, encoding="utf-8")
    capfd.readouterr()
    return World(root, beginning, commands[request.param], lambda: "".join(capfd.readouterr()))


def spread(cases: list[tuple[int, int]], count: int) -> list[tuple[int, int]]:
    """*count* of them, evenly apart, the first and the last among them."""
    requested = os.environ.get("FAULT_CASES", "")
    count = int(requested) if requested.isdecimal() else count
    if requested == "all" or len(cases) <= count:
        return cases
    return [cases[round(at * (len(cases) - 1) / (count - 1))] for at in range(count)]


@pytest.mark.thorough(2)
@pytest.mark.parametrize(("world", "count"), CASES.items(), ids=CASES, indirect=["world"])
def test_the_nth_call_fails(world: World, count: int) -> None:
    whole_system = FaultySystem(world.root)
    world.outcome(FaultySystem(world.root))  # what is loaded once is loaded now
    whole = world.outcome(whole_system)
    untouched = hashes(world.beginning / "masters") | hashes(world.beginning / "out")
    kinds = whole_system.calls
    assert whole.code in (0, 1), whole.text
    assert {"open", "read", "stat"} <= set(kinds)
    cases = [(number, error) for number, kind in enumerate(kinds, start=1) for error in FAULTS[kind]]
    findings = []
    for number, error in spread(cases, count):
        system = FaultySystem(world.root, number, error)
        outcome = world.outcome(system)
        name = "short" if error == SHORT else errno.errorcode[error]
        wrong = complaints(outcome, whole, untouched, error)
        findings += [f"call {number} ({system.failed}, {name}), exit code {outcome.code}: {each}" for each in wrong]
    assert not findings, "\n".join(findings)


def complaints(outcome: Outcome, whole: Outcome, untouched: dict[str, str], error: int) -> list[str]:
    """What is wrong with an outcome; nothing if the command did all or nothing and reported it."""
    wrong = []
    if outcome.code not in (0, 1, 2) or "Traceback" in outcome.text or "unforeseen error" in outcome.text:
        wrong.append(f"not foreseen: {outcome.text}")
    if not outcome.is_whole and outcome.files not in (whole.files, untouched):
        changed = {path for path in outcome.files | whole.files if outcome.files.get(path) != whole.files.get(path)}
        wrong.append(f"half-made: {sorted(changed)}; said {outcome.text}")
    if outcome.files != untouched and re.search("nothing was (changed|written)", outcome.text.lower()):
        wrong.append(f"something was written: {outcome.text}")
    if (outcome.code, outcome.files) == (whole.code, whole.files):
        return wrong
    if error == SHORT:
        wrong.append(f"fewer bytes at a time are no error: {outcome.text}")
    elif not any(words in outcome.text.lower() for words in clear_words(error)):
        wrong.append(f"no clear message: {outcome.text}")
    return wrong


def clear_words(error: int) -> tuple[str, ...]:
    own = ("may not be read",) if error == errno.EACCES else ()
    return (os.strerror(error).lower(), *own)
