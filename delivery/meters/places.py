"""Figures of event meters: their number, the strongest ones, and when a list is not useful."""

from __future__ import annotations

from delivery.dsp.events.ranking import Places, outstanding_from_db
from delivery.model.figure import Figure, Reading


def figures(kind: str, sentence: str, strength: str, source: str) -> tuple[Figure, ...]:
    """'<kind>_places' and its companions; *strength* names the last column of the ranked ones, with its unit."""
    name, columns = f"{kind}_places", ("at_s", "channel", strength)
    return (
        Figure(name, "", 0, f"Places to listen to, neighbours counted once: {sentence}.", source),
        Figure(f"{name}_at_s", "", None, "Where the twenty strongest of them are; empty when there are many.", source),
        Figure(f"{name}_ranked", "", None, "Those, strongest first; channel 0: several.", source, columns=columns),
        Figure(f"{name}_many", "", None, "More than 20, and more than 10 a minute: a style, most likely.", source),
    )


def readings(places: Places, frames: int, rate_hz: int) -> tuple[Reading, Reading, Reading, Reading]:
    """In the order of :func:`figures`."""
    many = places.many(frames / rate_hz / 60)
    ranked = () if many else tuple((at / rate_hz, channel, strength) for at, channel, strength in places.ranked)
    at_s = tuple(sorted(at_s for at_s, _, _ in ranked))
    return Reading(places.count), Reading(at_s), Reading(ranked), Reading(many)


def outstanding_figures(kind: str, source: str, least: str = "all") -> tuple[Figure, ...]:
    """For kinds of events whose strength is in dB, and which some music is full of; *least*: which count at all."""
    sentence = (
        f"Outstanding ones: {least}, and where there are many, only those 6 dB and 5 median deviations above the "
        "median one."
    )
    return (
        Figure(f"{kind}_outstanding", "", 0, sentence, source),
        Figure(f"{kind}_outstanding_at_s", "", None, "Where they are, the twenty strongest of them.", source),
    )


def outstanding(places: Places, frames: int, rate_hz: int, least_db: float) -> tuple[Reading, Reading]:
    """In the order of :func:`outstanding_figures`; none is softer than *least_db*."""
    strengths = places.strengths
    least_db = max(least_db, outstanding_from_db(strengths, frames / rate_hz / 60))
    at_s = sorted(place.frame / rate_hz for place in places.ranked if place.strength >= least_db)
    return Reading(sum(strength >= least_db for strength in strengths)), Reading(tuple(at_s))
