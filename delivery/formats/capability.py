"""Capabilities of containers, encoders and dither: one place for planned files and for specs. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from delivery.audio.codecs import AAC_PEAK_MAX, CODECS, CodedForm, Misfit, misfits
from delivery.audio.pcm import PcmForm
from delivery.formats.registry import codec_of, containers

if TYPE_CHECKING:
    from delivery.model.chain import Target

__all__ = ["Ceiling", "Misfit", "full_scale", "peak_ceiling", "target_misfits"]


@dataclass(frozen=True, slots=True)
class Ceiling:
    """The largest magnitude that fits, and the requirement in words for one that does not."""

    magnitude: float
    called: str
    wanted: str


AAC_CEILING = Ceiling(AAC_PEAK_MAX, "-0.45 dBFS", "lower peaks: above this the AAC encoder attenuates by itself")


def full_scale(bits: int) -> Ceiling:
    """Ceiling of integer samples of *bits*: half a step beyond full scale is the last value that is not an over.

    Positive full scale itself is one step above the largest sample value, and dither may raise a sample near it by a
    step or two; such samples are limited to the largest value, since the audio was not over. Nothing else is ever
    clipped.
    """
    return Ceiling(
        1.0 + 0.5 / 2 ** (bits - 1), "full scale", "no sample beyond full scale, which integer samples cannot hold"
    )


def peak_ceiling(target: Target) -> Ceiling | None:
    """Ceiling of the samples handed to the writer of *target*; None if it has none."""
    if target.coding == "pcm" and target.bits is not None:
        return full_scale(target.bits)
    return AAC_CEILING if target.coding == "aac" else None


def target_misfits(target: Target, dither: str = "none", frames: int = 0) -> Iterator[Misfit]:
    """Every reason why a file of the form *target* cannot be written; empty if it can.

    Parameters
    ----------
    dither : name of the dither its samples are rounded with; 'none' also if they are not rounded
    frames : length of the audio, if known

    Yields
    ------
    One Misfit for each property, naming the spec key it depends on.
    """
    container = containers().get(target.container)
    if container is None:
        known = ", ".join(containers())
        yield Misfit("container", f"the container {target.container}", f"one that can be written: {known}")
        return
    if target.coding not in container.codings:
        wanted = " or ".join(container.codings)
        yield Misfit("coding", f"{target.coding} in {container.title}", wanted)
        return
    coding = codec_of(target.container, target.coding)
    if coding in CODECS:
        form = CodedForm(coding, target.rate_hz, target.channels, target.bitrate_kbps, target.bits, target.vbr_quality)
        yield from misfits(form)
    else:
        yield from _uncoded(target, frames)
    if target.coding == "pcm":
        from delivery.dsp.writing.dither import dither_refusal

        if wanted := dither_refusal(dither, target.rate_hz):
            yield Misfit("dither", f"the dither '{dither}' at {target.rate_hz} Hz", wanted)


def _uncoded(target: Target, frames: int) -> Iterator[Misfit]:
    """PCM and float samples, which the sound file library writes."""
    container = containers()[target.container]
    if target.rate_hz > container.max_rate_hz:
        yield Misfit("rate_hz", f"{target.rate_hz} Hz in {container.title}", f"at most {container.max_rate_hz} Hz")
    if target.channels > container.max_channels:
        found = f"{target.channels} channels in {container.title}"
        yield Misfit("channels", found, f"at most {container.max_channels}")
    if target.coding == "pcm" and target.bits not in container.bits:
        found = f"{target.bits}-bit samples in {container.title}"
        yield Misfit("bits", found, f"{', '.join(map(str, container.bits))} bit")
        return
    form = PcmForm(target.container, target.coding, target.rate_hz, target.channels, target.bits or 32)
    sound_bytes, most_bytes = frames * form.data_bytes_a_frame, container.most_sound_bytes
    if most_bytes is not None and sound_bytes > most_bytes:
        wanted = f"at most {most_bytes} bytes, the limit of its size fields"
        yield Misfit("container", f"{sound_bytes} bytes of sound in {container.title}", wanted)
