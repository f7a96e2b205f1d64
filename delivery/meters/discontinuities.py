"""Every place where the sound breaks, in one list, each with its kind."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from delivery.model.figure import Figure, Reading, Subject

PRACTICE = "common practice, no source; the lists of the single kinds have their own methods"
KINDS: dict[str, tuple[str, ...]] = {
    "repeated buffer": ("repeated_buffer_places",),
    "held buffer": ("held_value_places",),
    "gap": ("zero_run_places", "dropout_places", "edged_gap_places"),
    "dip": ("dip_places",),
    "lost samples or a splice": ("jump_places",),
    "click": ("click_places",),
}
"""Figures of each kind; of several at one moment the first names it, since a gap clicks at its edges."""
APART_S = 0.1
OUTSTANDING = ("jump_places", "click_places")
"""Of these only those count that stand out: music makes softer ones by itself."""
GAPS = tuple(name for names in KINDS.values() for name in names if name not in OUTSTANDING)
AT_S, MANY, OUTSTANDING_AT_S = "_at_s", "_many", "_outstanding_at_s"


class Discontinuities:
    """Gaps, dips, repeated and held buffers, jumps from 45 dB and clicks from 37 dB above the sound around them.

    In a song full of jumps or clicks those that stand out from its own habit count instead. Places within 0.1 s are
    one, named by the first of these kinds: repeated buffer, held buffer, gap, dip, lost samples or a splice, click.
    """

    subject = Subject.LISTEN
    gives = (
        Figure("discontinuity_places", "", 0, "Places where the sound breaks, of every kind.", PRACTICE),
        Figure("discontinuity_places_at_s", "", None, "Where they are, the twenty strongest of each kind.", PRACTICE),
        Figure("discontinuity_places_kinds", "", None, "Those with their kinds.", PRACTICE, columns=("at_s", "kind")),
        Figure(
            "discontinuity_places_many", "", None, "Gaps or repeats are everywhere: a style, most likely.", PRACTICE
        ),
    )
    needs = (
        *(f"{name}{end}" for name in GAPS for end in ("", AT_S, MANY)),
        *(f"{name}{OUTSTANDING_AT_S}" for name in OUTSTANDING),
    )

    @staticmethod
    def derive(readings: Mapping[str, Reading]) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, from the *readings* of the other meters."""
        places = tuple(_merged(readings))
        unlisted = sum(int(readings[name].value) - len(readings[name + AT_S].value) for name in GAPS)
        many = any(readings[name + MANY].value for name in GAPS)
        at_s = tuple(at_s for at_s, _ in places)
        return Reading(len(places) + unlisted), Reading(at_s), Reading(places), Reading(many)


def _at_s(readings: Mapping[str, Reading], name: str) -> Iterator[float]:
    """Where the places of one figure are that count here."""
    yield from readings[name + (AT_S if name in GAPS else OUTSTANDING_AT_S)].value


def _merged(readings: Mapping[str, Reading]) -> Iterator[tuple[float, str]]:
    """Time and kind, in order of time."""
    ranks = list(KINDS)
    every = sorted(
        (at_s, rank) for rank, kind in enumerate(ranks) for name in KINDS[kind] for at_s in _at_s(readings, name)
    )
    group: list[tuple[float, int]] = []
    for place in every:
        if group and place[0] - group[-1][0] > APART_S:
            yield _of(group, ranks)
            group = []
        group.append(place)
    if group:
        yield _of(group, ranks)


def _of(group: list[tuple[float, int]], ranks: list[str]) -> tuple[float, str]:
    """Where the group begins, and its kind."""
    return group[0][0], ranks[min(rank for _, rank in group)]
