"""delivery watch: check every bounce as soon as it is complete, and keep a board of all releases."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from delivery.cli import _edge

if TYPE_CHECKING:
    from delivery.model.release_state import Row

ORDER = 2.5


def add(app: typer.Typer) -> None:
    """Register the command."""
    app.command(
        epilog=_edge.examples(
            "delivery watch bounces albums --notify",
        )
    )(watch)


def watch(
    folders: Annotated[list[Path], typer.Argument(help="Folders, with all that is below them.", metavar="FOLDER...")],
    spec: _edge.SpecNames = None,
    notify: Annotated[
        bool, typer.Option("--notify", help="A notification of the system each time a release changes its state.")
    ] = False,
    poll: Annotated[
        bool, typer.Option("--poll", help="Look again and again: for network drives that report no changes.")
    ] = False,
    no_cache: _edge.NoCache = False,
    workers: _edge.Workers = _edge.DEFAULT_WORKERS,
) -> None:
    """Check each new bounce as soon as it is complete.

    Runs until Ctrl-C.

    A folder with a release file is checked as a release; a sound file without one is checked by its sound, against
    --spec or the studio's own specs. Nothing is written but the cache. Needs: pip install 'delivery[watch]'.
    """
    from delivery import Options
    from delivery.tasks.watch import watch

    tell = _notifier() if notify else None
    if spec:
        _refuse_unknown_specs(folders, tuple(spec))
    with _edge.measurement_cache(no_cache) as cache:
        options = Options(workers=workers, cache=cache)
        show = _live() if _edge.console().is_terminal else _log
        try:
            for rows, changed in watch(folders, tuple(spec or ()), options, poll=poll):
                show(rows, changed)
                if tell and changed and not changed.writing:
                    tell(changed)
        except KeyboardInterrupt:
            _edge.say("No longer watching.")


def _refuse_unknown_specs(folders: list[Path], specs: tuple[str, ...]) -> None:
    """Refuse at once what every bounce would be refused for later. A spec may lie beside a release file."""
    from delivery import load_spec, load_studio
    from delivery.tasks.several import release_files_below

    beside = [file.parent for folder in folders if folder.is_dir() for file in release_files_below(folder)]
    for name in specs:
        load_spec(name, (*folders, *beside, *load_studio(Path.cwd()).spec_folders))


def _live() -> Callable[[tuple[Row, ...], Row | None], None]:
    """The whole board in place of the last one."""
    from datetime import date

    from rich.console import Group

    from delivery.report.text.board import board

    console = _edge.console()

    def show(rows: tuple[Row, ...], _changed: Row | None) -> None:
        console.clear()
        console.print(Group(*board(rows, date.today())))

    return show


def _log(rows: tuple[Row, ...], changed: Row | None) -> None:
    """One line for each change; at first one for each release."""
    from datetime import datetime

    from delivery.report.text.board import change_line

    for row in (changed,) if changed else rows:
        print(change_line(row, datetime.now()), flush=True)


def _notifier() -> Callable[[Row], None]:
    from delivery.errors import Unusable

    try:
        from desktop_notifier.sync import DesktopNotifierSync
    except ImportError:
        wanted = "the package desktop-notifier"
        raise Unusable(
            "--notify", "it is not installed", wanted, "Install it: pip install 'delivery[watch]'."
        ) from None
    import logging

    from delivery.report.text.board import row_words

    class Once(logging.Handler):
        """The library logs what went wrong, traceback and all: its last line is said, once."""

        def emit(self, record: logging.LogRecord) -> None:
            log.removeHandler(self)
            why = record.exc_info[1] if record.exc_info else None
            _edge.say(f"No notifications: {why or record.getMessage()}")

    log = logging.getLogger("desktop_notifier")
    log.propagate = False
    log.handlers[:] = [logging.NullHandler(), Once()]
    notifier = DesktopNotifierSync(app_name="delivery")

    def tell(row: Row) -> None:
        try:
            notifier.send(title=row.state.title, message=row_words(row))
        except Exception as error:  # noqa: BLE001 - a desktop without notifications must not end the watch
            _edge.say(f"No notification: {error}")

    return tell
