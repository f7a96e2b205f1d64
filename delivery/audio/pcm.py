"""Write sound that is not encoded, by libsndfile. Integers only, or floats for a file of floats.

No sample is rounded here. libsndfile rounds floats towards minus infinity when it makes PCM of them and clips without
a word, so integers are made before they come here, left-justified in int32; all it does then is drop the empty bits.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from delivery.errors import Unfinished, Unusable

Block = NDArray[np.int32] | NDArray[np.float64]

_SUBTYPES = {("pcm", 8): ("PCM_S8", "PCM_U8"), **{("pcm", bits): (f"PCM_{bits}",) for bits in (16, 24, 32)}} | {
    ("float", 32): ("FLOAT",),
    ("float", 64): ("DOUBLE",),
}
"""Names libsndfile has for a coding and bit depth; the first that a container takes is meant."""
FLAC_COMPRESSION = 5 / 8
"""Level 5 of 8, what the reference encoder does unasked; fixed, so that bytes do not depend on a library's mood."""

SIZE_FIELD_MAX = 2**32 - 1
ROOM_FOR_TAGS_BYTES = 64 * 2**20
"""Tags and a picture come into the file later and count towards the same 32-bit size field."""


@dataclass(frozen=True, slots=True)
class PcmForm:
    """What file the words go into."""

    container: str
    """Its id, which is libsndfile's name for it in small letters."""
    coding: str
    """'pcm' or 'float' (32 bit, or 64 where ``bits`` says so)."""
    rate_hz: int
    channels: int
    bits: int
    extensible: bool = False
    """WAV: the extensible header instead of the plain one."""
    channel_mask: int = 0
    """Of more than two channels in an extensible header; 0 states no loudspeakers."""
    most_sound_bytes: int | None = None
    """What the container's size fields can count; None: no limit."""

    @property
    def data_bytes_a_frame(self) -> int:
        bits = (64 if self.bits == 64 else 32) if self.coding == "float" else self.bits
        return self.channels * bits // 8


def write_pcm(path: Path, form: PcmForm, frames: int, blocks: Iterable[Block]) -> None:
    """Write *frames* instants of *blocks* into a new file.

    Parameters
    ----------
    blocks : (n, channels) int32, left-justified; float64 for the coding 'float'

    Raises
    ------
    Unusable : the container cannot hold this word length or this much sound
    Unfinished : the disk is full, or the folder went away
    ValueError : more or fewer frames came than were announced, or words of the wrong kind
    """
    import soundfile

    kind, subtype = sound_format(form, frames), _subtype(path, form)
    level = {"compression_level": FLAC_COMPRESSION} if kind == "FLAC" else {}
    try:
        with soundfile.SoundFile(path, "w", form.rate_hz, form.channels, subtype, format=kind, **level) as file:
            written = sum(_write(file, form, block) for block in blocks)
        if form.coding == "float" and form.container == "wav":
            _undate(path)
        if kind in ("WAVEX", "RF64") and form.channels > 2:
            _state_mask(path, form.channel_mask)
    except (soundfile.LibsndfileError, OSError) as error:
        raise unfinished(path, error) from error
    if written != frames:
        raise ValueError(f"{frames} frames were announced and {written} came")


def sound_format(form: PcmForm, frames: int) -> str:
    """The writer's name of the file form: 'WAV', 'WAVEX', 'RF64', 'AIFF', 'FLAC', 'CAF' ...

    RF64 (EBU Tech 3306) only where 32-bit sizes would not do: many readers know no more than RIFF. Its header is
    always the extensible one.

    Raises
    ------
    Unusable : a file that would pass the sizes its container can count
    """
    sound_bytes, most_bytes = frames * form.data_bytes_a_frame, form.most_sound_bytes
    fits = sound_bytes <= SIZE_FIELD_MAX - ROOM_FOR_TAGS_BYTES
    if most_bytes is not None and sound_bytes > most_bytes:
        raise Unusable(
            form.container,
            f"{sound_bytes} bytes of sound",
            f"at most {most_bytes}, which its size fields can count",
            "WAV or FLAC holds it",
        )
    if form.container == "wav":
        return ("WAVEX" if form.extensible else "WAV") if fits else "RF64"
    return form.container.upper()


def unfinished(path: Path, error: BaseException) -> Unfinished:
    """A writer's failure as one clear message."""
    return Unfinished(
        path.name, str(error), "a file written to its end", "Look at the disk's free space and its rights"
    )


def _subtype(path: Path, form: PcmForm) -> str:
    from soundfile import check_format

    bits = form.bits if form.coding == "pcm" else 64 if form.bits == 64 else 32
    for name in _SUBTYPES.get((form.coding, bits), ()):
        if check_format(form.container.upper(), name):
            return name
    kinds = [kind for kind, names in _SUBTYPES.items() if any(check_format(form.container.upper(), n) for n in names)]
    raise Unusable(
        path.name,
        f"{form.bits}-bit {form.coding} for {form.container}",
        ", ".join(f"{bits}-bit {coding}" for coding, bits in kinds) or "a container that is written as it is",
        "another container or word length in the spec",
    )


def _write(file: Any, form: PcmForm, block: Block) -> int:
    wanted = np.float64 if form.coding == "float" else np.int32
    if block.dtype != wanted:
        raise ValueError(f"{form.coding} is written from {np.dtype(wanted)}, not from {block.dtype}")
    short = form.coding == "pcm" and form.bits == 16  # twice as fast as from long words
    file.write(np.right_shift(block.astype(np.int32, copy=False), 16).astype(np.int16) if short else block)
    return len(block)


def _undate(path: Path) -> None:
    """Clear the clock time libsndfile puts into the PEAK chunk of float files: same in, same out."""
    _overwrite(path, b"PEAK", 4, bytes(4))  # behind its version


def _state_mask(path: Path, channel_mask: int) -> None:
    """libsndfile states loudspeakers of its own choice for 4, 6 and 8 channels."""
    _overwrite(path, b"fmt ", 20, channel_mask.to_bytes(4, "little"))


def _overwrite(path: Path, chunk: bytes, offset: int, content: bytes) -> None:
    """Write *content* at *offset* into the body of the first *chunk* before the sound, where there is one."""
    with path.open("r+b") as file:
        file.seek(12)
        while (head := file.read(8))[:4] not in (b"data", b""):
            size = int.from_bytes(head[4:], "little")
            if head[:4] == chunk:
                file.seek(offset, 1)
                file.write(content)
                return
            file.seek(size + size % 2, 1)
