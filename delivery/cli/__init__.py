"""The command `delivery`. Every module here without a leading underscore is one command and is found by name.

A command module gives ``add(app)``. It holds no logic: it parses arguments, calls a package below, prints, and sets the
exit code.
"""

from __future__ import annotations

import importlib
import pkgutil
from pathlib import Path
from typing import Any

import typer

from delivery.cli._values import convert_plainly, value_kind

EPILOG = (
    "\b\nA typical day:\n  delivery start MASTERS\n  delivery check MASTERS\n  delivery build MASTERS\n"
    "  delivery verify PACKAGE\n\n"
    "Exit codes: 0 all met, 1 something is not met, 2 the input cannot be used, 70 an error in the program, "
    "130 interrupted."
)
HELP_NAMES = ["-h", "--help"]


def make_command(name: str = "") -> Any:
    """The command line, ready to be called; its help names kinds of values in plain words.

    Parameters
    ----------
    name : of the only command that is wanted, which loads faster; all commands if there is none of that name
    """
    from typer.main import get_command

    command = get_command(make_app(name))
    _adapt_parameters(command)
    return command


def _adapt_parameters(command: Any) -> None:
    """'FILE', 'NUMBER' or 'TEXT' where the library would print a Python type; plain values converted plainly."""
    help_option = command.get_help_option(command.context_class(command, help_option_names=HELP_NAMES))
    for parameter in (*command.params, help_option):
        convert_plainly(parameter)
    for parameter in command.params:
        if parameter.param_type_name == "argument":
            parameter.metavar = parameter.metavar or parameter.name.upper()
            parameter.display_type_rich = lambda ctx: ""  # noqa: ARG005 - called by that name
        elif parameter.metavar is None and not getattr(parameter, "is_flag", False):
            kind = value_kind(parameter)
            parameter.metavar = "FILE" if kind is Path else "NUMBER" if kind in (int, float) else "TEXT"
        if isinstance(bounds := _bounds_of(parameter), str):
            parameter._get_number_range_help_str = lambda bounds=bounds: bounds
    for inner in getattr(command, "commands", {}).values():
        _adapt_parameters(inner)


def _bounds_of(parameter: Any) -> str | None:
    """'1 to 64'; None where a number has no bounds, or one only."""
    least, most = getattr(parameter, "min", None), getattr(parameter, "max", None)
    return None if least is None or most is None else f"{least:g} to {most:g}"


def make_app(name: str = "") -> typer.Typer:
    """The command line with every command of this folder, in the order of a day's work; or only one, as above."""
    app = typer.Typer(
        name="delivery",
        help="Check masters against delivery specs, and pack releases with a verified sheet.",
        epilog=EPILOG,
        no_args_is_help=True,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": HELP_NAMES},
    )
    app.callback()(_version)
    names = [info.name for info in pkgutil.iter_modules(__path__) if not info.name.startswith("_")]
    wanted = name.replace("-", "_")
    names = [wanted] if wanted in names else names
    for module in sorted((importlib.import_module(f"{__name__}.{name}") for name in names), key=_day_order):
        module.add(app)
    return app


def _day_order(module: object) -> tuple[float, str]:
    return (getattr(module, "ORDER", 99), str(module))


def _print_version(wanted: bool) -> None:
    """Called while options are read, so that no command is needed."""
    if wanted:
        from delivery import __version__

        typer.echo(__version__)
        raise typer.Exit


def _version(
    version: bool = typer.Option(
        False, "--version", help="Print the version and stop.", is_eager=True, callback=_print_version
    ),
) -> None:
    """Options of the command line itself."""
