"""Carry a chain out: a master in, one new file out, block by block. The edge of this room."""

from __future__ import annotations

import shutil
from collections.abc import Iterable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from delivery.audio.blocks import Sound, open_sound
from delivery.audio.digest import AudioDigest
from delivery.audio.encode import CodedForm, encode
from delivery.audio.pcm import PcmForm, write_pcm
from delivery.chain import render_steps as steps
from delivery.dsp.dither import Requantiser
from delivery.errors import Occupied, Unfinished
from delivery.formats.capability import peak_ceiling
from delivery.model.chain import Chain, Touch

Array = NDArray[np.float64]
Words = NDArray[np.int32]

_ORDER = (Touch.RATE, Touch.GAIN, Touch.REQUANTISE, Touch.ENCODE)
_ALONE = (Touch.COPY, Touch.REWRAP)


def render(source: Path, chain: Chain, target: Path, seed: str) -> str:
    """Make the new file *target* out of *source* by the steps of *chain*; memory does not grow with length.

    Parameters
    ----------
    seed : of the dither; the hash of the source's audio, so that the same master gives the same bytes

    Returns
    -------
    Audio hash of the samples handed to the writer: what the file, read back, must have. Empty for a copy, of which the
    bytes speak, and for lossy codings, which give back other samples.

    Raises
    ------
    Unreadable : the source's sound cannot be read to its end
    Unusable : an over where words must be written, or a form the target cannot hold
    Occupied : *target* is there already
    Unfinished : the machine failed us; like every failure it leaves no *target* behind
    ValueError : the chain's steps are not such as a plan makes (a fault of this program)
    """
    check_steps(chain)
    if target.exists():
        raise Occupied(target.name, "a file of that name", "a free name", "Nothing is ever overwritten")
    try:
        if chain.step(Touch.COPY):
            _copy(source, target)
            return ""
        return _stream(source, chain, target, seed)
    except BaseException:  # an interrupt leaves nothing half-made either
        target.unlink(missing_ok=True)
        raise


def check_steps(chain: Chain) -> None:
    """Refuse what no plan may order.

    Raises
    ------
    ValueError : no steps, steps out of order or twice, words without dither, or dither where there are no words
    """
    touches, target = [step.touch for step in chain.steps], chain.target
    said = " -> ".join(touches) or "no steps"
    if any(touch in _ALONE for touch in touches):
        if len(touches) != 1:
            raise ValueError(f"{said}: {' and '.join(_ALONE)} stand alone")
        return
    if not touches or touches != sorted(set(touches), key=_ORDER.index):
        raise ValueError(f"{said}: the order is {' -> '.join(_ORDER)}, each at most once")
    lossless = target.coding in ("pcm", "float")
    if lossless == (Touch.ENCODE in touches):
        raise ValueError(f"{said}: cannot end as {target.coding}")
    if target.coding == "pcm" and Touch.REQUANTISE not in touches:
        raise ValueError(f"{said}: words of {target.bits} bits want dither and rounding last")
    if target.coding != "pcm" and Touch.REQUANTISE in touches:
        raise ValueError(f"{said}: {target.coding} has no words to round to")


def _copy(source: Path, target: Path) -> None:
    try:
        shutil.copyfile(source, target)
    except OSError as error:
        raise Unfinished(
            source.name, str(error), "a copy to its end", "Look at the disk's free space and both files' rights"
        ) from error


def _stream(source: Path, chain: Chain, target: Path, seed: str) -> str:
    wanted, place = chain.target, source.name
    digest = AudioDigest(wanted.rate_hz, wanted.channels, wanted.coding == "pcm")
    with open_sound(source) as sound:
        _check_source(sound, chain)
        blocks, frames = _changed(sound, chain)
        if wanted.coding == "pcm":
            bits = _bits(chain)
            words = steps.seen(_words(chain, seed, place, blocks, bits), digest.update_words)
            _write_words(chain, target, frames, words, bits)
        elif wanted.coding == "float":
            bits = wanted.bits or 32
            floats = steps.exact_floats(blocks, place, bits) if chain.step(Touch.REWRAP) else blocks
            floats = steps.seen(steps.as_stored(floats, bits), digest.update)
            write_pcm(target, _pcm_form(chain, bits), frames, floats)
        else:
            rates = {"bitrate_kbps": wanted.bitrate_kbps, "vbr_quality": wanted.vbr_quality}
            form = CodedForm(wanted.coding, wanted.rate_hz, wanted.channels, **rates)
            if ceiling := peak_ceiling(wanted):
                blocks = steps.under(blocks, place, ceiling, wanted.rate_hz)
            encode(target, form, blocks)
            return ""
    return digest.hexdigest()


def _check_source(sound: Sound, chain: Chain) -> None:
    have, rate = sound.facts, chain.step(Touch.RATE)
    promised = rate.settings["to_hz"] if rate else have.rate_hz
    planned_from = rate.settings["from_hz"] if rate else have.rate_hz
    if (planned_from, promised, have.channels) != (have.rate_hz, chain.target.rate_hz, chain.target.channels):
        raise ValueError(f"a plan for another source: {have.rate_hz} Hz, {have.channels} channels; {chain.target}")


def _changed(sound: Sound, chain: Chain) -> tuple[Iterable[Array], int]:
    """The blocks after rate and gain, and how many frames they hold together."""
    blocks: Iterable[Array] = sound.blocks()
    if not sound.facts.integers:
        blocks = steps.finite(blocks, sound.facts.path.name, sound.facts.rate_hz)
    frames = sound.facts.frames
    if rate := chain.step(Touch.RATE):
        from_hz, to_hz = rate.settings["from_hz"], rate.settings["to_hz"]
        blocks = steps.rated(blocks, from_hz, to_hz, sound.facts.channels, frames)
        frames = steps.converted_frames(frames, from_hz, to_hz)
    if gain := chain.step(Touch.GAIN):
        blocks = steps.gained(blocks, gain.settings["gain_db"])
    return blocks, frames


def _bits(chain: Chain) -> int:
    rounding, bits = chain.step(Touch.REQUANTISE), chain.target.bits
    if bits is None or (rounding and rounding.settings["bits"] != bits):
        raise ValueError(f"no one word length: {chain}")
    return bits


def _words(chain: Chain, seed: str, place: str, blocks: Iterable[Array], bits: int) -> Iterable[Words]:
    """Left-justified words: rounded where the chain orders it, else the very same samples."""
    rate_hz, rounding = chain.target.rate_hz, chain.step(Touch.REQUANTISE)
    if rounding is None:
        return steps.exact_words(blocks, place, bits, rate_hz)
    requantiser = Requantiser(bits, rounding.settings["dither"], rate_hz, chain.target.channels, seed)
    zero_ends = rounding.settings.get("silence") == "zero"
    return steps.requantised(blocks, place, requantiser, bits, rate_hz, zero_ends=zero_ends)


def _write_words(chain: Chain, target: Path, frames: int, words: Iterable[Words], bits: int) -> None:
    wanted = chain.target
    if wanted.container == "m4a":  # lossless words in it are ALAC
        encode(target, CodedForm("alac", wanted.rate_hz, wanted.channels, bits=bits), words)
    else:
        write_pcm(target, _pcm_form(chain, bits), frames, words)


def _pcm_form(chain: Chain, bits: int) -> PcmForm:
    wanted = chain.target
    extensible = any(step.settings.get("extensible", False) for step in chain.steps)
    return PcmForm(wanted.container, wanted.coding, wanted.rate_hz, wanted.channels, bits, extensible)
