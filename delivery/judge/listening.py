"""Places to listen to before a record is cut. Signs only: none of them can fail a file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from delivery.judge.integrity import one_channel
from delivery.judge.rule import Unanswered, rule
from delivery.judge.words import PLAIN, counted, listed
from delivery.model.finding import Shortfall, Weight

BANDS_HZ = (100, 150, 200, 250, 300)
"""Those the meter gives."""


def spots_wanted(limit: int) -> str:
    return f"at most {counted(limit, 'place')}"


def phase_wanted(limit: Mapping[str, float]) -> str:
    return f"a correlation of at least {PLAIN.exact(limit['at_least'])} below {limit['below_hz']} Hz"


@rule(
    id="sibilance",
    asks="sibilant_spots_max",
    limit={"type": "integer", "minimum": 0, "description": "places"},
    needs=("sibilant_spots",),
    weight=Weight.WEAK_SIGN,
    source="common practice at cutting rooms, no source: 5 to 10 kHz loud and above 1 to 4 kHz for 40 ms",
    says="it hisses in {limit}",
    shows=lambda spots: counted(spots, "place"),
    wants=spots_wanted,
    at="sibilant_spots_at_s",
)
def sibilance(sibilant_spots: int, limit: int) -> Iterator[Shortfall]:
    """Hiss that outweighs the voice it belongs to distorts in inner grooves; cymbals look the same. Listen there."""
    if sibilant_spots > limit:
        yield Shortfall(
            counted(sibilant_spots, "place"),
            spots_wanted(limit),
            "listen at the times given; a gentler take of them, or the cutting room's own treatment",
        )


@rule(
    id="low-band-phase-below",
    asks="low_band_phase",
    limit={
        "type": "object",
        "description": "below_hz, and the correlation that is at_least there",
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
    says="the lows have {limit}",
    wants=phase_wanted,
    aside=one_channel,
)
def low_band_phase_below(
    low_band_hz: Sequence[int],
    low_band_correlations_min: Sequence[float],
    low_band_at_s: Sequence[float],
    limit: Mapping[str, float],
) -> Iterator[Shortfall | Unanswered]:
    """The lows below a frequency the cutting room names are in phase enough for a groove."""
    if limit["below_hz"] not in low_band_hz:
        yield Unanswered(f"nothing here measures below {limit['below_hz']} Hz, only {listed(map(str, low_band_hz))}")
        return
    at = list(low_band_hz).index(int(limit["below_hz"]))
    if low_band_correlations_min[at] < limit["at_least"]:
        yield Shortfall(
            PLAIN.beside(low_band_correlations_min[at], limit["at_least"]),
            phase_wanted(limit),
            "a render with its lows in the middle, or the cutting room's own filter; ask it",
            at_s=(low_band_at_s[at],),
        )
