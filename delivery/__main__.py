"""`delivery` and `python -m delivery`: every error becomes one clear message and an exit code."""

from __future__ import annotations

import os
import sys

INTERRUPTED = 130


def main() -> None:
    """Run the command line; never let a traceback through."""
    sys.exit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    """Run one command and give its exit code: 0 all met, 1 short, 2 unusable input, 130 interrupted."""
    import click
    from typer.main import get_command

    from delivery.cli import make_app
    from delivery.errors import DeliveryError

    _speak_utf8()
    try:
        code = get_command(make_app()).main(arguments, prog_name="delivery", standalone_mode=False)
    except DeliveryError as error:
        print(error, file=sys.stderr)
        return error.exit_code
    except click.exceptions.NoArgsIsHelpError as error:
        print(error.format_message())
        return 0
    except click.ClickException as error:
        error.show()
        return error.exit_code
    except (click.exceptions.Abort, KeyboardInterrupt):
        print("Interrupted: nothing half-made is left behind.", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # the reader has gone; so do we, quietly
        return 0
    return code if isinstance(code, int) else 0


def _speak_utf8() -> None:
    """Titles come in any script; a console that cannot show one prints '?' rather than failing."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure and (stream.encoding or "").lower() not in ("utf-8", "utf8"):
            reconfigure(errors="replace")


if __name__ == "__main__":
    main()
