"""One sound cut into songs that continue into each other, made as a plan says, and put together again."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from delivery.audio.blocks import open_sound
from delivery.chain.prediction import frames_at_cut
from delivery.chain.render import render
from delivery.chain.render_steps import rated
from delivery.chain.stream import Master, Place, Stream
from delivery.model.chain import Chain, Step, StepKind, Target

Array = NDArray[np.float64]
NEAR_S = 0.01
"""A song's own filter ringing, and a lossy frame, reach so far from a cut."""


def chain_to(target: Target, from_hz: int, dither: str = "tpdf") -> Chain:
    """What a plan would order for a float or longer-worded master of that rate."""
    steps = []
    if target.rate_hz != from_hz:
        steps.append(Step(StepKind.RATE, "", "", {"from_hz": from_hz, "to_hz": target.rate_hz}))
    if target.coding == "pcm":
        steps.append(Step(StepKind.REQUANTISE, "", "", {"bits": target.bits, "dither": dither}))
    elif target.coding != "float":
        steps.append(Step(StepKind.ENCODE, "", "", {"coding": target.coding}))
    return Chain(tuple(steps), target)


def cut_up(folder: Path, sound: Array, rate_hz: int, cuts: Sequence[int], chain: Chain) -> Stream:
    """*sound* as one file for each stretch between *cuts*, in 32-bit float."""
    masters = []
    for number, (start, stop) in enumerate(zip([0, *cuts], [*cuts, len(sound)], strict=True), 1):
        file = folder / f"{number} song.wav"
        soundfile.write(file, sound[start:stop], rate_hz, "FLOAT")
        masters.append(Master(file, chain, stop - start, f"hash {number}"))
    return Stream(tuple(masters), rate_hz, sound.shape[1])


def made(folder: Path, stream: Stream, *, alone: bool = False) -> list[Array]:
    """Each song as its file gives it back, as players that read gapless figures do."""
    folder.mkdir(exist_ok=True)
    return [_made(folder, stream, index, alone=alone) for index in range(len(stream.masters))]


def _made(folder: Path, stream: Stream, index: int, *, alone: bool) -> Array:
    master = stream.masters[index]
    file = folder / f"{index}.{master.chain.target.container}"
    file.unlink(missing_ok=True)
    render(master.file, master.chain, file, master.audio_hash, None if alone else Place(stream, index))
    with open_sound(file) as sound:
        return np.concatenate(list(sound.blocks()))


def errors(songs: Sequence[Array], sound: Array, from_hz: int, to_hz: int, cuts: Sequence[int]) -> tuple[float, float]:
    """Largest error in dBFS near the cuts, and elsewhere; the very ends of the whole do not count.

    Against the conversion of the whole sound, in floats.
    """
    wanted = rated(sound, from_hz, to_hz) if from_hz != to_hz else sound
    found = np.concatenate(songs)
    assert len(found) == len(wanted)
    error = np.abs(found - wanted).max(axis=1)
    near, reach = np.zeros(len(error), bool), round(NEAR_S * to_hz)
    for cut in cuts:
        at = frames_at_cut(cut, from_hz, to_hz)
        near[at - reach : at + reach] = True
    inner = slice(10 * reach, -10 * reach)
    return tuple(20 * float(np.log10(error[inner][here[inner]].max() + 1e-12)) for here in (near, ~near))  # type: ignore[return-value]
