"""Codes beyond their form: prefixes in the published lists, check digits, catalogue numbers by the label's pattern."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from delivery.model.codes import CODES, known_prefix, shape_fault
from delivery.model.finding import NotMet, Weight
from delivery.model.release import Release, Track
from delivery.rules.limits import FLAG
from delivery.rules.rule import Scope, rule
from delivery.rules.words import always, counted, listed

NONE_SUPPLIED = "none supplied"
PATTERN = {
    "type": "string",
    "pattern": "[#@]",
    "description": "a pattern: # is a digit, @ a letter, any other character is literal ('OSL-###')",
}
prefix_wanted = always("a prefix in the published lists")
digits_wanted = always("check digits that fit their codes")


def shaped(limit: str) -> str:
    """The pattern of a number, as the requirement states it."""
    return f"a number like {limit} (# a digit, @ a letter)"


@rule(
    id="isrc_prefix_known",
    limit=FLAG,
    needs=("track", "release"),
    weight=Weight.WEAK_SIGN,
    source="prefixes as python-stdnum lists them; lists are frozen and valid codes are missing from them",
    sentence="the ISRC, where there is one, has {limit}",
    value_text=lambda track, _release: track.isrc or NONE_SUPPLIED,
    limit_text=prefix_wanted,
)
def isrc_prefix(track: Track, release: Release, limit: bool) -> Iterator[NotMet]:
    """A prefix in no list is rare and more likely a typing error; never proof. A malformed code has no prefix."""
    if track.isrc and not CODES["isrc"].malformed(track.isrc) and not known_prefix(track.isrc):
        remedy = "check the code"
        place = release.place(f"tracks/{track.position - 1}/isrc")
        yield NotMet(
            f"{track.isrc[:2]} in {track.isrc}", prefix_wanted(limit), remedy, place, settled_if="if it is right"
        )


@rule(
    id="check_digits",
    limit=FLAG,
    needs=("release",),
    weight=Weight.FACT,
    source="ISO 15707 (ISWC), ISO 27729 (ISNI), IPI name numbers; codes with a wrong check digit are in use",
    sentence="ISWC, IPI and ISNI, where there are any, have {limit}",
    value_text=lambda release: counted(sum(1 for _ in _codes_of(release)), "code"),
    limit_text=digits_wanted,
    scope=Scope.RELEASE,
)
def check_digits(release: Release, limit: bool) -> Iterator[NotMet]:
    """Codes of works and people end in the right check digit; a wrong one is in use or mistyped: ask."""
    for found, doubt, place in doubtful(release):
        yield NotMet(f"{found}: {doubt}", digits_wanted(limit), "check the code", place)


def doubtful(release: Release) -> Iterator[tuple[str, str, str]]:
    """Codes with a wrong check digit: the code, its right digit, and its line in the file."""
    for kind, whose, code, pointer in _codes_of(release):
        if doubt := CODES[kind].doubt(code):
            yield f"{CODES[kind].title} {CODES[kind].printed(code)} of {whose}", doubt, release.place(pointer)


def unrequired_remarks(release: Release, required: Collection[str]) -> tuple[str, ...]:
    """Sentences about odd codes not covered by a requirement: they are passed on as supplied, with a remark."""
    odd = [] if "check_digits" in required else list(doubtful(release))
    for track in () if "isrc_form" in required else release.tracks:
        if track.isrc and (fault := CODES["isrc"].malformed(track.isrc)):
            place = release.place(f"tracks/{track.position - 1}/isrc")
            odd.append((f"ISRC {track.isrc} of track {track.position}", f"it has {fault}", place))
    return tuple(f"{place}: {found} is passed on unchanged; {why}." for found, why, place in odd)


def catalogue_remarks(release: Release, patterns: Sequence[str]) -> tuple[str, ...]:
    """A sentence if the catalogue number matches none of its label's *patterns*; it is used as it is."""
    number = release.catalogue_number
    if not number or not patterns or not all(shape_fault(number, pattern) for pattern in patterns):
        return ()
    fault = shape_fault(number, patterns[0]) if len(patterns) == 1 else ""
    usual = listed(patterns, "or")
    return (
        f"{release.place('catalogue_number')}: catalogue number {number} does not match the pattern of "
        f"{release.label} ({usual}{f': {fault}' if fault else ''}).",
    )


def _codes_of(release: Release) -> Iterator[tuple[str, str, str, str]]:
    """Kind, owner, code and pointer of every code with a check digit; the product code has its own rule."""
    for index, identity in enumerate(release.identities):
        yield "isni", identity.name, identity.isni, f"isni/{index}/code"
    for track in release.tracks:
        at = f"tracks/{track.position - 1}"
        if track.iswc:
            yield "iswc", f"track {track.position}", track.iswc, f"{at}/iswc"
        for index, writer in enumerate(track.writers):
            if writer.ipi:
                yield "ipi", f"{writer.name} on track {track.position}", writer.ipi, f"{at}/writers/{index}/ipi"


@rule(
    id="catalogue_pattern",
    limit=PATTERN,
    needs=("release",),
    weight=Weight.FACT,
    source="the limit is the spec's own: the label's numbering",
    sentence="the catalogue number, where there is one, is {limit}",
    value_text=lambda release: release.catalogue_number or NONE_SUPPLIED,
    limit_text=shaped,
    scope=Scope.RELEASE,
)
def catalogue_pattern(release: Release, limit: str) -> Iterator[NotMet]:
    """The catalogue number matches the label's pattern. Presence is `release_fields`."""
    fault = shape_fault(release.catalogue_number, limit) if release.catalogue_number else ""
    if fault:
        found = f"{release.catalogue_number!r} ({fault})"
        yield NotMet(found, shaped(limit), "the number as the label has it", release.place("catalogue_number"))
