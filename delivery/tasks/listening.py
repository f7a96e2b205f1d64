"""Copies of two files for listening: aligned, equally loud, the louder one turned down; and a page to switch them."""

from __future__ import annotations

import hashlib
import io
import math
from collections.abc import Iterator
from contextlib import ExitStack
from itertools import chain
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from delivery.audio.blocks import sound_facts
from delivery.audio.forward import forward
from delivery.audio.pcm import PcmForm, sound_file
from delivery.dsp.likeness.shifting import REACH, shifted
from delivery.errors import Occupied, Unusable
from delivery.model.pair import Pair
from delivery.pack.swap import whole_or_nothing
from delivery.report.html.listen import Excerpt, render
from delivery.report.view.words import at

Array = NDArray[np.float64]

EXCERPT_S = 15.0
EXCERPTS = 3
SPREAD = (0.15, 0.5, 0.85)
"""Where excerpts begin in a recording without sections, as shares of what is left behind them."""
PAGE, KEY = "listen.html", "which-is-which.txt"
PIECE_S = 10
WHOLE_FRAMES = 1e-3
STEADY_FRAMES = 0.01


def write_listening(pair: Pair, one: Path, other: Path, folder: Path, *, blind: bool) -> tuple[Path, ...]:
    """Write matched copies of both files and the page into *folder*, whole or not at all; what was written.

    The copies are 32-bit float WAV: nothing is rounded or dithered. Both begin and end together.

    Parameters
    ----------
    blind : the copies are called P and Q on the page, in an order that a hash of both decides; a text file beside the
        page reveals which is which

    Raises
    ------
    Occupied : the folder exists
    Unusable : the two are not one recording
    Unfinished : the disk is full, or the folder is gone
    """
    if not pair.same_recording or pair.gain_db is None or pair.offset_s is None:
        wanted = "one recording in two files"
        raise Unusable(other.name, pair.why or "another recording", wanted, "Listening copies need aligned sound.")
    if folder.exists():
        raise Occupied(str(folder), "an existing file or folder", "a path that does not exist yet", "Choose another.")
    names = (one.stem, other.stem) if one.stem != other.stem else (f"1 {one.stem}", f"2 {other.stem}")
    rate_hz = min(sound_facts(one).rate_hz, sound_facts(other).rate_hz)
    folder.parent.mkdir(parents=True, exist_ok=True)
    with whole_or_nothing(folder, replace=False) as hidden:
        copies = [hidden / f"{name}, matched.wav" for name in names]
        _write_copies(copies, rate_hz, int(pair.shared_s * rate_hz), _matched(pair, one, other, rate_hz))
        order = (1, 0) if blind and _drawn(copies) else (0, 1)
        shown = ("P", "Q") if blind else names
        excerpts = [_excerpt(pair, [copies[each] for each in order], start_s, rate_hz) for start_s in _starts(pair)]
        title = f"{one.stem} and {other.stem}"
        (hidden / PAGE).write_bytes(render(title, shown, excerpts, KEY if blind else ""))
        if blind:
            key = "".join(f"{letter}: {names[each]}\n" for letter, each in zip(shown, order, strict=True))
            (hidden / KEY).write_text(key, encoding="utf-8")
    return tuple(folder / name for name in (PAGE, *(copy.name for copy in copies), *((KEY,) if blind else ())))


def write_excerpts(pair: Pair, one: Path, other: Path, folder: Path) -> tuple[tuple[str, Path, Path], ...]:
    """Write excerpts of matched copies of both files into *folder*: for each its title, the one and the other.

    Raises
    ------
    Unusable : the two are not one recording
    Unfinished : the disk is full, or the folder is gone
    """
    rate_hz = min(sound_facts(one).rate_hz, sound_facts(other).rate_hz)
    copies = [folder / "one.wav", folder / "other.wav"]
    _write_copies(copies, rate_hz, int(pair.shared_s * rate_hz), _matched(pair, one, other, rate_hz))
    written = []
    for number, start_s in enumerate(_starts(pair)):
        excerpt = _excerpt(pair, copies, start_s, rate_hz)
        files = (folder / f"{number}-0.wav", folder / f"{number}-1.wav")
        for file, sound in zip(files, (excerpt.first, excerpt.second), strict=True):
            file.write_bytes(sound)
        written.append((excerpt.title, *files))
    for copy in copies:
        copy.unlink()
    return tuple(written)


def _matched(pair: Pair, one: Path, other: Path, rate_hz: int) -> Iterator[tuple[Array, Array]]:
    """Pieces of both over what they share, at one rate, the louder one turned down."""
    assert pair.offset_s is not None
    assert pair.gain_db is not None
    down = 10 ** (-abs(pair.gain_db) / 20)
    gains = (down if pair.gain_db < 0 else 1.0, down if pair.gain_db > 0 else 1.0)
    drift = 1e-6 * (pair.drift_ppm or 0.0)
    offset = pair.offset_s * rate_hz
    start = math.ceil(max(0.0, -offset))
    stop = start + int(pair.shared_s * rate_hz)
    with forward(one, rate_hz) as mine, forward(other, rate_hz) as theirs:
        for first in range(start, stop, PIECE_S * rate_hz):
            frames = min(PIECE_S * rate_hz, stop - first)
            begins = math.floor(first + offset + drift * first) - REACH
            spare = math.ceil(abs(drift) * frames) + 2
            held = theirs.read(begins - spare, frames + 2 * (REACH + spare))
            followed = _followed(held, begins - spare, first, frames, offset, drift)
            yield mine.read(first, frames) * gains[0], followed * gains[1]


def _followed(held: Array, begins: int, first: int, frames: int, offset: float, drift: float) -> Array:
    """*frames* of the second file that belong to those of the first from *first* on, in steps so short that the clocks'
    difference moves the delay by less than STEADY_FRAMES within one. *held* begins at its frame *begins*.
    """
    step = frames if not drift else max(64, int(STEADY_FRAMES / abs(drift)))
    pieces = []
    for here in range(first, first + frames, step):
        count = min(step, first + frames - here)
        place = here + offset + drift * (here + count / 2)
        place = float(round(place)) if abs(place - round(place)) < WHOLE_FRAMES else place
        pieces.append(shifted(held, place - begins, count))
    return np.concatenate(pieces)


def _write_copies(copies: list[Path], rate_hz: int, frames: int, pieces: Iterator[tuple[Array, Array]]) -> None:
    first = next(pieces)
    with ExitStack() as stack:
        files = [
            stack.enter_context(sound_file(copy, PcmForm("wav", "float", rate_hz, piece.shape[1], 32), frames))
            for copy, piece in zip(copies, first, strict=True)
        ]
        for both in chain([first], pieces):
            for file, piece in zip(files, both, strict=True):
                file.write(piece)


def _drawn(copies: list[Path]) -> bool:
    """An unpredictable order, the same for the same sound."""
    digest = hashlib.sha256()
    for copy in copies:
        with copy.open("rb") as file:
            digest.update(hashlib.file_digest(file, "sha256").digest())
    return bool(digest.digest()[0] & 1)


def _starts(pair: Pair) -> list[float]:
    """Seconds within the copies: the loudest sections, or places spread over a recording that has none."""
    begins = max(0.0, -(pair.offset_s or 0.0))
    loudest = sorted(pair.sections, key=lambda row: -row[1].loudness_lufs)[:EXCERPTS]
    if loudest:
        return sorted(section.start_s - begins for section, _, _ in loudest)
    rest_s = pair.shared_s - EXCERPT_S
    return [share * rest_s for share in SPREAD] if rest_s > EXCERPT_S else [0.0]


def _excerpt(pair: Pair, copies: list[Path], start_s: float, rate_hz: int) -> Excerpt:
    first = max(0, round(min(start_s, pair.shared_s - EXCERPT_S) * rate_hz))
    sounds = []
    for copy in copies:
        sound, _ = soundfile.read(copy, round(EXCERPT_S * rate_hz), first, dtype="float32", always_2d=True)
        out = io.BytesIO()
        soundfile.write(out, sound, rate_hz, "FLOAT", format="WAV")
        sounds.append(out.getvalue())
    return Excerpt(f"from {at(first / rate_hz + max(0.0, -(pair.offset_s or 0.0)))}", *sounds)
