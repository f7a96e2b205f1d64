"""MP3, AAC, Opus and ALAC: bit-exact modes, no dates, gapless figures in place. LAME directly, others by FFmpeg."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np

from delivery.audio import lame
from delivery.audio.codecs import CODECS, Codec, CodedForm, encoder_missing, misfits
from delivery.audio.gapless import (
    AAC_PACKET_FRAMES,
    MP4_COMMENT,
    mp3_skipping,
    mp4_comment,
    ogg_page_bytes,
    opus_skipping,
)
from delivery.audio.pcm import Block, unfinished
from delivery.errors import Unusable

_FIRST_BYTES = 1024
"""Holds the first frame of an MP3, up to its tag, and the first page of an Ogg Opus file."""
_LAMBDAS_A_QUALITY = 118
"""FFmpeg's unit of quality (FF_QP2LAMBDA)."""


def encode(path: Path, form: CodedForm, blocks: Iterable[Block], wanted: tuple[int, int] | None = None) -> None:
    """Encode *blocks* into a new file whose gapless data give back the same number of frames.

    MP3 stores it in its Info frame, Opus in pre-skip and last granule, MP4 in its edit list; FFmpeg follows the first
    two to the frame, and of an edit list only the start. Audio shorter than 47 frames is returned as 47 by MP3.

    Parameters
    ----------
    blocks : (n, channels) float64, full scale 1.0. MP3 and Opus may exceed it: they use floating point inside, and the
    decoded peaks are measured afterwards. AAC requires peaks of at most ``AAC_PEAK_MAX``, ensured by the caller. For
    ALAC int32, left-justified.
    wanted : first frame of the audio, and one past the last, that the file gives back; None: all. Frames around them
    are context for the encoder, at most ``Codec.neighbours``.

    Raises
    ------
    Unusable : a rate, bit rate, number of channels or bit depth that the coding does not support
    Unfinished : the disk is full, or the folder is gone
    """
    codec = _checked(path, form)
    if form.coding == "mp3" and lame.takes(form.rate_hz, form.bitrate_kbps):
        encoder = lame.Encoder(form.rate_hz, form.channels, form.bitrate_kbps, form.vbr_quality)
        lame.write(path, encoder, blocks, wanted)
    else:
        _through_ffmpeg(path, codec, form, _unscaled(form, blocks), wanted)


def _unscaled(form: CodedForm, blocks: Iterable[Block]) -> Iterable[Block]:
    """Blocks that FFmpeg's LAME, whose scale cannot be set, scales back to these."""
    if form.coding != "mp3":
        return blocks
    scale = lame.preset_scale(form.rate_hz, form.channels, form.bitrate_kbps, form.vbr_quality)
    return blocks if scale == 1 else (block / scale for block in blocks)


def _through_ffmpeg(
    path: Path, codec: Codec, form: CodedForm, blocks: Iterable[Block], wanted: tuple[int, int] | None
) -> None:
    import av

    options = {"fflags": "+bitexact", **codec.muxer_options}
    if codec.muxer == "ipod":
        options["movie_timescale"] = str(
            form.rate_hz
        )  # the unit of the edit list: otherwise it rounds to a millisecond
    first, stop = wanted or (0, None)
    begins = at = -first if form.coding == "aac" else 0  # an edit list begins at 0; earlier frames are not played
    last_of_packets = stop + at if stop is not None and form.coding != "mp3" else None
    packets = 0
    try:
        with av.open(path, "w", format=codec.muxer, options=options) as file:
            stream = _stream(file, codec, form)
            for block in blocks:
                packets += _mux(file, stream.encode(_frame(block, stream, form, at)), last_of_packets)
                at += len(block)
            packets += _mux(file, stream.encode(None), last_of_packets)
        fed = at - begins
        _report_skipped(path, form, first, fed if stop is None else stop, fed, packets)
    except (av.FFmpegError, OSError) as error:
        raise unfinished(path, error) from error


def _mux(file: Any, packets: list[Any], stop: int | None) -> int:
    """Mux the packets; return the number of frames written."""
    kept = _ending(packets, stop)
    file.mux(kept)
    return sum(packet.pts is not None for packet in kept)


def _ending(packets: list[Any], stop: int | None) -> list[Any]:
    """Packets that begin before frame *stop*; the last one lasts until then, which states the end of the file."""
    if stop is None:
        return packets
    kept = [packet for packet in packets if packet.pts is None or packet.pts < stop]
    for packet in kept:
        if packet.pts is not None and packet.pts + packet.duration > stop:
            packet.duration = stop - packet.pts
    return kept


def _report_skipped(path: Path, form: CodedForm, start: int, stop: int, fed: int, packets: int) -> None:
    """State that only frames *start* to *stop* of *fed* belong to the song.

    MP3 and Opus store it in their first frame or page. AAC's edit list was written with the file; a comment states the
    same for decoders that read no edit list.
    """
    if form.coding == "aac":
        mp4: Any = import_module("mutagen.mp4")
        file = mp4.MP4(path)
        comment = mp4_comment(AAC_PACKET_FRAMES + start, stop - start, packets)
        file[MP4_COMMENT] = [mp4.MP4FreeForm(comment.encode(), mp4.AtomDataType.UTF8)]
        file.save(padding=lambda _: 0)
    elif (start, stop) != (0, fed):
        with path.open("r+b") as opened:
            head = opened.read(_FIRST_BYTES)
            if form.coding == "mp3":
                head = mp3_skipping(head, start, fed - stop)
            elif form.coding == "opus":
                head = opus_skipping(head[: ogg_page_bytes(head)], start)
            opened.seek(0)
            opened.write(head)


def _checked(path: Path, form: CodedForm) -> Codec:
    if form.coding not in CODECS:
        raise Unusable(path.name, f"the coding '{form.coding}'", f"one of {', '.join(CODECS)}", "Change the spec")
    codec = CODECS[form.coding]
    if encoder_missing(form.coding):
        remedy = "Install FFmpeg's libraries with it"
        raise Unusable(path.name, f"no encoder for {codec.title} on this machine", codec.encoder, remedy)
    for misfit in misfits(form):
        remedy = f"The spec requires what {codec.title} cannot hold"
        raise Unusable(path.name, misfit.found, misfit.wanted, remedy)
    return codec


def _stream(file: Any, codec: Codec, form: CodedForm) -> Any:
    from av.codec.context import Flags

    stream = file.add_stream(codec.encoder, rate=form.rate_hz)
    context = stream.codec_context
    context.layout = "stereo" if form.channels == 2 else "mono"
    context.format = codec.sample_formats[-1] if (form.bits or 0) > 16 else codec.sample_formats[0]
    context.time_base = Fraction(1, form.rate_hz)
    context.flags |= int(Flags.bitexact)
    context.thread_count = 1
    if form.bitrate_kbps:
        context.bit_rate = form.bitrate_kbps * 1000
    if form.vbr_quality is not None:
        context.flags |= int(Flags.qscale)
        context.options = {"global_quality": str(form.vbr_quality * _LAMBDAS_A_QUALITY)}
    return stream


def _frame(block: Block, stream: Any, form: CodedForm, start: int) -> Any:
    import av

    context = stream.codec_context
    kind = context.format.name
    samples: Any = block.astype(np.float32) if kind.startswith("flt") else block
    if kind == "s16p":
        samples = (samples >> 16).astype(np.int16)
    planes = samples.T if kind.endswith("p") else samples.reshape(1, -1)
    frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(planes), format=kind, layout=context.layout.name)
    frame.sample_rate = form.rate_hz
    frame.time_base = Fraction(1, form.rate_hz)
    frame.pts = start
    return frame
