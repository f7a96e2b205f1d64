"""Carry out a chain: read a master, write one new file, block by block. Performs I/O."""

from __future__ import annotations

import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from delivery.audio.blocks import sound_facts
from delivery.audio.codecs import CODECS, CodedForm
from delivery.audio.digest import AudioDigest
from delivery.audio.encode import encode
from delivery.audio.pcm import PcmForm, write_pcm
from delivery.audio.speakers import mask_for
from delivery.chain import render_steps as steps
from delivery.chain.stream import Master, Place, Stream
from delivery.disk import no_space
from delivery.dsp.writing.dither import Requantiser, settling_frames
from delivery.errors import Occupied, Unfinished, Unusable
from delivery.formats.capability import peak_ceiling
from delivery.formats.registry import codec_of, containers
from delivery.model.chain import Chain, StepKind

Array = NDArray[np.float64]
Integers = NDArray[np.int32]

_ORDER = (StepKind.CHANNELS, StepKind.RATE, StepKind.GAIN, StepKind.REQUANTISE, StepKind.ENCODE)
_ALONE = (StepKind.COPY, StepKind.REWRAP)


def render(source: Path, chain: Chain, target: Path, seed: str, place: Place | None = None) -> str:
    """Make the new file *target* from *source* by the steps of *chain*; memory does not grow with length.

    Parameters
    ----------
    seed : seed of the dither: the hash of the source's audio, so that the same master gives the same bytes
    place : place in a stream of songs joined without a gap, which has its own seed; None: a single song

    Returns
    -------
    Audio hash of the samples handed to the writer, which the file must have when read back. Empty for a byte copy and
    for lossy codings.

    Raises
    ------
    Unreadable : the source cannot be decoded to its end
    Unusable : an over in integer samples, or a form the target cannot hold
    Occupied : *target* exists
    Unfinished : the machine failed; after any failure no *target* remains
    ValueError : the chain's steps are not those of a plan (a fault of this program)
    """
    check_steps(chain)
    if target.exists():
        raise Occupied(
            target.name, "a file of that name", "a path that does not exist yet", "Nothing is ever overwritten"
        )
    try:
        if chain.step(StepKind.COPY):
            _copy(source, target)
            return ""
        return _stream(place or _alone(source, chain, seed), chain, target)
    except BaseException:  # an interrupt leaves no half-made file either
        target.unlink(missing_ok=True)
        raise


def check_steps(chain: Chain) -> None:
    """Check that the steps are possible in a plan.

    Raises
    ------
    ValueError : no steps, steps out of order or repeated, integers without dither, or dither for a coding without
    integers
    """
    kinds, target = [step.kind for step in chain.steps], chain.target
    text = " -> ".join(kinds) or "no steps"
    if any(kind in _ALONE for kind in kinds):
        if len(kinds) != 1:
            raise ValueError(f"{text}: {' and '.join(_ALONE)} are used without other steps")
        return
    if not kinds or kinds != sorted(set(kinds), key=_ORDER.index):
        raise ValueError(f"{text}: the order is {' -> '.join(_ORDER)}, each at most once")
    lossless = target.coding in ("pcm", "float")
    if lossless == (StepKind.ENCODE in kinds):
        raise ValueError(f"{text}: cannot end as {target.coding}")
    if target.coding == "pcm" and StepKind.REQUANTISE not in kinds and not chain.same_samples:
        raise ValueError(f"{text}: {target.bits}-bit integers require dither and rounding as the last step")
    if target.coding != "pcm" and StepKind.REQUANTISE in kinds:
        raise ValueError(f"{text}: {target.coding} has no integers to round to")


def _copy(source: Path, target: Path) -> None:
    try:
        shutil.copyfile(source, target)
    except OSError as error:
        found = error.strerror or str(error)
        if error.filename == str(source) and error.filename2 is None:  # a fault of reading or writing names both files
            raise Unfinished(
                source.name, found, "the master that was measured", "Put it back and build again."
            ) from error
        if full := no_space(error, target, source.stat().st_size):
            raise full from error
        remedy = "Check the disk's free space and the permissions of both files."
        raise Unfinished(source.name, found, "a copy to its end", remedy) from error


def _alone(source: Path, chain: Chain, seed: str) -> Place:
    facts = sound_facts(source)
    channels = 2 if chain.step(StepKind.CHANNELS) else facts.channels
    return Place(Stream((Master(source, chain, facts.frames, seed),), facts.rate_hz, channels))


def _stream(place: Place, chain: Chain, target: Path) -> str:
    wanted = chain.target
    _check_source(place, chain)
    digest = AudioDigest(wanted.rate_hz, wanted.channels, wanted.coding == "pcm")
    start, stop = place.span(wanted.rate_hz)
    if wanted.coding == "pcm":
        bits = _bits(chain)
        integers = steps.seen(_integers(place, chain, bits), digest.update_integers)
        _write_integers(chain, target, stop - start, integers, bits, _channel_mask(place, chain))
    elif wanted.coding == "float":
        bits, floats = wanted.bits or 32, _changed(place, chain)
        floats = steps.exact_floats(floats, place.name, bits) if chain.step(StepKind.REWRAP) else floats
        floats = steps.seen(steps.as_stored(floats, bits), digest.update)
        write_pcm(target, _pcm_form(chain, bits, _channel_mask(place, chain)), stop - start, floats)
    else:
        _encode(place, chain, target)
        return ""
    return digest.hexdigest()


def _check_source(place: Place, chain: Chain) -> None:
    have, rate = place.stream, chain.step(StepKind.RATE)
    promised = rate.settings["to_hz"] if rate else have.rate_hz
    planned_from = rate.settings["from_hz"] if rate else have.rate_hz
    if (planned_from, promised, have.channels) != (have.rate_hz, chain.target.rate_hz, chain.target.channels):
        raise ValueError(f"a plan for another source: {have.rate_hz} Hz, {have.channels} channels; {chain.target}")


def _changed(place: Place, chain: Chain, before: int = 0, after: int = 0) -> Iterable[Array]:
    """The song after rate and gain, and the given frames of the stream around it, processed like the song."""
    to_hz = chain.target.rate_hz
    start, stop = place.span(to_hz)
    blocks: Iterable[Array] = place.stream.converted(start - before, stop + after, to_hz)
    gain = chain.step(StepKind.GAIN)
    return steps.gained(blocks, gain.settings["gain_db"]) if gain else blocks


def _encode(place: Place, chain: Chain, target: Path) -> None:
    """Write a lossy file; the encoder receives the neighbours' audio as far as its format can mark it."""
    wanted = chain.target
    rates = {"bitrate_kbps": wanted.bitrate_kbps, "vbr_quality": wanted.vbr_quality}
    form = CodedForm(wanted.coding, wanted.rate_hz, wanted.channels, **rates)
    (start, stop), (most_before, most_after) = place.span(wanted.rate_hz), CODECS[wanted.coding].neighbours
    before, after = min(place.before(wanted.rate_hz), most_before), min(place.after(wanted.rate_hz), most_after)
    blocks = _changed(place, chain, before, after)
    if ceiling := peak_ceiling(wanted):
        blocks = steps.under(blocks, place.name, ceiling, wanted.rate_hz, -before, stop - start)
    encode(target, form, blocks, (before, before + stop - start) if before or after else None)


def _bits(chain: Chain) -> int:
    rounding, bits = chain.step(StepKind.REQUANTISE), chain.target.bits
    if bits is None or (rounding and rounding.settings["bits"] != bits):
        raise ValueError(f"no single bit depth: {chain}")
    return bits


def _integers(place: Place, chain: Chain, bits: int) -> Iterable[Integers]:
    """Left-justified integers: rounded if the chain requires it, else the exact samples."""
    rate_hz, rounding = chain.target.rate_hz, chain.step(StepKind.REQUANTISE)
    if rounding is None:
        return steps.exact_integers(_changed(place, chain), place.name, bits, rate_hz)
    dither, zero_ends = rounding.settings["dither"], rounding.settings.get("silence") == "zero"
    start, _ = place.span(rate_hz)
    before = min(settling_frames(dither), place.treated_alike(StepKind.REQUANTISE, rate_hz))
    alike = chain.step(StepKind.CHANNELS) is not None
    requantiser = Requantiser(
        bits, dither, rate_hz, chain.target.channels, place.stream.seed, start - before, alike=alike
    )
    for song in _songs_before(place, before, rate_hz):
        for _ in steps.rounded(song, requantiser, zero_ends=zero_ends):
            pass  # only the requantiser's state after these samples matters
    return steps.requantised(_changed(place, chain), place.name, requantiser, bits, rate_hz, zero_ends=zero_ends)


def _songs_before(place: Place, frames: int, to_hz: int) -> Iterator[Iterable[Array]]:
    """The given frames before the song, each neighbour's share processed by its own chain."""
    begins = place.span(to_hz)[0] - frames
    for index, master in enumerate(place.stream.masters[: place.index]):
        start, stop = Place(place.stream, index).span(to_hz)
        if stop > begins:
            yield _changed(Place(place.stream, index), master.chain, min(0, start - begins))


def _write_integers(
    chain: Chain, target: Path, frames: int, integers: Iterable[Integers], bits: int, mask: int
) -> None:
    wanted = chain.target
    coding = codec_of(wanted.container, wanted.coding)
    if coding in CODECS:  # ALAC
        encode(target, CodedForm(coding, wanted.rate_hz, wanted.channels, bits=bits), integers)
    else:
        write_pcm(target, _pcm_form(chain, bits, mask), frames, integers)


def _channel_mask(place: Place, chain: Chain) -> int:
    """The master's own channel mask, or one for its loudspeakers; 0 if it does not state them."""
    facts = sound_facts(place.stream.masters[place.index].file)
    if facts.channels != chain.target.channels or facts.channels <= 2:
        return 0
    return facts.channel_mask if facts.channel_mask and facts.speakers else mask_for(facts.speakers)


def _pcm_form(chain: Chain, bits: int, mask: int) -> PcmForm:
    """Raises Unusable where the container does not declare this coding and bit depth."""
    wanted, container = chain.target, containers().get(chain.target.container)
    if (
        container is None
        or wanted.coding not in container.codings
        or (wanted.coding == "pcm" and bits not in container.bits)
    ):
        remedy = "Another container or bit depth in the spec."
        raise Unusable(wanted.container, f"{bits}-bit {wanted.coding}", "what this container holds", remedy)
    extensible = any(step.settings.get("extensible", False) for step in chain.steps)
    return PcmForm(
        wanted.container,
        wanted.coding,
        wanted.rate_hz,
        wanted.channels,
        bits,
        extensible,
        mask,
        container.most_sound_bytes,
    )
