"""Shared by the commands: options, console, progress, cache, exit codes."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from delivery.errors import here as here
from delivery.errors import typed as typed

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

    from delivery.model.finding import Result
    from delivery.model.release import Studio, Waiver
    from delivery.pipeline.engine import Engine
    from delivery.tasks.measure import Measured
    from delivery.tasks.stores import MeasurementCache

AsJson = Annotated[bool, typer.Option("--json", help="One JSON document on standard output, nothing else.")]
NoCache = Annotated[bool, typer.Option("--no-cache", help="Measure again; neither read nor write the cache.")]
Workers = Annotated[int, typer.Option("--workers", "-w", min=1, max=64, help="Files at a time. Never changes results.")]
ClusterAddress = Annotated[
    str,
    typer.Option(
        "--cluster",
        metavar="ADDRESS",
        help="Measure files on the workers of this dask scheduler, by shared paths: tls://host:8786.",
    ),
]
Remote = Annotated[
    bool,
    typer.Option(
        "--remote", help="Also read addresses (s3://, sftp://, https://): files are fetched; nothing is written there."
    ),
]
SpecNames = Annotated[
    list[str] | None,
    typer.Option("--spec", "-s", help="Spec name or path. Repeat for several. Default: the release's own."),
]

DEFAULT_WORKERS = max(1, min(8, os.cpu_count() or 1))


@contextmanager
def loading(module: str) -> Iterator[None]:
    """For what loads *module* and all that it needs: modules stay, so nothing searches them for garbage, then or later.

    That took a fifteenth of a short command. Where the module is loaded already, nothing is changed.
    """
    if module in sys.modules or not gc.isenabled():
        yield
        return
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        gc.enable()


def console() -> Console:
    """Standard output; rich on a terminal, plain text when piped."""
    from rich.console import Console

    return Console(highlight=False, soft_wrap=False)


def examples(*commands: str) -> str:
    """The end of a help text: commands to copy, each in a line of its own, which is not wrapped."""
    heading = "Example:" if len(commands) == 1 else "Examples:"
    return "\n".join(["\b", heading, *(f"  {command}" for command in commands)])


def show(renderables: Iterable[RenderableType]) -> None:
    """Print each below the other; a command to type stays in one line, whatever the width of the terminal.

    A group, because a console joins bare texts to a new one, which wraps.
    """
    from rich.console import Group

    console().print(Group(*renderables), crop=False)


SAID: list[str] = []
"""Remarks printed in this process."""


def say(text: str) -> None:
    """Print a remark on standard error, beside the result."""
    SAID.append(text)
    print(text, file=sys.stderr)


def say_of_ledger() -> None:
    """Print what happened to the ledger and was not said: at the end of a command, after an error as well."""
    store = sys.modules.get("delivery.ledger.store")  # absent if the command used no ledger
    for report in dict.fromkeys(store.REPORTS if store else ()):
        if not any(report in said for said in SAID):
            say(report)
    SAID.clear()
    if store:
        store.REPORTS.clear()


def is_interactive() -> bool:
    """True if input and output are a terminal: a pipe cannot answer questions."""
    return sys.stdin is not None and sys.stdin.isatty() and sys.stdout.isatty()


def print_json(document: Any) -> None:
    """Print *document* as JSON to standard output."""
    import json

    print(json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False))


def print_bytes(document: bytes) -> None:
    """Write a document that is already bytes (UTF-8) unchanged."""
    sys.stdout.buffer.write(document)
    sys.stdout.buffer.flush()


@contextmanager
def measurement_cache(no_cache: bool, studio: Studio | None = None) -> Iterator[MeasurementCache | None]:
    """The cache in the ledger, or None; its remarks (set aside, read-only) are printed at the end.

    Parameters
    ----------
    studio : names the ledger; None: the studio file of the working folder
    """
    if no_cache:
        yield None
        return
    from delivery.tasks.stores import MeasurementCache, ledger_path

    with MeasurementCache(ledger_path(studio)) as cache:
        yield cache
    for remark in cache.remarks:
        say(remark)


def local(
    context: typer.Context, paths: Sequence[Path], remote: bool, workers: int, silent: bool
) -> tuple[list[Path], Mapping[Path, str]]:
    """*paths*, and what lies at addresses among them fetched into a folder that lasts until the command ends; and of
    each fetched file its address.

    Raises
    ------
    Unusable : an address without --remote
    Unusable, Unfinished : as `delivery.tasks.mirror.mirrored`
    """
    if not any(":/" in path.as_posix() for path in paths):
        return list(paths), {}
    from tempfile import TemporaryDirectory

    from delivery.tasks.mirror import Mirror, mirrored, places_of

    places = places_of(paths, remote=remote)
    folder = TemporaryDirectory(prefix="delivery-")
    context.call_on_close(folder.cleanup)
    mirror = Mirror(Path(folder.name).resolve())
    with progress(silent) as bar:
        found = mirrored(places, mirror, workers, bar)
    for remark in mirror.remarks:
        say(remark)
    return found, mirror.fetched


def shown_address(address: str) -> str:
    """An address as printed; empty stays empty."""
    if not address:
        return ""
    from delivery.pipeline.remote import shown

    return shown(address)


def with_addresses(found: Measured, fetched: Mapping[Path, str]) -> Measured:
    """*found*, with the address of each source that was fetched."""
    from dataclasses import replace

    sources = (replace(each, address=shown_address(fetched.get(each.track.file, ""))) for each in found.sources)
    return replace(found, sources=tuple(sources))


@contextmanager
def engine(cluster: str, fetched: Mapping[Path, str] | None = None) -> Iterator[Engine | None]:
    """Where files are measured: on the workers of a cluster; None: here.

    Parameters
    ----------
    fetched : files here -> the addresses that they were fetched from, where workers find them

    Raises
    ------
    Unusable, Unfinished : as `delivery.pipeline.cluster.connected`
    """
    if not cluster:
        yield None
        return
    from delivery.pipeline.cluster import connected

    with connected(cluster, fetched or {}) as found:
        yield found


@contextmanager
def progress(silent: bool) -> Iterator[Callable[[str, int, int], None]]:
    """A progress line with the time left on standard error; nothing when piped or *silent*."""
    if silent or not sys.stderr.isatty():
        yield lambda _says, _done, _total: None
        return
    import time

    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, ProgressColumn, Task, TextColumn
    from rich.progress import TimeElapsedColumn as Elapsed
    from rich.text import Text

    from delivery.report.text.time_left import TimeLeft, time_left

    class Left(ProgressColumn):
        def render(self, task: Task) -> Text:
            return Text(time_left(task.fields["left"].seconds(int(task.total or 0), time.monotonic())))

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), Elapsed(), Left())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bars:
        tasks: dict[str, Any] = {}
        left: dict[str, TimeLeft] = {}

        def show(sentence: str, done: int, total: int) -> None:
            now_s = time.monotonic()
            if sentence not in tasks:
                left[sentence] = TimeLeft(now_s)
                tasks[sentence] = bars.add_task(sentence, total=total, left=left[sentence])
            left[sentence].note(done, now_s)
            bars.update(tasks[sentence], completed=done, total=total)

        yield show


def exit_code(result: Result) -> int:
    """0 all met, 1 something not met or not measured, 2 an input cannot be used."""
    from delivery.model.finding import Result

    return {Result.READY: 0, Result.REMARKS: 0, Result.UNUSABLE: 2}.get(result, 1)


def waivers_of(rules: list[str] | None, by: str, why: str) -> tuple[Waiver, ...]:
    """Waivers from the command line: 'RULE' for the whole release, 'RULE:3' for its third track.

    Raises
    ------
    Unusable : a name or a reason is missing, or the track is not a number
    """
    from delivery.errors import Unusable
    from delivery.model.release import Waiver

    if not rules:
        return ()
    if not by.strip() or not why.strip():
        raise Unusable(
            "--waive",
            "no name or no reason",
            "--by NAME and --why TEXT",
            "A waiver is printed on the sheet with both.",
        )
    waivers = []
    for text in rules:
        rule, _, track = text.partition(":")
        if track and not track.isdecimal():
            raise Unusable("--waive", repr(text), "RULE or RULE:TRACK", "TRACK is a position such as 3.")
        waivers.append(Waiver(rule, by.strip(), why.strip(), int(track) if track else None))
    return tuple(waivers)


def waived(release_file: Path, waivers: Sequence[Waiver]) -> list[str]:
    """What was waived, and for how long it holds; empty without a waiver."""
    lines = []
    for one in waivers:
        track = f" of track {one.track}" if one.track else ""
        until = f" for revision {one.revision} only" if one.revision else " until it is deleted there"
        lines.append(f"Waived {one.rule}{track}, by {one.by}: it holds{until}.")
    return [*lines, f"Written to {here(release_file)} under 'waivers'."] if lines else []


def write_page(path: Path, page: bytes) -> None:
    """Write an HTML page.

    Raises
    ------
    Occupied : there is a file at *path*
    Unfinished : it cannot be written
    """
    from delivery.errors import Occupied
    from delivery.tasks.write import write_bytes

    if path.exists():
        raise Occupied(str(path), "an existing file", "a path that does not exist yet", "Choose another name.")
    write_bytes(path, page)
    say(f"Wrote {here(path)}.")
