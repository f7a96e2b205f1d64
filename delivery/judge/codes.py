"""Codes beyond their form: prefixes that no list knows, catalogue numbers by the label's own pattern."""

from __future__ import annotations

from collections.abc import Iterator

from delivery.judge.limits import FLAG
from delivery.judge.rule import Scope, rule
from delivery.judge.words import always
from delivery.model.codes import known_prefix, shape_fault
from delivery.model.finding import Shortfall, Weight
from delivery.model.release import Release, Track

NONE_SUPPLIED = "none supplied"
PATTERN = {
    "type": "string",
    "pattern": "[#@]",
    "description": "a pattern: # is a digit, @ a letter, all else itself ('OSL-###')",
}
prefix_wanted = always("a prefix that the published lists know")


def shaped(limit: str) -> str:
    return f"a number like {limit} (# a digit, @ a letter)"


@rule(
    id="isrc-prefix",
    asks="isrc_prefix_known",
    limit=FLAG,
    needs=("track", "release"),
    weight=Weight.WEAK_SIGN,
    source="prefixes as python-stdnum lists them; lists are frozen and valid codes are missing from them",
    says="the ISRC, where there is one, has {limit}",
    shows=lambda track, _release: track.isrc or NONE_SUPPLIED,
    wants=prefix_wanted,
)
def isrc_prefix(track: Track, release: Release, limit: bool) -> Iterator[Shortfall]:
    """A prefix in no list is rare, and a slip of the pen more likely; never proof: codes of any prefix circulate."""
    if track.isrc and not known_prefix(track.isrc):
        remedy = "a look at the code; if it is right, nothing"
        place = release.place(f"tracks/{track.position - 1}/isrc")
        yield Shortfall(f"{track.isrc[:2]} in {track.isrc}", prefix_wanted(limit), remedy, place)


@rule(
    id="catalogue-pattern",
    asks="catalogue_pattern",
    limit=PATTERN,
    needs=("release",),
    weight=Weight.FACT,
    source="the limit is the spec's own: the label's way of numbering",
    says="the catalogue number, where there is one, is {limit}",
    shows=lambda release: release.catalogue_number or NONE_SUPPLIED,
    wants=shaped,
    scope=Scope.RELEASE,
)
def catalogue_pattern(release: Release, limit: str) -> Iterator[Shortfall]:
    """The catalogue number is written the way the label writes its numbers. Presence is `release_fields`."""
    fault = shape_fault(release.catalogue_number, limit) if release.catalogue_number else ""
    if fault:
        found = f"{release.catalogue_number!r} ({fault})"
        yield Shortfall(
            found, shaped(limit), "the number as the label has it, or a waiver", release.place("catalogue_number")
        )
