"""Compiles the loops when the package is installed: every module of `delivery` with a .pxd file beside it.

The system's C compiler does it (``CC``, cc, gcc or clang); where there is none, the one in the ``ziglang`` wheel, which
is only then a requirement of the build. Each module is compiled plainly, and on x86-64 once more for each set of
instructions in VARIANTS, in folders from which ``delivery.dsp.processor`` chooses. What every module needs to read
arrays is compiled once, as SHARED. The results lie beside the sources, so that editable installations find them too.

No flag lets the compiler fuse, reorder or leave out an operation on floats: what ships, and every figure, is the same
on every processor. Where sums may be split, the source splits them.
"""

from __future__ import annotations

import hashlib
import os
import platform
import shlex
import shutil
import subprocess
import sys
import sysconfig
import tempfile
from concurrent.futures import ThreadPoolExecutor
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

PACKAGE = "delivery"
SHARED = "delivery.dsp._shared"
"""Cython's own code for memory views. Inside each module it was three quarters of what the compiler had to read."""
VARIANTS = {
    "_avx2": ("-mavx2",),
    "_avx512": ("-mavx512f", "-mavx512dq", "-mavx512bw", "-mavx512vl", "-mprefer-vector-width=512"),
}
FLAGS = (
    *("-O3", "-fPIC", "-fvisibility=hidden", "-ffp-contract=off", "-fno-math-errno", "-fno-trapping-math", "-w"),
    "--param=max-completely-peel-times=7",  # or gcc unrolls loops over 8 lanes before it vectorises them
)
OWN_FLAGS = {"_roughness": ("--param=max-completely-peel-times=16",)}
"""Of single modules, after FLAGS: nine sums of 16 lanes are better unrolled first (a sixth faster with AVX2)."""
DIRECTIVES = {
    "boundscheck": False,
    "wraparound": False,
    "initializedcheck": False,
    "nonecheck": False,
    "cdivision": True,
    "infer_types": True,
    "annotation_typing": False,
}
ZIG = "ziglang>=0.13"


class CompiledLoops(BuildHookInterface):  # type: ignore[type-arg]
    """Hatchling's hook; it runs for wheels, editable ones among them."""

    def dependencies(self) -> list[str]:
        return [] if system_compiler() else [ZIG]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:  # noqa: ARG002 (the interface's argument)
        root = Path(self.root)
        built = compile_loops(root)
        build_data["pure_python"], build_data["infer_tag"] = False, True
        build_data["artifacts"] += [path.relative_to(root).as_posix() for path in built]


def system_compiler() -> list[str]:
    """The command of a C compiler of this machine; nothing where there is none."""
    named = shlex.split(os.environ.get("CC", ""))
    found = [named] if named else [[name] for name in ("cc", "gcc", "clang")]
    return next((command for command in found if shutil.which(command[0])), [])


def compiler() -> list[str]:
    """The command of the C compiler to use.

    Raises
    ------
    SystemExit : there is none
    """
    command = system_compiler()
    if not command and find_spec("ziglang"):
        command = [sys.executable, "-m", "ziglang", "cc"]
    if not command:
        sys.exit(f"delivery: found no C compiler, wanted cc, gcc or clang on the path, or the package '{ZIG}'.")
    return command


def variants() -> dict[str, tuple[str, ...]]:
    """Folder -> flags of each way to compile a module here; '' is the module's own folder."""
    x86_64 = platform.machine().lower() in ("x86_64", "amd64")
    return {"": (), **(VARIANTS if x86_64 else {})}


def sources(root: Path) -> list[Path]:
    """Modules to compile: those with C types beside them, and a source of that name."""
    return sorted(
        path.with_suffix(".py") for path in (root / PACKAGE).rglob("*.pxd") if path.with_suffix(".py").exists()
    )


def compile_loops(root: Path) -> list[Path]:
    """Compile what was not compiled from these very sources; every compiled file, new or not."""
    suffix = sysconfig.get_config_var("EXT_SUFFIX") or ".so"
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(os.cpu_count()) as pool:
        shared, waiting = root / f"{SHARED.replace('.', '/')}{suffix}", []
        built = [shared]
        if not _is_of(shared, digest := _digest()):
            c_file = _translated_shared(Path(folder) / "_shared.c")
            waiting.append(pool.submit(_compiled, c_file, (), shared, digest))
        for source in sources(root):
            digest = _digest(source, source.with_suffix(".pxd"))
            ways = variants() if source.stem.startswith("_") else {"": ()}
            own = OWN_FLAGS.get(source.stem, ())
            targets = {source.parent / name / (source.stem + suffix): (*flags, *own) for name, flags in ways.items()}
            stale = {path: flags for path, flags in targets.items() if not _is_of(path, digest)}
            if stale:
                c_file = _translated(source, root, Path(folder) / f"{len(waiting)}.c")
                waiting += [pool.submit(_compiled, c_file, flags, path, digest) for path, flags in stale.items()]
            built += targets
        for job in waiting:
            job.result()
    return built


def _digest(*sources: Path) -> str:
    """Of everything that decides what is compiled; kept beside the result. SHARED fits one version of Cython only."""
    import Cython

    read = [path.read_bytes() for path in (*sources, Path(__file__))]
    return hashlib.sha256(b"".join([*read, Cython.__version__.encode()])).hexdigest()


def _note(target: Path) -> Path:
    return target.with_name(f"{target.name}.digest")


def _is_of(target: Path, digest: str) -> bool:
    note = _note(target)
    return target.exists() and note.exists() and note.read_text() == digest


def _translated(source: Path, root: Path, c_file: Path) -> Path:
    from Cython.Compiler import Errors
    from Cython.Compiler.Main import CompilationOptions, compile_single
    from Cython.Compiler.Options import default_options

    Errors.LEVEL = 2  # the lower level warns of `inline` in a .pxd, which is the place for it where a source has one
    name = ".".join(source.relative_to(root).with_suffix("").parts)
    how = {"language_level": 3, "compiler_directives": DIRECTIVES, "shared_utility_qualified_name": SHARED}
    options = CompilationOptions({**default_options, **how, "output_file": str(c_file)})
    try:
        result = compile_single(str(source), options, full_module_name=name)
    except Errors.CompileError as error:
        sys.exit(f"delivery: {source.name} cannot be compiled: {error}")
    if result.num_errors:
        sys.exit(f"delivery: {source.name} cannot be compiled.")
    return c_file


def _translated_shared(c_file: Path) -> Path:
    from Cython.Build.SharedModule import generate_shared_module
    from Cython.Compiler.Main import CompilationOptions
    from Cython.Compiler.Options import default_options

    how = {"language_level": 3, "shared_c_file_path": str(c_file), "module_name": SHARED}
    generate_shared_module(CompilationOptions({**default_options, **how}))
    return c_file


def _compiled(c_file: Path, flags: tuple[str, ...], target: Path, digest: str) -> None:
    target.parent.mkdir(exist_ok=True)
    fresh = target.with_name(f".{os.getpid()}-{target.name}")
    include = [f"-I{sysconfig.get_path(kind)}" for kind in ("include", "platinclude")]
    command = [*compiler(), *FLAGS, *flags, *include, *_linking(), str(c_file), "-o", str(fresh)]
    done = subprocess.run(command, capture_output=True, encoding="utf-8", errors="replace", check=False)
    if done.returncode != 0:
        fresh.unlink(missing_ok=True)
        hint = "Python's own headers are missing (on Debian: python3-dev). " if "Python.h" in done.stderr else ""
        sys.exit(f"delivery: the C compiler failed. {hint}{shlex.join(command)}\n{done.stderr[-3000:]}")
    fresh.replace(target)
    _note(target).write_text(digest)


def _linking() -> list[str]:
    if sys.platform == "darwin":
        return ["-bundle", "-undefined", "dynamic_lookup"]
    if sys.platform == "win32":
        library = f"python{sys.version_info[0]}{sys.version_info[1]}"
        return ["-shared", f"-L{Path(sys.base_prefix) / 'libs'}", f"-l{library}"]
    return ["-shared", "-s", "-lm"]


if __name__ == "__main__":  # for those who change a loop: python hatch_build.py
    for path in compile_loops(Path(__file__).parent):
        print(path)
