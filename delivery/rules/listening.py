"""Places to listen to before a record is cut. Signs only: none can fail a file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from delivery.model.finding import NotMet, Weight
from delivery.rules.integrity import one_channel
from delivery.rules.rule import Unanswered, rule
from delivery.rules.words import PLAIN, counted, listed

BANDS_HZ = (100, 150, 200, 250, 300)
"""Those the meter gives."""


def spots_wanted(limit: int) -> str:
    """The greatest number of places, as the requirement states it."""
    return f"at most {counted(limit, 'place')}"


def phase_wanted(limit: Mapping[str, float]) -> str:
    """The least correlation, as the requirement states it."""
    return f"a correlation of at least {PLAIN.exact(limit['at_least'])} below {limit['below_hz']} Hz"


@rule(
    id="low_band_phase",
    limit={
        "type": "object",
        "description": "below_hz, and the lowest correlation (at_least) there",
        "properties": {
            "below_hz": {"enum": list(BANDS_HZ), "description": "Hz"},
            "at_least": {"type": "number", "minimum": -1, "maximum": 1, "description": "correlation"},
        },
        "required": ["below_hz", "at_least"],
        "additionalProperties": False,
    },
    needs=("low_band_hz", "low_band_correlations_min", "low_band_at_s"),
    weight=Weight.STRONG_SIGN,
    source="common practice of cutting rooms, no source: lowest correlation over 3 s below the frequency",
    sentence="the low band has {limit}",
    limit_text=phase_wanted,
    aside=one_channel,
)
def low_band_phase_below(
    low_band_hz: Sequence[int],
    low_band_correlations_min: Sequence[float],
    low_band_at_s: Sequence[float],
    limit: Mapping[str, float],
) -> Iterator[NotMet | Unanswered]:
    """The low band, below a frequency that the cutting room names, is in phase enough for a groove."""
    if limit["below_hz"] not in low_band_hz:
        yield Unanswered(f"no figure for {limit['below_hz']} Hz, only for {listed(map(str, low_band_hz))}")
        return
    at = list(low_band_hz).index(int(limit["below_hz"]))
    if low_band_correlations_min[at] < limit["at_least"]:
        yield NotMet(
            PLAIN.beside(low_band_correlations_min[at], limit["at_least"]),
            phase_wanted(limit),
            "mono the low band, or ask the cutting engineer",
            at_s=(low_band_at_s[at],),
        )


MANY = "many, style likely"
PLACES = {"type": "integer", "minimum": 0, "description": "places"}
LISTEN = "listen at the times given; a repaired master"
SOFTER = "listen at the times given; a softer take of them, or the cutting room's own treatment"
STYLE = "listen for a moment; a repaired master"


def places_shown(count: int, _many: bool) -> str:
    """'3 places'."""
    return counted(count, "place")


def _places(count: int, many: bool, limit: int, remedy: str = LISTEN) -> Iterator[NotMet]:
    """The places listed have times; further ones are only counted."""
    if many and count > limit:
        yield NotMet(
            f"{MANY}: {counted(count, 'place')}", spots_wanted(limit), STYLE, settled_if="if it is part of the music"
        )
    elif count > limit:
        yield NotMet(counted(count, "place"), spots_wanted(limit), remedy)


@rule(
    id="sibilant_spots_max",
    limit=PLACES,
    needs=("sibilant_spots_outstanding",),
    weight=Weight.WEAK_SIGN,
    source="common practice at cutting rooms, no source: 5 to 10 kHz loud and above 1 to 4 kHz for 40 ms",
    sentence="sibilance events are in {limit}",
    value_text=lambda spots: counted(spots, "place"),
    limit_text=spots_wanted,
    at="sibilant_spots_outstanding_at_s",
)
def sibilance(sibilant_spots_outstanding: int, limit: int) -> Iterator[NotMet]:
    """Sibilance that outweighs the voice distorts in inner grooves; cymbals look the same. Listen there.

    In a song with many such places, those that exceed its own usual level count.
    """
    yield from _places(sibilant_spots_outstanding, False, limit, SOFTER)


@rule(
    id="click_places_max",
    limit=PLACES,
    needs=("click_places_outstanding",),
    weight=Weight.WEAK_SIGN,
    source="common practice, no source: a few replaced samples explain the residual of linear prediction",
    sentence="clicks: {limit}",
    value_text=lambda places: counted(places, "place"),
    limit_text=spots_wanted,
    at="click_places_outstanding_at_s",
)
def clicks(click_places_outstanding: int, limit: int) -> Iterator[NotMet]:
    """Clicks of a few samples that do not belong to the audio. Some instruments click too: listen there.

    In a song with many, those that exceed its own usual level count.
    """
    yield from _places(click_places_outstanding, False, limit)


@rule(
    id="discontinuity_places_max",
    limit=PLACES,
    needs=("discontinuity_places", "discontinuity_places_many"),
    weight=Weight.WEAK_SIGN,
    source="common practice, no source: gaps, dips, repeated and held buffers, jumps and clicks in one list",
    sentence="places where the sound breaks: {limit}",
    value_text=places_shown,
    limit_text=spots_wanted,
    at="discontinuity_places_at_s",
)
def discontinuities(discontinuity_places: int, discontinuity_places_many: bool, limit: int) -> Iterator[NotMet]:
    """Gaps, dips, repeated and held buffers, lost samples, splices and clicks in one list. Listen there."""
    yield from _places(discontinuity_places, discontinuity_places_many, limit)


@rule(
    id="jump_places_max",
    limit=PLACES,
    needs=("jump_places_outstanding",),
    weight=Weight.WEAK_SIGN,
    source="common practice, no source: prediction fails at one moment and the waveform continues elsewhere",
    sentence="jumps of the waveform: {limit}",
    value_text=lambda places: counted(places, "place"),
    limit_text=spots_wanted,
    at="jump_places_outstanding_at_s",
)
def jumps(jump_places_outstanding: int, limit: int) -> Iterator[NotMet]:
    """Jumps of the waveform, as left by lost samples and hard edits; samplers make them too. Listen there.

    In a song with many, those that exceed its own usual level count.
    """
    yield from _places(jump_places_outstanding, False, limit)


@rule(
    id="dropout_places_max",
    limit=PLACES,
    needs=("dropout_places", "dropout_places_many"),
    weight=Weight.WEAK_SIGN,
    source="common practice, no source: 5 to 250 ms under -50 dBFS within loud sound",
    sentence="dropouts: {limit}",
    value_text=places_shown,
    limit_text=spots_wanted,
    at="dropout_places_at_s",
)
def dropouts(dropout_places: int, dropout_places_many: bool, limit: int) -> Iterator[NotMet]:
    """Loud audio that is gone for some milliseconds; short rests between notes look alike. Listen there."""
    yield from _places(dropout_places, dropout_places_many, limit)


@rule(
    id="zero_run_places_max",
    limit=PLACES,
    needs=("zero_run_places", "zero_run_places_many"),
    weight=Weight.STRONG_SIGN,
    source="common practice, no source: 1 to 100 ms of exact zeros within loud sound",
    sentence="zeros within loud audio: {limit}",
    value_text=places_shown,
    limit_text=spots_wanted,
    at="zero_run_places_at_s",
)
def zero_runs(zero_run_places: int, zero_run_places_many: bool, limit: int) -> Iterator[NotMet]:
    """Exact zeros within loud audio, as left by a missed buffer. Edits and 8-bit music do so on purpose."""
    yield from _places(
        zero_run_places, zero_run_places_many, limit, "listen at the times given; export or transfer the master again"
    )


@rule(
    id="hum_places_max",
    limit=PLACES,
    needs=("hum_places",),
    weight=Weight.WEAK_SIGN,
    source="common practice, no source: a steady tone of 50, 60 or 16.7 Hz with harmonics, quiet parts or all",
    sentence="mains hum: {limit}",
    value_text=lambda places: counted(places, "place"),
    limit_text=spots_wanted,
    at="hum_places_at_s",
)
def hum(hum_places: int, limit: int) -> Iterator[NotMet]:
    """Mains hum under quiet parts, or under music all through. A drone looks the same. Listen there."""
    if hum_places > limit:
        yield NotMet(counted(hum_places, "place"), spots_wanted(limit), LISTEN)
