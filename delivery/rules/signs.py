"""Signs of processing history. They give remarks; none can fail a file."""

from __future__ import annotations

import math
from collections.abc import Iterator

from delivery.model.finding import NotMet, Weight
from delivery.model.reasons import ABOVE_48_KHZ, NO_QUIET_PASSAGE, OVER_16_BIT
from delivery.rules.limits import FLAG
from delivery.rules.rule import Facts, rule
from delivery.rules.words import always

PRACTICE = "common practice, no source; evidence, never proof"
LOSSLESS = ("pcm", "float", "dsd")
UNDITHERED_PERCENT = 10.0
"""Remarked from here on; dithered audio reads 0."""
NOT_COVERED = "Opus, MP2, AC-3 and most conversions of rate since are not covered"

uncoded_wanted = always("no frames of an earlier lossy coder")
own_steps_wanted = always("no coarser steps within the samples")
dithered_wanted = always("dither, or noise enough, under the quietest sound")
open_wanted = always("no steep band edge below 20.6 kHz")


def lossy(facts: Facts) -> str:
    """A lossy file has no bit depth."""
    coding = facts.get("coding")
    return f"{coding.value} is lossy" if coding and coding.value not in (None, *LOSSLESS) else ""


def no_short_words(facts: Facts) -> str:
    """Not applicable if nothing is quiet enough, as in most music, or if samples are longer than 16 bits."""
    cut = facts.get("undithered_percent")
    nothing = cut is not None and cut.why_missing in (OVER_16_BIT, NO_QUIET_PASSAGE)
    return lossy(facts) or (cut.why_missing if cut is not None and nothing else "")


def lossy_or_high(facts: Facts) -> str:
    """A lossy file needs no detector; above 48 kHz, now or in the master, rate conversion removed the frame grid."""
    coder = facts.get("lossy_coder")
    high = coder is not None and coder.why_missing == ABOVE_48_KHZ
    return lossy(facts) or (coder.why_missing if coder is not None and high else "")


@rule(
    id="not_lossy_sourced",
    limit=FLAG,
    needs=("lossy_coder",),
    weight=Weight.STRONG_SIGN,
    source=f"Herre and Schug, AES 109th Convention (2000); evidence, never proof. {NOT_COVERED}",
    sentence="the audio shows {limit}",
    limit_text=uncoded_wanted,
    aside=lossy_or_high,
)
def coder_frames(lossy_coder: str, limit: bool) -> Iterator[NotMet]:
    """No zeros at the frame positions of MP3, AAC or Vorbis. Samples used in the music can leave some."""
    if lossy_coder != "none":
        yield NotMet(
            f"evidence of {lossy_coder} coding before: its frames show in the audio",
            uncoded_wanted(limit),
            "ask whether a lossless master exists",
            settled_if="if this is the only one",
        )


@rule(
    id="no_early_band_edge",
    limit=FLAG,
    needs=("early_edge_hz",),
    weight=Weight.WEAK_SIGN,
    source=PRACTICE,
    sentence="the spectrum shows {limit}",
    limit_text=open_wanted,
    aside=lossy,
)
def early_band_edge(early_edge_hz: float, limit: bool) -> Iterator[NotMet]:
    """No steep band edge from 15 to 20.6 kHz, as made by coders, Opus among them, before or after a conversion of rate.

    Filters, samplers and old converters make one too.
    """
    if early_edge_hz:
        yield NotMet(
            f"a steep edge at {early_edge_hz / 1000:.1f} kHz",
            open_wanted(limit),
            "ask where the filter is",
            settled_if="if it is intended, as in many mixes",
        )


@rule(
    id="not_scaled",
    limit=FLAG,
    needs=("common_step", "coding"),
    weight=Weight.STRONG_SIGN,
    source=PRACTICE,
    sentence="there are {limit}",
    limit_text=own_steps_wanted,
    aside=lossy,
)
def scaled_samples(common_step: float, coding: str, limit: bool) -> Iterator[NotMet]:
    """Samples are not multiples of coarser steps, as those of a lower bit depth are after a level change. Zeros in the
    low bits have their own rule."""
    padded = math.log2(common_step).is_integer()
    if common_step > 1 and not (padded and coding == "pcm"):
        cause = "stored longer" if padded else "after a change of level"
        yield NotMet(
            f"all samples are multiples of {common_step:.2f} steps, as samples of a lower bit depth are {cause}",
            own_steps_wanted(limit),
            "ask for the render before its bit depth was reduced",
            settled_if="if there is none",
        )


@rule(
    id="not_truncated",
    limit=FLAG,
    needs=("undithered_percent",),
    weight=Weight.WEAK_SIGN,
    source="common practice, no source: noise of the quietest pieces against that of dither; a hint, never a proof",
    sentence="there is {limit}",
    limit_text=dithered_wanted,
    aside=no_short_words,
)
def undithered_samples(undithered_percent: float, limit: bool) -> Iterator[NotMet]:
    """Fades and other quiet passages in 16 bits contain the noise of dither. Audio made in 16 bits may not."""
    if undithered_percent >= UNDITHERED_PERCENT:
        yield NotMet(
            f"{undithered_percent:.0f} % of the quietest passages have less noise than triangular dither leaves",
            dithered_wanted(limit),
            "listen to the fades; a render in more bits, to be dithered when its bit depth is reduced",
        )
