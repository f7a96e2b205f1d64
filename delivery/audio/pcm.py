"""Write uncompressed and FLAC audio: integers in a WAV directly, all else by libsndfile. Floats for a file of floats.

No sample is rounded here. libsndfile converts floats to PCM by rounding towards minus infinity, and clips without an
error, so integers are made before, left-justified in int32; libsndfile then only drops the empty bits.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from delivery.audio.plain_wav import PACKED, header
from delivery.errors import Unfinished, Unusable

Block = NDArray[np.int32] | NDArray[np.float64]

_SUBTYPES = {("pcm", 8): ("PCM_S8", "PCM_U8"), **{("pcm", bits): (f"PCM_{bits}",) for bits in (16, 24, 32)}} | {
    ("float", 32): ("FLOAT",),
    ("float", 64): ("DOUBLE",),
}
"""libsndfile's names for a coding and bit depth; the first one that the container supports is used."""
FLAC_COMPRESSION = 5 / 8
"""Level 5 of 8, the reference encoder's default; fixed, so that bytes do not depend on the library's default."""

_SYSTEM_ERROR = 2
"""libsndfile's SF_ERR_SYSTEM."""
SIZE_FIELD_MAX = 2**32 - 1
ROOM_FOR_TAGS_BYTES = 64 * 2**20
"""Room for tags and a picture, written into the file later and counted in the same 32-bit size field."""


@dataclass(frozen=True, slots=True)
class PcmForm:
    """Form of the file to write."""

    container: str
    """Container id, which is libsndfile's name for it in small letters."""
    coding: str
    """'pcm' or 'float' (32 bit, or 64 as set in ``bits``)."""
    rate_hz: int
    channels: int
    bits: int
    extensible: bool = False
    """WAV: the extensible header instead of the plain one."""
    channel_mask: int = 0
    """For more than two channels in an extensible header; 0 states no loudspeakers."""
    most_sound_bytes: int | None = None
    """Limit of the container's size fields; None: no limit."""

    @property
    def data_bytes_a_frame(self) -> int:
        """Bytes of one frame of audio data."""
        bits = (64 if self.bits == 64 else 32) if self.coding == "float" else self.bits
        return self.channels * bits // 8


def write_pcm(path: Path, form: PcmForm, frames: int, blocks: Iterable[Block]) -> None:
    """Write *frames* frames of *blocks* into a new file.

    Parameters
    ----------
    blocks : (n, channels) int32, left-justified; float64 for the coding 'float'

    Raises
    ------
    Unusable : the container cannot hold this bit depth or this much audio
    Unfinished : the disk is full, or the folder is gone
    ValueError : more or fewer frames than announced, or samples of the wrong type
    """
    plain = sound_format(form, frames) in ("WAV", "WAVEX") and form.coding == "pcm" and form.bits in PACKED
    written = (_write_plain if plain else _write_by_library)(path, form, frames, blocks)
    if written != frames:
        raise ValueError(f"{frames} frames were announced and {written} came")


def _write_plain(path: Path, form: PcmForm, frames: int, blocks: Iterable[Block]) -> int:
    written, packed = 0, PACKED[form.bits]
    try:
        with path.open("wb") as file:
            file.write(header(form, frames))
            for block in blocks:
                file.write(packed(_of_form(block, form)).data)
                written += len(block)
            file.write(bytes(written * form.data_bytes_a_frame % 2))
    except OSError as error:
        raise unfinished(path, error, frames * form.data_bytes_a_frame) from error
    return written


def _write_by_library(path: Path, form: PcmForm, frames: int, blocks: Iterable[Block]) -> int:
    written = 0
    with sound_file(path, form, frames) as file:
        for block in blocks:
            _write(file, form, _of_form(block, form))
            written += len(block)
    return written


def _of_form(block: Block, form: PcmForm) -> Any:
    wanted = np.float64 if form.coding == "float" else np.int32
    if block.dtype != wanted:
        raise ValueError(f"{form.coding} is written from {np.dtype(wanted)}, not from {block.dtype}")
    return block


@contextmanager
def sound_file(path: Path, form: PcmForm, frames: int) -> Iterator[Any]:
    """libsndfile's file to write *frames* frames into, piece by piece with its ``write``; finished when left.

    Raises
    ------
    Unusable : the container cannot hold this bit depth or this much audio
    Unfinished : the disk is full, or the folder is gone
    """
    import soundfile

    kind, subtype = sound_format(form, frames), _subtype(path, form)
    level = {"compression_level": FLAC_COMPRESSION} if kind == "FLAC" else {}
    try:
        with _writer()(path, "w", form.rate_hz, form.channels, subtype, format=kind, **level) as file:
            yield file
        if form.coding == "float" and form.container == "wav":
            _undate(path)
        if kind in ("WAVEX", "RF64") and form.channels > 2:
            _state_mask(path, form.channel_mask)
    except soundfile.LibsndfileError as error:
        raise unfinished(path, _cause(error), frames * form.data_bytes_a_frame) from error
    except OSError as error:
        raise unfinished(path, error, frames * form.data_bytes_a_frame) from error


def _cause(error: Any) -> Exception:
    """What the system said. libsndfile reports 'System error.' for any fault of the system; what it was is left in
    the number of the thread's last failed call. The disk cannot be asked afterwards: others may have left it meanwhile.
    """
    from _cffi_backend import FFI  # loaded with soundfile: nothing may be loaded, and kept, while the disk is full

    if error.code != _SYSTEM_ERROR:
        return error  # type: ignore[no-any-return]
    if sys.platform == "win32":
        number, said = FFI().getwinerror()
        return OSError(None, said, None, number)
    return OSError(FFI().errno, os.strerror(FFI().errno))


@cache
def _writer() -> Any:
    """libsndfile's file, not flushed to the disk when it is closed: tags are written first, then all is flushed."""
    import soundfile

    class Writer(soundfile.SoundFile):  # type: ignore[misc]
        def flush(self) -> None:
            """Called by ``close``; libsndfile itself holds no samples back."""

    return Writer


def sound_format(form: PcmForm, frames: int) -> str:
    """The writer's name of the file form: 'WAV', 'WAVEX', 'RF64', 'AIFF', 'FLAC', 'CAF' ...

    RF64 (EBU Tech 3306) only if 32-bit sizes are not enough: many readers support only RIFF. Its header is
    always the extensible one.

    Raises
    ------
    Unusable : a file larger than its container's size fields permit
    """
    sound_bytes, most_bytes = frames * form.data_bytes_a_frame, form.most_sound_bytes
    fits = sound_bytes <= SIZE_FIELD_MAX - ROOM_FOR_TAGS_BYTES
    if most_bytes is not None and sound_bytes > most_bytes:
        raise Unusable(
            form.container,
            f"{sound_bytes} bytes of sound",
            f"at most {most_bytes}, which its size fields can count",
            "Use WAV or FLAC",
        )
    if form.container == "wav":
        return ("WAVEX" if form.extensible else "WAV") if fits else "RF64"
    return form.container.upper()


def unfinished(path: Path, error: BaseException, needed_bytes: int | None = None) -> Unfinished:
    """A writer's failure as one clear message.

    Parameters
    ----------
    needed_bytes : size of the whole file; None: not known
    """
    from delivery.disk import no_space

    if full := no_space(error, path, needed_bytes):
        return full
    found = getattr(error, "strerror", None) or str(error)
    return Unfinished(path.name, found, "a file written to its end", "Check the disk's free space and permissions.")


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
        "another container or bit depth in the spec",
    )


def _write(file: Any, form: PcmForm, block: Any) -> None:
    short = form.coding == "pcm" and form.bits == 16  # a quarter of the time that libsndfile takes to shift them
    file.write(PACKED[16](block) if short else block)


def _undate(path: Path) -> None:
    """Clear the time stamp that libsndfile puts into the PEAK chunk of float files: same in, same out."""
    _overwrite(path, b"PEAK", 4, bytes(4))  # after its version


def _state_mask(path: Path, channel_mask: int) -> None:
    """Write our channel mask: libsndfile chooses its own for 4, 6 and 8 channels."""
    _overwrite(path, b"fmt ", 20, channel_mask.to_bytes(4, "little"))


def _overwrite(path: Path, chunk: bytes, offset: int, content: bytes) -> None:
    """Write *content* at *offset* into the body of the first *chunk* before the audio, if there is one."""
    with path.open("r+b") as file:
        file.seek(12)
        while (head := file.read(8))[:4] not in (b"data", b""):
            size = int.from_bytes(head[4:], "little")
            if head[:4] == chunk:
                file.seek(offset, 1)
                file.write(content)
                return
            file.seek(size + size % 2, 1)
