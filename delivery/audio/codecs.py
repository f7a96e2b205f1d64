"""What the encoders of MP3, AAC, Opus and ALAC can make: rates, bit rates, channels, depths."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from delivery.audio import lame

_MPEG_1_HZ = (32_000, 44_100, 48_000)
_MPEG_1_KBPS = (32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320)
_MPEG_2_KBPS = (8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160)


def _mp3_kbps(rate_hz: int, _channels: int) -> Sequence[int]:
    """ISO/IEC 11172-3 and 13818-3, layer III."""
    return _MPEG_1_KBPS if rate_hz in _MPEG_1_HZ else _MPEG_2_KBPS


def _aac_kbps(rate_hz: int, channels: int) -> Sequence[int]:
    """ISO/IEC 14496-3: at most 6144 bits for each channel in a frame of 1024."""
    return range(16, 6144 * channels * rate_hz // 1_024_000 + 1)


def _opus_kbps(_rate_hz: int, channels: int) -> Sequence[int]:
    """RFC 6716, 2.1.1: 6 to 510 kbit/s; the encoder takes at most 256 for one channel."""
    return range(6, min(510, 256 * channels) + 1)


@dataclass(frozen=True, slots=True)
class Codec:
    """Capabilities of an encoder; the limits are its own, not a recipient's."""

    title: str
    encoder: str
    muxer: str
    rates_hz: tuple[int, ...]
    """Empty: any."""
    kbps: Callable[[int, int], Sequence[int]] | None
    """Bit rates at a sample rate and channel count; None for lossless."""
    sample_formats: tuple[str, ...] = ("fltp",)
    """FFmpeg's names; for lossless, the one for 16-bit samples, then the one for longer samples."""
    muxer_options: dict[str, str] = field(default_factory=dict)
    neighbours: tuple[int, int] = (0, 0)
    """Frames of the song before and after that are encoded as context, and skipped by a player."""


CODECS = {
    "mp3": Codec(
        "MP3",
        "libmp3lame",
        "mp3",
        (8_000, 11_025, 12_000, 16_000, 22_050, 24_000, *_MPEG_1_HZ),
        _mp3_kbps,
        muxer_options={"id3v2_version": "0"},  # tags are written later, once, by delivery.tags
        neighbours=(2304, 1152),  # the tag with delay and padding can count to 4095
    ),
    "aac": Codec(
        "AAC",
        "aac",
        "ipod",
        (8_000, 11_025, 12_000, 16_000, 22_050, 24_000, 32_000, 44_100, 48_000, 64_000, 88_200, 96_000),
        _aac_kbps,
        neighbours=(4096, 4096),
    ),
    "opus": Codec(  # the output is 48 kHz for any input
        "Opus",
        "libopus",
        "opus",
        (48_000,),
        _opus_kbps,
        ("flt",),
        neighbours=(3840, 3840),  # RFC 7845, 4.2: 80 ms before the audio let the decoder settle
    ),
    "alac": Codec("ALAC", "alac", "ipod", (), None, ("s16p", "s32p")),
}
MAX_CHANNELS = 2
AAC_PEAK_MAX = 0.95
"""FFmpeg's encoder attenuates every frame with a sample above this so that the sample lies at this value: an unwanted
limiter that no option disables. Higher samples are therefore not passed to it (-0.45 dBFS)."""
ALAC_BITS = (16, 24)
VBR_QUALITIES = range(10)


@dataclass(frozen=True, slots=True)
class CodedForm:
    """Form of the file to encode."""

    coding: str
    """'mp3', 'aac', 'opus' or 'alac'."""
    rate_hz: int
    channels: int
    bitrate_kbps: int | None = None
    """Constant bit rate for MP3, average for AAC and Opus; None for ALAC."""
    bits: int | None = None
    """Bit depth, for ALAC."""
    vbr_quality: int | None = None
    """For MP3, instead of a bit rate: variable, 0 (best) to 9, LAME's quality settings."""


@dataclass(frozen=True, slots=True)
class Misfit:
    """One property of a planned file that its container or encoder cannot hold."""

    key: str
    """The spec key it depends on: 'rate_hz', 'channels', 'bits', 'coding', 'container', 'dither', 'encode'."""
    found: str
    wanted: str


def encoder_missing(coding: str) -> bool:
    """True if no installed encoder supports *coding*: FFmpeg's libraries can be built without it."""
    if coding == "mp3" and lame.library():
        return False
    import av  # not loaded for an album without other codings

    try:
        av.codec.Codec(CODECS[coding].encoder, "w")
    except ValueError:  # PyAV's UnknownCodecError is one
        return True
    return False


def misfits(form: CodedForm) -> Iterator[Misfit]:
    """Every property of *form* that the encoder in use cannot make; empty if it can. Pure."""
    codec = CODECS[form.coding]
    title, encoder = codec.title, f"the {codec.title} encoder in use"
    if codec.rates_hz and form.rate_hz not in codec.rates_hz:
        known = ", ".join(map(str, codec.rates_hz))
        yield Misfit("rate_hz", f"{form.rate_hz} Hz for {title}", f"{'one of ' * (len(codec.rates_hz) > 1)}{known} Hz")
        return  # bit rates depend on it
    if not 1 <= form.channels <= MAX_CHANNELS:
        yield Misfit("channels", f"{form.channels} channels for {encoder}", "mono or stereo")
    if codec.kbps is None and form.bits not in ALAC_BITS:
        wanted = f"{' or '.join(map(str, ALAC_BITS))} bit"
        yield Misfit("bits", f"{form.bits}-bit samples for {encoder}", wanted)
    if form.vbr_quality is not None:
        if form.coding != "mp3" or form.bitrate_kbps is not None or form.vbr_quality not in VBR_QUALITIES:
            wanted = "a quality of 0 to 9 for MP3 alone, in place of a bit rate"
            yield Misfit("encode", f"quality {form.vbr_quality} for {title}", wanted)
    elif codec.kbps and form.bitrate_kbps not in (taken := codec.kbps(form.rate_hz, form.channels)):
        spelt = f"{taken[0]} to {taken[-1]}" if isinstance(taken, range) else ", ".join(map(str, taken))
        rate = f"{form.bitrate_kbps} kbit/s" if form.bitrate_kbps else "no bit rate"
        yield Misfit("encode", f"{rate} for {title} at {form.rate_hz} Hz", f"{spelt} kbit/s")
