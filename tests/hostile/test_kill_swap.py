"""Killed while packing: either no target or a whole one; when replacing, the old one or the new one."""

from __future__ import annotations

import json
import random
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest

from delivery.pack.bag import check_bag
from delivery.pack.swap import recover
from tests.pack.invented import make_bag, tree

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL and fork are POSIX")

# The builder, in a process of its own. With a number it dies by SIGKILL at that file operation (Python's audit events
# tell of each one before it happens); a fork for each number spares the imports.
BUILDER = """
    import json, os, signal, sys
    from pathlib import Path
    from delivery.pack import system
    from delivery.pack.swap import recover, whole_or_nothing
    from tests.pack.invented import make_bag

    WATCHED = {"open", "os.mkdir", "os.rename", "os.remove", "os.rmdir", "os.scandir", "os.listdir"}

    def build(target, replace):
        with whole_or_nothing(target, replace=replace) as hidden:
            make_bag(hidden, b"new")

    def die_at(number):
        left = number
        def watch(event, _):
            nonlocal left
            if event in WATCHED:
                left -= 1
                if left == 0:
                    os.kill(os.getpid(), signal.SIGKILL)
        sys.addaudithook(watch)

    def every_moment(folder, old, two_renames):
        for number in range(1, 10_000):
            target = folder / str(number) / "x"
            target.parent.mkdir()
            if old:
                make_bag(target, b"old")
            child = os.fork()
            if not child:
                if two_renames:
                    system._renameat2 = lambda *_: False
                die_at(number)
                build(target, old)
                os._exit(0)
            if os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0:
                return number

    def for_ever(target):
        print("ready", flush=True)
        while True:
            build(target, True)

    folder = Path(sys.argv[2])
    if sys.argv[1] == "for ever":
        for_ever(folder)
    print(json.dumps(every_moment(folder, *json.loads(sys.argv[1]))))
"""


def builder(mode: str, folder: Path) -> subprocess.Popen[str]:
    command = [sys.executable, "-c", textwrap.dedent(BUILDER), mode, str(folder)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True)


@pytest.mark.thorough(2)
@pytest.mark.parametrize("two_renames", [False, True], ids=["one step", "two renames"])
@pytest.mark.parametrize("old", [False, True], ids=["new", "replacing"])
def test_killed_at_every_file_operation(tmp_path: Path, old: bool, two_renames: bool) -> None:
    """SIGKILL at operation 1, 2, 3 ... until a build gets through."""
    whole = {
        name: tree(make_bag(tmp_path.parent / f"{tmp_path.name} {name}", name.encode())) for name in ("old", "new")
    }
    with builder(json.dumps([old, two_renames]), tmp_path) as process:
        last = int(process.communicate(timeout=60)[0])
    assert last > 25, "a build of this size takes more operations than that"
    seen = set()
    for number in range(1, last + 1):
        target = tmp_path / str(number) / "x"
        before = target.exists()
        assert not before or tree(target) in whole.values(), number
        assert before or two_renames or not old, "only two renames can leave a gap, and `recover` fills it"
        recover(target)
        assert [path.name for path in target.parent.iterdir()] == (["x"] if target.exists() else []), number
        seen.add(next((name for name in whole if target.exists() and tree(target) == whole[name]), "none"))
    assert seen == ({"old", "new"} if old else {"none", "new"})


def test_killed_at_random_moments(tmp_path: Path) -> None:
    """From outside, at any machine instruction; every package seen is whole by its own checksums."""
    moments = random.Random(14)
    target = tmp_path / "x"
    make_bag(target, b"old")
    for _ in range(12):
        with builder("for ever", target) as process:
            assert process.stdout is not None
            assert process.stdout.readline() == "ready\n"
            time.sleep(moments.uniform(0, 0.08))
            process.send_signal(signal.SIGKILL)
        recover(target)
        assert [path.name for path in tmp_path.iterdir()] == ["x"]
        assert check_bag(target) == ()
