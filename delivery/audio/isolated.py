"""Decode untrusted files in a child process, so that none of them can crash or stall the job.

A child is started for the first such file and kept for the next one; one for each file open at a time. It is replaced
after any damaged file. Plain PCM is read elsewhere (``audio.plain_pcm``).
"""

from __future__ import annotations

import atexit
import json
import mmap
import os
import pickle
import signal
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from delivery.absolute import absolute
from delivery.audio.decoder_child import NO_MEMORY, SLOT_BYTES, SLOTS
from delivery.audio.facts import BLOCK_FRAMES, Header, SoundFacts, unreadable
from delivery.errors import Unreadable

Array = NDArray[np.float64]
Result = TypeVar("Result")

STEP = 2.0**-31
"""Integers are left-justified in 32 bits; multiplied by this they are exact in float64."""
MOST_IDLE = 8
STEP_S = 60
"""Longest time for one block of samples; a disk in standby needs some of it."""
CALL_S = 300
"""Longest time for a whole picture."""
_ENDINGS = {1: "took too long", NO_MEMORY: "needed too much memory"}
"""By exit code; 1 is used by ``faulthandler`` at a timeout, SIGALRM by a timer."""
if hasattr(signal, "SIGALRM"):
    _ENDINGS[-signal.SIGALRM] = _ENDINGS[1]


class Died(Exception):
    """The child process ended during its work; the message states how."""


class IsolatedSound:
    """One open file, decoded in a child."""

    def __init__(self, path: Path, header: Header, *, count: bool = True) -> None:
        self._path = path
        self._child: _Child | None = _borrowed()
        layoutless = {name: value for name, value in asdict(header).items() if name != "layout"}
        answer = self._request({"do": "open", "path": str(absolute(path)), "header": layoutless, "count": count})
        self._floats, self._interleaved = answer["floats"], answer["interleaved"]
        facts = answer["facts"]
        self.facts = SoundFacts(path, **facts | {"speakers": tuple(facts["speakers"])})

    def close(self) -> None:
        """Close the file; the child waits for the next one."""
        if self._child:
            try:
                self._request({"do": "close"})
            except Unreadable:
                return
            _given_back(self._child)
            self._child = None

    def blocks(self, frames: int = BLOCK_FRAMES, start: int = 0) -> Iterator[Array]:
        """(n, channels) float64 from frame *start* on; the memory is laid out channel by channel."""
        if start:
            self._request({"do": "skip", "frame": start})
        pieces = self._pieces(frames)
        first = next(pieces, None)
        if first is None:
            return
        if len(first) == frames or self._at_most(frames) == frames:
            yield first
            yield from pieces
        else:
            yield from _rejoined(first, pieces, frames)

    def _at_most(self, frames: int) -> int:
        return min(frames, SLOT_BYTES // (8 * self.facts.channels))

    def _pieces(self, frames: int) -> Iterator[Array]:
        """Contents of each slot; the next one is decoded while the caller works on this one."""
        slot = 0
        child = self._child
        assert child
        self._send({"do": "read", "slot": slot, "frames": frames})
        while count := self._answer()["frames"]:
            samples = self._samples(child, slot, count)
            slot = (slot + 1) % SLOTS
            self._send({"do": "read", "slot": slot, "frames": frames})
            yield samples

    def _samples(self, child: _Child, slot: int, count: int) -> Array:
        channels = self.facts.channels
        kind = np.float64 if self._floats else np.int32
        flat = np.frombuffer(child.memory, kind, count * channels, slot * SLOT_BYTES)
        planar = flat.reshape(count, channels).T if self._interleaved else flat.reshape(channels, count)
        out = np.empty((channels, count))
        if self._floats:
            out[:] = planar
        else:
            np.multiply(planar, STEP, out=out)
        return out.T

    def _request(self, request: dict[str, Any]) -> dict[str, Any]:
        self._send(request)
        return self._answer()

    def _send(self, request: dict[str, Any]) -> None:
        assert self._child
        try:
            self._child.drain()
            self._child.send(request)
        except Died as death:
            raise self._dead(death) from death

    def _answer(self) -> dict[str, Any]:
        assert self._child
        try:
            answer = self._child.receive()
        except Died as death:
            raise self._dead(death) from death
        if "error" in answer:
            self._dismiss()
            raise Unreadable(*answer["error"])
        if "unexpected" in answer:
            self._dismiss()
            raise unreadable(self._path, f"a damaged file ({answer['unexpected']})")
        return answer

    def _dead(self, death: Died) -> Unreadable:
        self._dismiss()
        return unreadable(self._path, f"a damaged file: its decoder {death}")

    def _dismiss(self) -> None:
        if self._child:
            self._child.end()
            self._child = None


def isolated(work: Callable[..., Result], *arguments: Any) -> Result:
    """Call *work*, a function of a module, in a child; arguments, result and exceptions must be picklable.

    Raises
    ------
    Died : the child ended: a library crashed, or took too much time or memory
    DeliveryError, OSError : as *work* raises them
    """
    child = _borrowed()
    try:
        succeeded, result = child.call(work.__module__, work.__name__, arguments)
    except BaseException:
        child.end()
        raise
    if succeeded:
        _given_back(child)
        return result  # type: ignore[no-any-return]
    child.end()
    raise result


class _Child:
    """One process and the memory shared with it."""

    def __init__(self) -> None:
        with _lent_memory() as (self.memory, name, handles):
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-X", "utf8", "-c", _START, name, str(STEP_S), str(CALL_S)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path), "OPENBLAS_NUM_THREADS": "1"},
                pass_fds=handles,
            )
        self._unanswered = 0

    def send(self, request: dict[str, Any], extra: bytes = b"") -> None:
        """Raises Died."""
        assert self._process.stdin
        try:
            self._process.stdin.write(json.dumps(request).encode("ascii") + b"\n" + extra)
            self._process.stdin.flush()
        except OSError as problem:
            raise self._died() from problem
        self._unanswered += 1

    def receive(self) -> dict[str, Any]:
        """Raises Died."""
        assert self._process.stdout
        line = self._process.stdout.readline()
        if not line.endswith(b"\n"):
            raise self._died()
        self._unanswered -= 1
        answer: dict[str, Any] = json.loads(line)
        return answer

    def drain(self) -> None:
        """Read answers that were not awaited: a caller may stop in the middle of a file. Raises Died."""
        while self._unanswered:
            self.receive()

    def call(self, module: str, function: str, arguments: tuple[Any, ...]) -> tuple[bool, Any]:
        """Raises Died."""
        assert self._process.stdout
        request = pickle.dumps((module, function, arguments))
        self.send({"do": "call", "bytes": len(request)}, request)
        size = self.receive()["bytes"]
        answer = self._process.stdout.read(size)
        if len(answer) < size:
            raise self._died()
        succeeded, result = pickle.loads(answer)
        return succeeded, result

    def end(self) -> None:
        """Kill the process; its memory is freed with the last block made from it."""
        self._process.kill()
        self._process.wait()
        for stream in (self._process.stdin, self._process.stdout):
            try:
                assert stream
                stream.close()
            except OSError:  # data not yet written to it
                pass

    def _died(self) -> Died:
        try:
            code = self._process.wait(timeout=5)
        except subprocess.TimeoutExpired:
            return Died("gave an invalid answer")
        return Died(_ENDINGS.get(code, f"crashed (signal {-code})" if code < 0 else f"ended (code {code})"))


_START = "from delivery.audio.decoder_child import main; main()"

_lock = threading.Lock()
_idle: list[_Child] = []


def _borrowed() -> _Child:
    with _lock:
        if _idle:
            return _idle.pop()
    return _Child()


def _given_back(child: _Child) -> None:
    with _lock:
        if len(_idle) < MOST_IDLE:
            _idle.append(child)
            return
    child.end()


@atexit.register
def _end_all() -> None:
    with _lock:
        while _idle:
            _idle.pop().end()


def _forget_after_fork() -> None:
    """A forked copy of this process must not talk to its parent's children."""
    _idle.clear()


if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_forget_after_fork)


@contextmanager
def _lent_memory() -> Iterator[tuple[mmap.mmap, str, tuple[int, ...]]]:
    """Memory for both processes, its name for the child, and the handles to inherit."""
    size = SLOTS * SLOT_BYTES
    if os.name == "nt":
        name = f"delivery-{os.getpid()}-{os.urandom(8).hex()}"
        yield mmap.mmap(-1, size, tagname=name), name, ()  # type: ignore[call-arg]
        return
    handle = os.memfd_create("delivery") if hasattr(os, "memfd_create") else _unnamed_file()
    try:
        os.ftruncate(handle, size)
        yield mmap.mmap(handle, size), str(handle), (handle,)
    finally:
        os.close(handle)


def _unnamed_file() -> int:
    with tempfile.TemporaryFile() as file:
        return os.dup(file.fileno())


def _rejoined(first: Array, pieces: Iterator[Array], frames: int) -> Iterator[Array]:
    """Blocks of *frames* joined from shorter pieces, as they occur with very many channels."""
    waiting, held = [first], len(first)
    for piece in pieces:
        waiting.append(piece)
        held += len(piece)
        if held >= frames:
            whole = np.concatenate(waiting)
            full = held - held % frames
            for at in range(0, full, frames):
                yield whole[at : at + frames].copy()
            waiting, held = [whole[full:]], held - full
    if held:
        yield np.concatenate(waiting)
