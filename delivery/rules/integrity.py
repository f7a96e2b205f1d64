"""Integrity of the audio and signs of processing. Signs give remarks; only facts can fail a file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from delivery.model.finding import NotMet, Weight
from delivery.rules.limits import FLAG, number
from delivery.rules.rule import Facts, rule
from delivery.rules.words import BITS, DB, PLAIN, always, at_least, counted, kilohertz, listed

finite_wanted = always("numbers only")
bits_wanted = at_least(BITS)
native_wanted = always("no edge of an earlier, lower sample rate")
live_wanted = always("sound in every channel")
polarity_wanted = always("channels of one polarity")
stereo_wanted = always("channels that differ")
same_polarity_wanted = always("one polarity in both channels")
wide_wanted = always("channels that differ by more than noise")
phase_wanted = at_least(PLAIN)


def one_channel(facts: Facts) -> str:
    """Mono has no second channel to compare."""
    channels = facts.get("channels")
    return "mono" if channels and channels.value == 1 else ""


def lower_than_48_khz(facts: Facts) -> str:
    """Below 48 kHz there is no lower standard rate whose edge would show within the spectrum."""
    rate_hz = facts.get("rate_hz")
    return kilohertz(rate_hz.value) if rate_hz and rate_hz.value and rate_hz.value < 48_000 else ""


@rule(
    id="finite_samples",
    limit=FLAG,
    needs=("nonfinite_samples",),
    weight=Weight.FACT,
    source="IEEE 754: not-a-number and infinity are no sample values",
    sentence="every sample is a number",
    value_text=lambda _none: "numbers only",
    limit_text=finite_wanted,
)
def finite_samples(nonfinite_samples: int, limit: bool) -> Iterator[NotMet]:
    """A float file holds no not-a-number and no infinity; writers turn them into full-scale spikes."""
    if nonfinite_samples:
        yield NotMet(
            f"{counted(nonfinite_samples, 'sample')} not a number",
            finite_wanted(limit),
            "a new render; this one cannot be converted safely",
            settled_if=None,
        )


@rule(
    id="effective_bits_min",
    limit={"type": "integer", "minimum": 1, "maximum": 32, "description": "bit"},
    needs=("effective_bits",),
    weight=Weight.FACT,
    source="common practice, no source: bits that change at all, digital silence left out",
    sentence="the bits in use are {limit}",
    value_text=BITS,
    limit_text=bits_wanted,
)
def effective_bit_depth(effective_bits: int, limit: int) -> Iterator[NotMet]:
    """The samples use their whole bit depth; zeros below a former bit depth add no detail."""
    if effective_bits < limit:
        yield NotMet(
            f"{BITS(effective_bits)} in use, zeros below",
            bits_wanted(limit),
            f"a render from the session with {BITS(limit)} or more",
        )


@rule(
    id="not_upsampled",
    limit=FLAG,
    needs=("upsampled_from_hz",),
    weight=Weight.STRONG_SIGN,
    source="common practice, no source: an edge, or images, at half a lower standard rate; evidence, never proof",
    sentence="the spectrum shows {limit}",
    limit_text=native_wanted,
    aside=lower_than_48_khz,
)
def raised_rate(upsampled_from_hz: int, limit: bool) -> Iterator[NotMet]:
    """The spectrum neither ends in a steep edge at half a lower rate, nor is it repeated in reverse above it, as gentle
    converters leave it. Old converters, some coders (AAC at 22 kHz) and low-passed material have such edges too."""
    if upsampled_from_hz:
        edge, rate = f"{upsampled_from_hz / 2000:g} kHz", kilohertz(upsampled_from_hz)
        yield NotMet(
            f"a steep edge or a mirror image at {edge}, as after conversion from {rate}",
            native_wanted(limit),
            "ask for a render at the session's own rate",
            settled_if="if this is it",
        )


@rule(
    id="live_channels",
    limit=FLAG,
    needs=("dead_channels",),
    weight=Weight.FACT,
    source="common practice, no source: a channel that never exceeds -90 dBFS is dead",
    sentence="there is {limit}",
    limit_text=live_wanted,
)
def live_channels(dead_channels: Sequence[int], limit: bool) -> Iterator[NotMet]:
    """Every channel carries sound."""
    if dead_channels:
        which = "channel" if len(dead_channels) == 1 else "channels"
        yield NotMet(
            f"silence in {which} {listed(map(str, dead_channels))}",
            live_wanted(limit),
            "a render with both channels",
            settled_if="if one is meant to be silent",
        )


@rule(
    id="not_inverted",
    limit=FLAG,
    needs=("inverted_channels",),
    weight=Weight.FACT,
    source="common practice, no source: one channel is the inverse of the other",
    sentence="the file has {limit}",
    limit_text=polarity_wanted,
    aside=one_channel,
)
def polarity(inverted_channels: bool, limit: bool) -> Iterator[NotMet]:
    """Neither channel is the inverse of the other; in mono the two would cancel."""
    if inverted_channels:
        yield NotMet(
            "one channel is the other with inverted polarity",
            polarity_wanted(limit),
            "a render with one channel's polarity inverted",
        )


@rule(
    id="true_stereo",
    limit=FLAG,
    needs=("identical_channels",),
    weight=Weight.FACT,
    source="common practice, no source: sample for sample the same in both channels",
    sentence="a stereo file has {limit}",
    limit_text=stereo_wanted,
    aside=one_channel,
)
def true_stereo(identical_channels: bool, limit: bool) -> Iterator[NotMet]:
    """A stereo file is not one channel written twice."""
    if identical_channels:
        yield NotMet(
            "the same samples in both channels",
            stereo_wanted(limit),
            "the stereo render",
            settled_if="for a mono recording",
        )


def judged_by_not_inverted(facts: Facts) -> str:
    """Mono, or an exact inverse, which its own rule reports as a fact."""
    inverted = facts.get("inverted_channels")
    return one_channel(facts) or ("one channel is the inverse of the other" if inverted and inverted.value else "")


@rule(
    id="no_side_inverted",
    limit=FLAG,
    needs=("one_side_inverted", "correlation"),
    weight=Weight.STRONG_SIGN,
    source="common practice, no source: correlation over the file, its seconds and the octaves of the bass",
    sentence="the two sides have {limit}",
    limit_text=same_polarity_wanted,
    aside=judged_by_not_inverted,
)
def side_inverted(one_side_inverted: bool, correlation: float, limit: bool) -> Iterator[NotMet]:
    """Neither channel of a stereo recording is inverted. Music without bass or voices in its middle cannot show it."""
    if one_side_inverted:
        yield NotMet(
            f"one side inverted, most likely: left and right oppose each other (correlation {PLAIN(correlation)})",
            same_polarity_wanted(limit),
            "listen in mono; a render with one channel's polarity inverted",
            settled_if="if intended",
        )


@rule(
    id="not_nearly_mono",
    limit=FLAG,
    needs=("nearly_mono", "channel_residual_db"),
    weight=Weight.STRONG_SIGN,
    source="common practice, no source: power left after the best-fitting gain, below -35 dB",
    sentence="a stereo file has {limit}",
    limit_text=wide_wanted,
    aside=one_channel,
)
def nearly_mono_file(nearly_mono: bool, channel_residual_db: float, limit: bool) -> Iterator[NotMet]:
    """A stereo file is not one channel with dither, a level difference or coding noise in the other."""
    if nearly_mono:
        yield NotMet(
            f"nearly mono: the channels' difference is at {DB(channel_residual_db)}",
            wide_wanted(limit),
            "the stereo render",
            settled_if="for a mono recording",
        )


@rule(
    id="low_band_correlation_min",
    limit=number(PLAIN, minimum=-1, maximum=1),
    needs=("low_band_correlation_min",),
    weight=Weight.STRONG_SIGN,
    source="common practice of cutting rooms, no source: correlation below 300 Hz, lowest stretch",
    sentence="the lowest correlation below 300 Hz is {limit}",
    value_text=PLAIN,
    limit_text=phase_wanted,
    aside=one_channel,
)
def low_band_phase(low_band_correlation_min: float, limit: float) -> Iterator[NotMet]:
    """The low band is in phase enough for a groove; the cutting engineer decides how much is tolerable."""
    if low_band_correlation_min < limit:
        yield NotMet(
            PLAIN.beside(low_band_correlation_min, limit),
            phase_wanted(limit),
            "mono the low band, or ask the cutting engineer",
        )
