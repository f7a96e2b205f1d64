"""The command `delivery`. Each module here whose name has no underscore is one command; being here is being found.

A command module gives ``add(app)``. It holds no logic: it reads words, calls a room, prints, and sets the exit code.
"""

from __future__ import annotations

import importlib
import pkgutil

import typer

EPILOG = (
    "A typical day:  delivery start MASTERS  ·  delivery check MASTERS/release.yaml  ·  "
    "delivery build MASTERS/release.yaml  ·  delivery verify PACKAGE.  "
    "Exit codes: 0 all met, 1 something is not met, 2 the input cannot be used, 70 an error in the program, "
    "130 interrupted."
)


def make_app() -> typer.Typer:
    """The command line with every command of this folder, in the order of a day's work."""
    app = typer.Typer(
        name="delivery",
        help="Check masters against delivery specs, and pack releases with a sheet you can stand behind.",
        epilog=EPILOG,
        no_args_is_help=True,
        rich_markup_mode="rich",
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    app.callback()(_version)
    names = [info.name for info in pkgutil.iter_modules(__path__) if not info.name.startswith("_")]
    for module in sorted((importlib.import_module(f"{__name__}.{name}") for name in names), key=_day_order):
        module.add(app)
    return app


def _day_order(module: object) -> tuple[float, str]:
    return (getattr(module, "ORDER", 99), str(module))


def _version(
    version: bool = typer.Option(False, "--version", help="Print the version and stop.", is_eager=True),
) -> None:
    if version:
        from delivery import __version__

        typer.echo(__version__)
        raise typer.Exit
