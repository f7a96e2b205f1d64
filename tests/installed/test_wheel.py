"""The wheel holds everything, and the installed command works from any folder, without the clone."""

from __future__ import annotations

import os
import subprocess
import sys
import sysconfig
import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from demo import album
from demo.songs import Part

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parents[2]
EXT_SUFFIX = str(sysconfig.get_config_var("EXT_SUFFIX"))
BIN, EXE = ("Scripts", ".exe") if os.name == "nt" else ("bin", "")

UV = (sys.executable, "-m", "uv")

Run = Callable[..., subprocess.CompletedProcess[str]]


def must(*command: str | Path) -> None:
    """Run a step of the set-up; on failure, its whole output is the message."""
    words = [str(word) for word in command]
    done = subprocess.run(words, capture_output=True, encoding="utf-8", check=False)
    assert done.returncode == 0, f"{' '.join(words)}\n{done.stdout}\n{done.stderr}"


@pytest.fixture(scope="session")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The clone's wheel, built in isolation as any installer would."""
    folder = tmp_path_factory.mktemp("wheel")
    must(*UV, "build", "--quiet", "--wheel", "--out-dir", folder, ROOT)
    (built,) = folder.glob("delivery-*.whl")
    return built


@pytest.fixture(scope="session")
def command(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The installed ``delivery``, in an empty environment with its requirements and nothing else.

    Bytecode is compiled now, as pip does, and not by the first command.
    """
    folder = tmp_path_factory.mktemp("installed") / "env"
    must(*UV, "venv", "--quiet", "--python", sys.executable, folder)
    python = folder / BIN / f"python{EXE}"
    must(*UV, "pip", "install", "--quiet", "--compile-bytecode", "--python", python, wheel)
    return folder / BIN / f"delivery{EXE}"


@pytest.fixture
def delivery(command: Path, tmp_path: Path) -> Run:
    """Run the installed command in an empty folder, seeing nothing of the clone or of this user's settings."""
    elsewhere, home = tmp_path / "elsewhere", tmp_path / "home"
    elsewhere.mkdir()
    home.mkdir()
    hidden = {"PYTHONPATH", "VIRTUAL_ENV", "PYTHONHOME"}
    environment = {name: value for name, value in os.environ.items() if name not in hidden}
    xdg = (f"XDG_{kind}_HOME" for kind in ("CACHE", "CONFIG", "DATA"))
    for name in ("HOME", "USERPROFILE", "LOCALAPPDATA", "APPDATA", *xdg):
        environment[name] = str(home)

    def run(*words: str | Path) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [str(command), *map(str, words)],
            cwd=elsewhere,
            env={**environment, "PYTHONUTF8": "1"},
            stdin=subprocess.DEVNULL,
            capture_output=True,
            encoding="utf-8",
            check=False,
        )

    return run


def test_the_wheel_holds_the_package_and_every_spec(wheel: Path) -> None:
    """All modules, templates and spec files of the clone are inside, under the package; tests and demo are not."""
    inside = set(zipfile.ZipFile(wheel).namelist())
    package = [path for path in (ROOT / "delivery").rglob("*") if path.is_file() and path.parent.name != "__pycache__"]
    package = [path for path in package if path.suffix not in (".so", ".pyd", ".digest")]  # perhaps of other Pythons
    modules = {path.relative_to(ROOT).as_posix() for path in package}
    data = {f"delivery/{path.relative_to(ROOT).as_posix()}" for path in (ROOT / "specs").rglob("*") if path.is_file()}
    templates = ROOT / "delivery" / "report" / "html" / "templates"
    data |= {path.relative_to(ROOT).as_posix() for path in templates.iterdir()}
    assert len(modules) > 50
    assert {Path(name).suffix for name in data} >= {".yaml", ".json", ".j2", ".css", ".js"}
    assert modules | data <= inside
    compiled = {path.with_suffix(EXT_SUFFIX) for path in (ROOT / "delivery").rglob("*.pxd")}
    assert len(compiled) > 5
    assert {path.relative_to(ROOT).as_posix() for path in compiled} <= inside
    assert not wheel.name.endswith("-none-any.whl")
    assert {name.split("/")[0].split("-")[0] for name in inside} == {"delivery"}


def test_the_first_command_neither_compiles_nor_waits(command: Path) -> None:
    """Without a compiler on the path and with an empty home."""
    must(command.with_name(f"python{EXE}"), ROOT / "tests" / "installed" / "first_command.py")


def test_what_installing_puts_on_the_disk(command: Path) -> None:
    """Without extras; the installer's own packages are not counted. A third is scipy, which comes with pyloudnorm."""
    (packages,) = command.parent.parent.rglob("site-packages")
    own = ("pip", "setuptools", "pkg_resources", "_distutils_hack", "distutils-precedence")
    files = [
        path for entry in packages.iterdir() if not entry.name.startswith(own) for path in (entry, *entry.rglob("*"))
    ]
    size_mb = sum(path.stat().st_size for path in files if path.is_file()) / 1e6
    assert {"delivery", "numpy", "av"} <= {path.name for path in packages.iterdir()}
    assert 100 < size_mb < 480


def test_help_and_specs_from_another_folder(delivery: Run) -> None:
    """Every command answers ``--help``; every shipped recipient is listed."""
    reported = delivery("--help")
    assert reported.returncode == 0, reported.stderr
    for name in ("check", "build", "accept", "verify", "measure", "start", "spec"):
        assert name in reported.stdout
        assert delivery(name, "--help").returncode == 0
    listed = delivery("spec", "list")
    assert listed.returncode == 0, listed.stderr
    for spec in album.DELIVER_TO:
        assert spec in listed.stdout


def test_a_release_is_built_and_verified_from_another_folder(delivery: Run, tmp_path: Path) -> None:
    """From masters to a package with its sheet, and the package verifies, all outside the clone."""
    form = (Part("intro", 1), Part("chorus", 1), Part("outro", 1))
    titles = tuple(replace(title, song=replace(title.song, form=form)) for title in album.ALBUM[:2])
    release = album.write_corrected(tmp_path / "release", titles, ("store-master-24", "cd-rate-16"))
    before = {path.name: path.read_bytes() for path in release.parent.iterdir()}
    (tmp_path / "out").mkdir()
    built = delivery("build", release, "--into", tmp_path / "out")
    assert built.returncode == 0, built.stdout + built.stderr
    (package,) = (path for path in (tmp_path / "out").iterdir() if path.is_dir())
    assert len(list(package.rglob("*.wav"))) == 4
    (sheet,) = package.rglob("*.pdf")
    assert sheet.read_bytes().startswith(b"%PDF-")
    assert {path.name: path.read_bytes() for path in release.parent.iterdir()} == before
    verified = delivery("verify", package)
    assert verified.returncode == 0, verified.stdout + verified.stderr
