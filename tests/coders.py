"""Sound as a lossy coder leaves it: encoded and decoded in memory by the encoders that PyAV brings along."""

from __future__ import annotations

import io

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

CODERS = {"MP3": ("libmp3lame", "mp3"), "AAC": ("aac", "adts"), "Opus": ("libopus", "ogg")}


def coded(sound: Array, rate_hz: int, coder: str, bitrate_kbps: int) -> Array:
    """(frames, channels), one or two, as the decoder gives it, its delay in front included."""
    import av

    encoder, container = CODERS[coder]
    file, layout = io.BytesIO(), "mono" if sound.shape[1] == 1 else "stereo"
    with av.open(file, "w", format=container) as out:
        stream = out.add_stream(encoder, rate=rate_hz)
        stream.bit_rate = 1000 * bitrate_kbps
        stream.layout = layout
        frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(sound.T, np.float32), format="fltp", layout=layout)
        frame.sample_rate = rate_hz
        for packet in [*stream.encode(frame), *stream.encode(None)]:
            out.mux(packet)
    file.seek(0)
    with av.open(file) as back:
        pieces = [frame.to_ndarray() for frame in back.decode(audio=0)]
    return np.concatenate(pieces, axis=1).T.astype(np.float64)
