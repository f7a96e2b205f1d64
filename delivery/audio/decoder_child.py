"""The child process in which libraries decode untrusted files, started and called by ``audio.isolated``.

A damaged file can crash a C decoder, or make it loop for ever. Then only this process ends, not the job. Requests come
on standard input, answers go to standard output: one JSON object a line. Samples are passed in memory mapped by both
processes, without a copy.

    open   header, path, slot_bytes, count -> facts, or error
    skip   frame                           -> an empty answer, or error
    read   slot, frames                    -> frames (0 at the end), floats, interleaved; or error
    close                                  -> an empty answer
    call   bytes: how many follow, the pickled module, function, arguments -> bytes: the same for result or error
"""

from __future__ import annotations

import faulthandler
import importlib
import json
import mmap
import os
import pickle
import signal
import sys
from pathlib import Path
from typing import Any, BinaryIO, Protocol

from delivery.audio.facts import Header, SoundFacts
from delivery.errors import DeliveryError, Unreadable

SLOT_BYTES = 16 * 2**20
"""262,144 frames of 8 channels in float64; with more channels a block holds fewer frames."""
SLOTS = 2
"""The next block is decoded while the parent works on this one."""
NO_MEMORY, UNFORESEEN = 4, 5
"""Exit codes."""
LIBSNDFILE = ("wav", "w64", "aiff", "flac")
"""Containers that libsndfile decodes; FFmpeg the others."""
MEMORY_BYTES = 4 * 2**30
"""Limit of address space, most of which is mapped libraries."""


class Decoder(Protocol):
    """One open file, decoded by a library."""

    facts: SoundFacts
    floats: bool
    """float64 at full scale 1.0; else int32, left-justified."""
    interleaved: bool
    """Frame by frame; else channel by channel."""

    def skip_to(self, frame: int) -> None:
        """Skip the frames before *frame*, before any is read."""

    def read_into(self, memory: memoryview, frames: int) -> int:
        """Decode up to *frames* frames into the start of *memory*; return their number, 0 at the end."""

    def close(self) -> None:
        """Close the sound."""


def main() -> None:
    """Answer requests until standard input ends. The parent handles interrupts."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(signal, "SIGALRM"):
        signal.signal(signal.SIGALRM, signal.SIG_DFL)  # the parent may ignore it
    requests, answers = sys.stdin.buffer, os.fdopen(os.dup(1), "wb")
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)  # output printed by a library must not mix with the answers
    _limit_memory()
    memory = _shared_memory(sys.argv[1])
    step_s, call_s = float(sys.argv[2]), float(sys.argv[3])
    decoder: Decoder | None = None
    for line in requests:
        request = json.loads(line)
        todo = request.pop("do")
        _end_after(call_s if todo == "call" else step_s)
        extra = b""
        if todo == "open":
            answer, decoder = _open(**request)
        elif todo == "read":
            answer = _read(decoder, memory, **request)
        elif todo == "skip":
            answer = _skip(decoder, **request)
        elif todo == "call":
            extra = _call(requests.read(request["bytes"]))
            answer = {"bytes": len(extra)}
        else:
            answer, decoder = _close(decoder)
        _in_time()
        answers.write(json.dumps(answer).encode("ascii") + b"\n" + extra)
        answers.flush()


def _end_after(seconds: float) -> None:
    """Make the operating system kill this process after the given time, even during a library call.

    ``faulthandler`` starts a thread each time, which costs as much as decoding a tenth of a second of audio: it is used
    on systems without interval timers.
    """
    if hasattr(signal, "setitimer"):
        signal.setitimer(signal.ITIMER_REAL, seconds)
    else:
        faulthandler.dump_traceback_later(seconds, exit=True, file=_nowhere())


def _in_time() -> None:
    if hasattr(signal, "setitimer"):
        signal.setitimer(signal.ITIMER_REAL, 0)
    else:
        faulthandler.cancel_dump_traceback_later()


def _open(path: str, header: dict[str, Any], count: bool) -> tuple[dict[str, Any], Decoder | None]:
    try:
        decoder = _decoder(Path(path), Header(**header), count)
    except Unreadable as problem:
        return {"error": problem.args}, None
    except Exception as problem:  # noqa: BLE001 - libraries raise anything on damaged files
        return {"unexpected": _error_text(problem)}, None
    facts = {name: getattr(decoder.facts, name) for name in SoundFacts.__slots__ if name != "path"}
    return {"facts": facts, "floats": decoder.floats, "interleaved": decoder.interleaved}, decoder


def _decoder(path: Path, header: Header, count: bool) -> Decoder:
    if header.container in LIBSNDFILE or header.coding == "vorbis" or (header.container == "caf" and header.coding):
        from delivery.audio.sndfile import SndFile, Unimplemented

        try:
            return SndFile(path, header)
        except Unimplemented:  # such as FLAC of 12 or 20 bits: not damaged, only unsupported by that library
            pass
    from delivery.audio.avfile import AvFile

    return AvFile(path, header, count=count)


def _read(decoder: Decoder | None, memory: mmap.mmap, slot: int, frames: int) -> dict[str, Any]:
    assert decoder
    try:
        with memoryview(memory) as all_slots, all_slots[slot * SLOT_BYTES : (slot + 1) * SLOT_BYTES] as here:
            return {"frames": decoder.read_into(here, min(frames, SLOT_BYTES // (8 * decoder.facts.channels)))}
    except Unreadable as problem:
        return {"error": problem.args}
    except Exception as problem:  # noqa: BLE001 - libraries raise anything on damaged files
        return {"unexpected": _error_text(problem)}


def _skip(decoder: Decoder | None, frame: int) -> dict[str, Any]:
    assert decoder
    try:
        decoder.skip_to(frame)
    except Unreadable as problem:
        return {"error": problem.args}
    except Exception as problem:  # noqa: BLE001 - libraries raise anything on damaged files
        return {"unexpected": _error_text(problem)}
    return {}


def _close(decoder: Decoder | None) -> tuple[dict[str, Any], None]:
    if decoder:
        decoder.close()
    return {}, None


def _call(request: bytes) -> bytes:
    module, function, arguments = pickle.loads(request)
    try:
        result = getattr(importlib.import_module(module), function)(*arguments)
    except (DeliveryError, OSError) as problem:
        return pickle.dumps((False, problem))
    except MemoryError:
        os._exit(NO_MEMORY)
    except BaseException:  # noqa: BLE001 - anything else is reported by the exit code
        os._exit(UNFORESEEN)
    return pickle.dumps((True, result))


def _error_text(problem: Exception) -> str:
    return f"{type(problem).__name__}: {problem}" if str(problem) else type(problem).__name__


def _limit_memory() -> None:
    try:
        import resource
    except ImportError:  # not on Windows
        return
    _soft, hard = resource.getrlimit(resource.RLIMIT_AS)
    most = MEMORY_BYTES if hard == resource.RLIM_INFINITY else min(MEMORY_BYTES, hard)
    resource.setrlimit(resource.RLIMIT_AS, (most, hard))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _shared_memory(name: str) -> mmap.mmap:
    """The parent's shared memory: a handle's number, or on Windows a name."""
    if os.name == "nt":
        return mmap.mmap(-1, SLOTS * SLOT_BYTES, tagname=name)  # type: ignore[call-arg]
    return mmap.mmap(int(name), SLOTS * SLOT_BYTES)


def _nowhere() -> BinaryIO:
    global _null
    if _null is None:
        _null = open(os.devnull, "wb")  # noqa: SIM115, PTH123 - kept for the life of the process
    return _null


_null: BinaryIO | None = None
