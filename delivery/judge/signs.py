"""What a sound shows of its earlier life. All are signs: they remark, and none can fail a file."""

from __future__ import annotations

from collections.abc import Iterator

from delivery.judge.limits import FLAG
from delivery.judge.rule import Facts, rule
from delivery.judge.words import always, kilohertz
from delivery.model.finding import Shortfall, Weight

PRACTICE = "common practice, no source; evidence, never proof"
NOT_COVERED = "Opus, MP2, AC-3 and sound converted in rate since are not covered"

uncoded_wanted = always("no frames of an earlier lossy coder")
open_wanted = always("no steep end of the band below 20 kHz")


def lossy_or_high(facts: Facts) -> str:
    """A lossy file needs no detector, and above 48 kHz the frames' grid was converted away."""
    coding, rate_hz = facts.get("coding"), facts.get("rate_hz")
    if coding and coding.value and coding.value not in ("pcm", "float"):
        return f"{coding.value} is lossy by its nature"
    return kilohertz(rate_hz.value) if rate_hz and rate_hz.value and rate_hz.value > 48_000 else ""


@rule(
    id="coder-frames",
    asks="not_lossy_sourced",
    limit=FLAG,
    needs=("lossy_coder",),
    weight=Weight.STRONG_SIGN,
    source=f"Herre and Schug, AES 109th Convention (2000); evidence, never proof. {NOT_COVERED}",
    says="the sound shows {limit}",
    wants=uncoded_wanted,
    aside=lossy_or_high,
)
def coder_frames(lossy_coder: str, limit: bool) -> Iterator[Shortfall]:
    """No zeros stand where frames of MP3, AAC or Vorbis would leave them. Samples within the music can leave some."""
    if lossy_coder != "none":
        yield Shortfall(
            f"evidence of {lossy_coder} coding before: its frames show in the sound",
            uncoded_wanted(limit),
            "ask whether a lossless master exists; if this is it, nothing is to be done",
        )


@rule(
    id="early-band-edge",
    asks="no_early_band_edge",
    limit=FLAG,
    needs=("early_edge_hz",),
    weight=Weight.WEAK_SIGN,
    source=PRACTICE,
    says="the spectrum shows {limit}",
    wants=open_wanted,
    aside=lossy_or_high,
)
def early_band_edge(early_edge_hz: float, limit: bool) -> Iterator[Shortfall]:
    """The band has no steep end from 15 to 20 kHz, as coders make it; filters, samplers and old converters do too."""
    if early_edge_hz:
        yield Shortfall(
            f"a steep end at {early_edge_hz / 1000:.1f} kHz",
            open_wanted(limit),
            "ask where the filter is; many mixes are meant so",
        )
