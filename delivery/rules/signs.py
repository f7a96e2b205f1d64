"""Signs of processing history. They give remarks; none can fail a file."""

from __future__ import annotations

import math
from collections.abc import Iterator

from delivery.model.finding import NotMet, Weight
from delivery.rules.limits import FLAG
from delivery.rules.rule import Facts, rule
from delivery.rules.words import always

PRACTICE = "common practice, no source; evidence, never proof"
LOSSLESS = ("pcm", "float", "dsd")
UNDITHERED_PERCENT = 10.0
"""From here on it is remarked; dithered sound reads 0."""
NOT_COVERED = "Opus, MP2, AC-3 and sound converted in rate since are not covered"

uncoded_wanted = always("no frames of an earlier lossy coder")
own_steps_wanted = always("no coarser steps under the words")
dithered_wanted = always("dither, or noise enough, under the quietest sound")
open_wanted = always("no steep end of the band below 20 kHz")


def lossy(facts: Facts) -> str:
    """A lossy file has no words."""
    coding = facts.get("coding")
    return f"{coding.value} is lossy by its nature" if coding and coding.value not in (None, *LOSSLESS) else ""


def no_short_words(facts: Facts) -> str:
    """Most music has no sound so quiet, and what is longer than 16 bits was not cut to them: nothing to ask."""
    cut = facts.get("undithered_percent")
    nothing = cut is not None and cut.why_missing in (
        "the words are longer than 16 bits",
        "no sound quiet enough to tell",
    )
    return lossy(facts) or (cut.why_missing if cut is not None and nothing else "")


def lossy_or_high(facts: Facts) -> str:
    """A lossy file needs no detector, and above 48 kHz, now or in the master, the frames' grid was converted away."""
    coder = facts.get("lossy_coder")
    high = coder is not None and coder.why_missing == "cannot be told above 48 kHz"
    return lossy(facts) or (coder.why_missing if coder is not None and high else "")


@rule(
    id="not_lossy_sourced",
    limit=FLAG,
    needs=("lossy_coder",),
    weight=Weight.STRONG_SIGN,
    source=f"Herre and Schug, AES 109th Convention (2000); evidence, never proof. {NOT_COVERED}",
    sentence="the sound shows {limit}",
    limit_text=uncoded_wanted,
    aside=lossy_or_high,
)
def coder_frames(lossy_coder: str, limit: bool) -> Iterator[NotMet]:
    """No zeros stand where frames of MP3, AAC or Vorbis would leave them. Samples within the music can leave some."""
    if lossy_coder != "none":
        yield NotMet(
            f"evidence of {lossy_coder} coding before: its frames show in the sound",
            uncoded_wanted(limit),
            "ask whether a lossless master exists; if this is it, no action needed",
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
    """The band has no steep end from 15 to 20 kHz, as coders make it; filters, samplers and old converters do too."""
    if early_edge_hz:
        yield NotMet(
            f"a steep end at {early_edge_hz / 1000:.1f} kHz",
            open_wanted(limit),
            "ask where the filter is; many mixes are intended",
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
def scaled_words(common_step: float, coding: str, limit: bool) -> Iterator[NotMet]:
    """Samples do not stand on coarser steps, as those of shorter words do after a change of level. Zeros below are
    another rule's."""
    padded = math.log2(common_step).is_integer()
    if common_step > 1 and not (padded and coding == "pcm"):
        cause = "stored longer" if padded else "after a change of level"
        yield NotMet(
            f"all samples are multiples of {common_step:.2f} steps, as shorter words are {cause}",
            own_steps_wanted(limit),
            "ask for the render before it was stored in shorter words; if there is none, no action needed",
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
def undithered_words(undithered_percent: float, limit: bool) -> Iterator[NotMet]:
    """Fades and other quiet sound in 16 bits hold the noise of dither. Sound that was made in 16 bits need not."""
    if undithered_percent >= UNDITHERED_PERCENT:
        yield NotMet(
            f"{undithered_percent:.0f} % of the quietest sound has less noise than triangular dither leaves",
            dithered_wanted(limit),
            "listen to the fades; a render in more bits can be dithered when it is made shorter",
        )
