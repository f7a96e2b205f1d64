"""`delivery` and `python -m delivery`: every error becomes one clear message and an exit code."""

from __future__ import annotations

import atexit
import gc
import os
import sys

INTERRUPTED = 130
UNFORESEEN = 70
"""EX_SOFTWARE of sysexits.h: an internal error, not a fault of the input."""
SWITCH_S = 0.0005
"""Longest time for which Python code in one thread keeps another from its next call of a compiled loop. In Python's own
5 ms, a thread that hashes or measures beside one that sets a page makes a call where it could make five."""
TRACEBACK = "DELIVERY_TRACEBACK"
"""Environment variable that prints the traceback of an unforeseen error, for a bug report."""


def main() -> None:
    """Run the command line; a traceback never reaches the user."""
    _open_closed_streams()
    code = run(sys.argv[1:])
    if len(sys._current_frames()) == 1:  # else a thread is at work, which Python waits for
        _end(code)
    sys.exit(code)


def _end(code: int) -> None:
    """End the process with nothing left to do but to free its memory: object by object that takes 3 % of a short run.

    Returns if what was printed cannot be written: then Python reports it as it always does.
    """
    atexit._run_exitfuncs()
    try:
        for stream in (sys.stdout, sys.stderr):
            stream.flush()
    except (AttributeError, OSError, ValueError):  # None, not writable, or closed
        return
    os._exit(code)


def run(arguments: list[str]) -> int:
    """Run one command and return its exit code: 0 all met, 1 not met, 2 unusable input, 70 internal error, 130
    interrupted."""
    from delivery.errors import DeliveryError

    _use_utf8()
    gc.set_threshold(10_000, 20, 50)  # most objects live as long as the command: looking among them took 2 % of a build
    sys.setswitchinterval(SWITCH_S)
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # NumPy starts a thread a core; files are what runs side by side
    try:
        from delivery.cli import _edge, make_command  # importing takes a moment, and Ctrl-C may come in it

        try:
            make_command(*arguments[:1])(arguments, prog_name="delivery")
        finally:
            _edge.say_of_ledger()
    except DeliveryError as error:
        print(error, file=sys.stderr)
        return error.exit_code
    except KeyboardInterrupt:
        return _interrupted()
    except BrokenPipeError:
        os.dup2(
            os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno()
        )  # the reading end of the pipe was closed: exit quietly
    except OSError as error:
        print(_machine_message(error), file=sys.stderr)
        return 2
    except UnicodeEncodeError as error:
        print(_locale_message(error), file=sys.stderr)
        return 2
    except SystemExit as end:
        return _interrupted() if end.code == INTERRUPTED else int(end.code or 0)
    except Exception as error:  # noqa: BLE001 - the last edge: an unforeseen error is one message too
        return _unforeseen(error)
    return 0


def _unforeseen(error: Exception) -> int:
    if os.environ.get(TRACEBACK):
        import traceback

        traceback.print_exception(error)
    kind, words = type(error).__name__, " ".join(str(error).split())[:300]
    print(
        f"delivery: found an error in the program itself ({kind}: {words}), wanted none. Nothing half-made is left "
        f"behind. Please report it, with what {TRACEBACK}=1 in the environment prints.",
        file=sys.stderr,
    )
    return UNFORESEEN


def _machine_message(error: OSError) -> str:
    """One message for an OSError raised outside the pipeline's own error handling."""
    place, found = error.filename or "this machine", (error.strerror or type(error).__name__).lower()
    remedy = "Check the path, its permissions and the disk."
    return f"{place}: found {found}, wanted a place that can be read and written. {remedy}"


def _locale_message(error: UnicodeEncodeError) -> str:
    """One message for a file name that the locale cannot encode; text inside files is always UTF-8."""
    found = f"a name that this system's locale ({error.encoding}) cannot write ({error.object!a})"
    return f"delivery: found {found}, wanted UTF-8. Set PYTHONUTF8=1 in the environment, or a UTF-8 locale."


def _interrupted() -> int:
    print("Interrupted: nothing incomplete is left behind.", file=sys.stderr)
    return INTERRUPTED


def _open_closed_streams() -> None:
    """Give standard streams that were closed (`>&-`) the null device.

    Otherwise the next file to be opened would take their place, and what is printed would go into it.
    """
    for number, (name, mode) in enumerate((("stdin", "r"), ("stdout", "w"), ("stderr", "w"))):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # the lowest free number, which is this one
        if getattr(sys, name) is None:
            setattr(sys, name, os.fdopen(os.open(os.devnull, os.O_RDWR), mode, encoding="utf-8"))


def _use_utf8() -> None:
    """Write UTF-8 to the console; a character that it cannot show is printed as '?'."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure and (stream.encoding or "").lower() not in ("utf-8", "utf8"):
            reconfigure(errors="replace")


if __name__ == "__main__":
    main()
