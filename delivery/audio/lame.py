"""LAME called through its C interface, for MP3 from float samples.

PyAV carries a LAME as well, built without optimisation: it takes 2.7 times as long, and was half of an album's time.
The wheel of ``lameenc`` holds a fast one. Its own Python interface takes 16-bit samples only, which would add an
unwanted requantisation and clip overs; LAME's public C interface (lame.h) takes floats, and on Linux the wheel's module
lets it be called (for macOS it has the same names, untried). If it does not, ``library`` is None and FFmpeg encodes.
"""

from __future__ import annotations

import ctypes
import math
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from types import TracebackType

import numpy as np

from delivery.audio.gapless import mp3_skipping
from delivery.audio.pcm import Block, unfinished

MONO, JOINT_STEREO = 3, 1
VARIABLE = 2
"""lame.h: MPEG_mode MONO and JOINT_STEREO, vbr_mode vbr_rh (the program's ``--vbr-old``).

The default one, vbr_mtrh, takes a third of the time and rounds much coarser than masking requires: lone tones come out
0.06 dB off at V0 and 0.4 dB at V9, against 0.005 and 0.03 here, and files of one size have 3 dB more error.
"""
LEAST_BUFFER, BYTES_A_FRAME = 7200, 1.25
"""lame.h on lame_encode_buffer: the worst case is 1.25 bytes per frame, plus 7200."""
LEAST_FRAME_BYTES = 192
"""Side information of stereo and the LAME tag: smaller frames hold no tag, and the file would not state its length."""
MPEG_1_HZ = 32_000
PRESET_SCALES = ((160, 0.95), (192, 0.97), (224, 0.98))
"""Up to this bit rate in kbit/s, LAME 3.100 multiplies the audio by this factor at constant bit rates; 1.0 above, and
for variable rates. Read from the library if it can be called."""
NEEDED = {
    "get_lame_version": (ctypes.c_char_p,),
    "lame_init": (ctypes.c_void_p,),
    "lame_init_params": (ctypes.c_int, ctypes.c_void_p),
    **{
        f"lame_set_{setting}": (ctypes.c_int, ctypes.c_void_p, ctypes.c_int)
        for setting in ("num_channels", "in_samplerate", "out_samplerate", "mode", "brate", "VBR", "bWriteVbrTag")
    },
    "lame_set_scale": (ctypes.c_int, ctypes.c_void_p, ctypes.c_float),
    "lame_get_scale": (ctypes.c_float, ctypes.c_void_p),
    "lame_set_write_id3tag_automatic": (None, ctypes.c_void_p, ctypes.c_int),
    "lame_set_VBR_quality": (ctypes.c_int, ctypes.c_void_p, ctypes.c_float),
    **{f"lame_set_{word}": (ctypes.c_int, ctypes.c_void_p, ctypes.c_void_p) for word in ("errorf", "debugf", "msgf")},
    "lame_encode_buffer_ieee_float": (
        *(ctypes.c_int, ctypes.c_void_p, ctypes.c_void_p, ctypes.c_void_p, ctypes.c_int),
        *(ctypes.c_char_p, ctypes.c_int),
    ),
    "lame_encode_flush": (ctypes.c_int, ctypes.c_void_p, ctypes.c_char_p, ctypes.c_int),
    "lame_get_lametag_frame": (ctypes.c_size_t, ctypes.c_void_p, ctypes.c_char_p, ctypes.c_size_t),
    "lame_close": (ctypes.c_int, ctypes.c_void_p),
}
"""Function -> its result, then its arguments, as lame.h declares them."""


@cache
def library() -> ctypes.CDLL | None:
    """LAME, with every function needed declared; None if none can be called."""
    from importlib.util import find_spec

    module = find_spec("lameenc")
    if module is None or module.origin is None:
        return None
    try:
        found = ctypes.CDLL(module.origin)
        for name, (result, *arguments) in NEEDED.items():
            function = getattr(found, name)
            function.restype, function.argtypes = result, arguments
    except (OSError, AttributeError):
        return None
    return found


def takes(rate_hz: int, kbps: int | None) -> bool:
    """True if LAME can be called and writes a tag at this constant bit rate (None: variable)."""
    samples_an_eighth = 144 if rate_hz >= MPEG_1_HZ else 72
    return library() is not None and (kbps is None or samples_an_eighth * 1000 * kbps // rate_hz >= LEAST_FRAME_BYTES)


@cache
def preset_scale(rate_hz: int, channels: int, kbps: int | None, vbr_quality: int | None) -> float:
    """LAME's own scale factor at these settings, which lowers the decoded peaks.

    No spec requires this gain: the caller applies the inverse.
    """
    if library() is None:
        return usual_scale(kbps)
    with Encoder(rate_hz, channels, kbps, vbr_quality, scale=1.0) as encoder:
        return encoder.scale


def usual_scale(kbps: int | None) -> float:
    """The same from LAME 3.100's table."""
    return next((scale for most_kbps, scale in PRESET_SCALES if (kbps or math.inf) <= most_kbps), 1.0)


class Encoder:
    """One MP3 stream; a context manager, since LAME's memory is not managed by Python.

    Parameters
    ----------
    kbps : constant bit rate, or None
    vbr_quality : 0 (best) to 9, LAME's scale, if *kbps* is None
    scale : factor applied before LAME's own preset; None undoes the preset
    """

    def __init__(
        self, rate_hz: int, channels: int, kbps: int | None, vbr_quality: int | None, scale: float | None = None
    ) -> None:
        lame = library()
        assert lame is not None, "ask library() first"
        self._lame, self._channels = lame, channels
        self._stream = ctypes.c_void_p(lame.lame_init())
        for say in (lame.lame_set_errorf, lame.lame_set_debugf, lame.lame_set_msgf):
            say(self._stream, None)
        lame.lame_set_num_channels(self._stream, channels)
        lame.lame_set_in_samplerate(self._stream, rate_hz)
        lame.lame_set_out_samplerate(self._stream, rate_hz)
        lame.lame_set_mode(self._stream, JOINT_STEREO if channels == 2 else MONO)
        lame.lame_set_bWriteVbrTag(self._stream, 1)
        lame.lame_set_write_id3tag_automatic(self._stream, 0)
        if kbps is not None:
            lame.lame_set_brate(self._stream, kbps)
        else:
            lame.lame_set_VBR(self._stream, VARIABLE)
            lame.lame_set_VBR_quality(self._stream, float(vbr_quality or 0))
        undone = 1 / preset_scale(rate_hz, channels, kbps, vbr_quality) if scale is None else scale
        lame.lame_set_scale(self._stream, undone)  # initialising multiplies it by the preset's
        assert lame.lame_init_params(self._stream) >= 0, "the settings were checked before"

    def __enter__(self) -> Encoder:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._lame.lame_close(self._stream)

    @property
    def scale(self) -> float:
        """Factor applied to samples on their way into the encoder."""
        return float(self._lame.lame_get_scale(self._stream))

    def encode(self, block: Block) -> bytes:
        """MP3 frames ready after (n, channels) float samples, which may exceed full scale."""
        planes = np.ascontiguousarray(block.T, np.float32)
        left, right = planes[0].ctypes.data, planes[self._channels - 1].ctypes.data
        into = ctypes.create_string_buffer(int(BYTES_A_FRAME * len(block)) + LEAST_BUFFER)
        count = self._lame.lame_encode_buffer_ieee_float(self._stream, left, right, len(block), into, len(into))
        return _taken(into, count)

    def rest(self) -> bytes:
        """The last frames, padded; called once, at the end."""
        into = ctypes.create_string_buffer(LEAST_BUFFER)
        return _taken(into, self._lame.lame_encode_flush(self._stream, into, len(into)))

    def info_frame(self) -> bytes:
        """The frame that replaces the stream's first one: delay, padding and a seek table."""
        into = ctypes.create_string_buffer(LEAST_BUFFER)
        return _taken(into, self._lame.lame_get_lametag_frame(self._stream, into, len(into)))


def _taken(into: ctypes.Array[ctypes.c_char], count: int) -> bytes:
    if not 0 <= count <= len(into):
        raise OSError(f"LAME answered {count}")
    return into.raw[:count]


def write(path: Path, encoder: Encoder, blocks: Iterable[Block], wanted: tuple[int, int] | None = None) -> None:
    """Write a whole MP3 file without tags; its Info frame, known only at the end, is written into LAME's placeholder.

    Parameters
    ----------
    wanted : first frame, and one past the last, of the audio that the file gives back; None: all

    Raises
    ------
    Unfinished : the disk is full, or the folder is gone
    """
    fed = 0
    try:
        with encoder, path.open("wb") as file:
            for block in blocks:
                file.write(encoder.encode(block))
                fed += len(block)
            file.write(encoder.rest())
            start, stop = wanted or (0, fed)
            file.seek(0)
            file.write(mp3_skipping(encoder.info_frame(), start, fed - stop))
    except OSError as error:
        raise unfinished(path, error) from error
