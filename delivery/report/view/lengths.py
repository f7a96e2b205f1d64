"""Lengths of discs and sides compared with the good length and the limit of their spec. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from delivery.model.carrier import Programme, msf
from delivery.model.spec import Spec
from delivery.report.view import words
from delivery.report.view.album import PartLength
from delivery.report.view.parts import ReportContext

GOOD, MOST = "part_length_good", "part_length_max"


def lengths(context: ReportContext) -> tuple[PartLength, ...]:
    """Of every disc and side, by spec."""
    return tuple(length for spec in context.delivery.specs for length in _of_spec(context, spec))


def limit_s(spec: Spec, programme: Programme, key: str) -> float | None:
    """What the spec requires of a part of that size and speed, s; None where it requires none."""
    return programme.pressing.limit_s(spec.limit(key) or ())


def minutes(seconds: float | None) -> str:
    """'23:00', or '22:30.5'; hours of a disc are written in minutes."""
    if seconds is None:
        return words.NOT_STATED
    whole, part = divmod(round(seconds * 1000), 1000)
    return f"{whole // 60}:{whole % 60:02}" + (f".{part:03}".rstrip("0") if part else "")


def length_line(length: PartLength) -> str:
    """The same in one sentence, where there is no table."""
    limits = [
        f"{word} {text}"
        for word, text in (("good up to", length.good), ("at most", length.at_most))
        if text != words.NOT_STATED
    ]
    against = f" ({', '.join(limits)}: {length.text})" if limits else ""
    return f"{length.name} ({length.spec}): {length.length}{against}, {length.tracks}."


def _of_spec(context: ReportContext, spec: Spec) -> Iterator[PartLength]:
    laid_out = [image.programme for image in context.delivery.images_of(spec.id)]
    known = [(each, limit_s(spec, each, GOOD), limit_s(spec, each, MOST)) for each in laid_out]
    longest_s = max((s for each, good_s, most_s in known for s in (each.length_s, good_s or 0, most_s or 0)), default=0)
    for programme, good_s, most_s in known:
        yield _length(programme, good_s, most_s, longest_s or 1.0)


def _length(programme: Programme, good_s: float | None, most_s: float | None, longest_s: float) -> PartLength:
    pressed = f", {programme.pressing}" if str(programme.pressing) else ""
    return PartLength(
        name=programme.heading,
        spec=f"{programme.spec}{pressed}",
        tracks=words.counted(len(programme.songs), "track"),
        length=_length_text(programme, [at_s for at_s in (good_s, most_s) if at_s is not None]),
        good=minutes(good_s),
        at_most=minutes(most_s),
        text=_says(programme.length_s, good_s, most_s),
        share=None if good_s is None and most_s is None else programme.length_s / longest_s,
        good_share=None if good_s is None else good_s / longest_s,
        most_share=None if most_s is None else most_s / longest_s,
    )


def _length_text(programme: Programme, limits_s: list[float]) -> str:
    """A disc's in minutes:seconds:frames, as plants count it; a side's to the tenth of a second, if relevant."""
    if programme.carrier.in_frames:
        return msf(programme.lead_out)
    return words.clock_beside(programme.length_s, 1, limits_s)


def _says(length_s: float, good_s: float | None, most_s: float | None) -> str:
    if most_s is not None and length_s > most_s:
        return "too long"
    if good_s is not None:
        return "longer than good" if length_s > good_s else "good"
    return "within the limit" if most_s is not None else "no limit stated"
