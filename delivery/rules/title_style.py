"""Style of titles and names: advice only, old -> proposed with the rule. A title is never changed here."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from delivery.model.finding import NotMet, Weight
from delivery.model.release import Release, Track
from delivery.rules.limits import FLAG
from delivery.rules.rule import Scope, rule
from delivery.rules.title_advice import (
    Advice,
    about_featuring,
    about_person,
    about_text,
    about_title,
    about_version,
    about_version_in_title,
)
from delivery.rules.words import always

STYLE = {
    "type": "object",
    "description": "featuring: role (guests are credits), title (guests are in the title) or any",
    "properties": {"featuring": {"enum": ["role", "title", "any"], "description": "where guests are named"}},
    "required": ["featuring"],
    "additionalProperties": False,
}
REMEDY = "what is proposed; where the spelling is intended: delivery accept RELEASE --spelling TEXT"
WHERE = {
    "role": "titles as the trade writes them, guests credited by role",
    "title": "titles as the trade writes them, guests in the title as (feat. ...)",
    "any": "titles as the trade writes them",
}
plain_wanted = always("titles as the trade writes them")


def style_words(limit: Mapping[str, str]) -> str:
    """Where guests are named, in words."""
    return WHERE[limit["featuring"]]


@rule(
    id="title_style",
    limit=STYLE,
    needs=("track", "release"),
    weight=Weight.WEAK_SIGN,
    source="style guides of recipients, where they agree; odd spelling is often intended",
    sentence="tracks have {limit}",
    value_text=lambda track, _release: repr(track.title),
    limit_text=style_words,
)
def title_style(track: Track, release: Release, limit: Mapping[str, str]) -> Iterator[NotMet]:
    """Title, version and names of a track follow trade style; accepted spellings are left alone."""
    language = track.title_language or release.language or track.language
    guests = tuple(credit.name for credit in track.artists if credit.role == "featured")
    advised = [
        *(("title", advice) for advice in about_title(track.title, language)),
        *(("title", advice) for advice in about_version_in_title(track.title, track.version)),
        *(("title", advice) for advice in about_featuring(track.title, guests, limit["featuring"])),
        *(("version", advice) for advice in about_version(track.version) if track.version),
        *(("artists", advice) for credit in (*track.artists, *track.credits) for advice in about_text(credit.name)),
        *(("composers", advice) for name in track.composers for advice in about_person(name)),
        *(("lyricists", advice) for name in track.lyricists for advice in about_person(name)),
    ]
    for field, advice in advised:
        if advice.old not in release.accepted_titles:
            yield _not_met(advice, style_words(limit), release.place(f"tracks/{track.position - 1}/{field}"))


@rule(
    id="release_title_style",
    limit=FLAG,
    needs=("release",),
    weight=Weight.WEAK_SIGN,
    source="style guides of recipients, where they agree; odd spelling is often intended",
    sentence="the release has {limit}",
    value_text=lambda release: repr(release.title),
    limit_text=plain_wanted,
    scope=Scope.RELEASE,
)
def release_title_style(release: Release, limit: bool) -> Iterator[NotMet]:
    """Title, version and artist of the release follow trade style."""
    advised = [
        *(("title", advice) for advice in about_title(release.title, release.language)),
        *(("version", advice) for advice in about_version(release.version) if release.version),
        *(("artist", advice) for advice in about_text(release.artist)),
    ]
    for field, advice in advised:
        if advice.old not in release.accepted_titles:
            yield _not_met(advice, plain_wanted(limit), release.place(field))


def _not_met(advice: Advice, wanted: str, place: str) -> NotMet:
    return NotMet(str(advice), wanted, REMEDY, place, settled_if=None)
