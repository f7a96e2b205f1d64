"""A version beside its main, in words: length, head, level, and where it differs. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from delivery.model.version import Change, Place, Version, VersionKind
from delivery.report.view import words

FEW = 6
"""Places that are listed; the others are counted."""
LEVEL_DB = 0.05
SAME_SHARE = 0.5
"""An a cappella has less of the main than this where both sound."""
NOTHING_DB = -90.0
SHORT_S = 0.01
"""A smaller difference in length is given in samples only."""


def version_sentence(version: Version, kind: VersionKind) -> str:
    """'instrumental: same length, same head, differs only where the main has something more, ...'."""
    return f"{kind.value}: {', '.join(_said(version))}."


def _said(version: Version) -> Iterator[str]:
    if not version.pieces:
        yield "another recording, nothing of the main is found in it"
        return
    yield _length(version)
    if version.whole:
        yield _head(version)
    if abs(version.gain_db) >= LEVEL_DB:
        yield f"{abs(version.gain_db):.2f} dB {'louder' if version.gain_db > 0 else 'quieter'}"
    if not version.whole:
        yield _stretches(version)
    yield from _differences(version)


def _length(version: Version) -> str:
    longer = version.other_frames - version.main_frames
    if not longer:
        return "same length"
    samples = words.counted(abs(longer), "sample")
    if abs(longer) < SHORT_S * version.rate_hz:
        return f"{samples} {'longer' if longer > 0 else 'shorter'}"
    much = f"{abs(longer) / version.rate_hz:.3f} s ({samples})"
    own = f"{version.other_frames / version.rate_hz:.3f} s long"
    return f"{own}, {much} {'longer' if longer > 0 else 'shorter'}"


def _head(version: Version) -> str:
    late = version.offset_frames
    if not late:
        return "same head"
    if late < 0:
        return f"begins {words.counted(-late, 'sample')} into the main ({_exactly(-late / version.rate_hz)})"
    return f"begins {words.counted(late, 'sample')} late"


def _stretches(version: Version) -> str:
    ends = [(piece.main / version.rate_hz, (piece.main + piece.frames) / version.rate_hz) for piece in version.pieces]
    listed = ", ".join(f"{_exactly(begin)} to {_exactly(end)}" for begin, end in ends[:FEW])
    more = f" and {len(ends) - FEW} more" if len(ends) > FEW else ""
    cuts = words.listed(str(piece.other) for piece in version.pieces[1 : FEW + 1])
    return f"{len(ends)} stretches of the main in this order: {listed}{more}; cut at sample {cuts}"


def _differences(version: Version) -> Iterator[str]:
    if not version.places:
        nothing = version.residual_db is not None and version.residual_db < NOTHING_DB
        yield "nothing differs" if nothing else "the same throughout"
        return
    muted = [place for place in version.places if place.change is Change.MUTED]
    rest = [place for place in version.places if place.change is not Change.MUTED]
    if version.same_share < SAME_SHARE and all(place.change is not Change.MORE for place in rest):
        yield f"a part of the main, silent for {100 * version.silent_share:.0f} % of it"
        return
    if muted:
        yield f"{_count(muted)} muted: {_listed(muted)}"
    if rest:
        only = "" if muted else "only "
        yield f"differs {only}{_where(rest)}: {_listed(rest)}"


def _where(places: list[Place]) -> str:
    changes = {place.change for place in places}
    if changes == {Change.LESS}:
        return "where the main has something more, such as the voice"
    return "where it has something more than the main" if changes == {Change.MORE} else f"in {_count(places)}"


def _count(places: list[Place]) -> str:
    small = ("", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
    count = len(places)
    return f"{small[count] if count < len(small) else count} place{'' if count == 1 else 's'}"


def _listed(places: list[Place]) -> str:
    shown = ", ".join(f"{words.at(place.from_s)} to {words.at(place.until_s)}" for place in places[:FEW])
    return f"{shown} and {len(places) - FEW} more" if len(places) > FEW else shown


def _exactly(seconds: float) -> str:
    return words.clock(seconds, 3)
