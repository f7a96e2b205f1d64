"""Writers and used recordings: shares, legal names, sample clearances, lyrics fields of an instrumental."""

from __future__ import annotations

from collections.abc import Iterator

from delivery.model.finding import NotMet, Weight
from delivery.model.release import Release, Track
from delivery.model.shares import LEAST_SLACK, add_up
from delivery.rules.limits import FLAG
from delivery.rules.rule import rule
from delivery.rules.words import always, listed

shares_wanted = always("shares that add up to 100 %")
names_wanted = always("composers and lyricists by their legal names")
cleared_wanted = always("clearance for every sample used")
wordless_wanted = always("neither lyricist nor language on an instrumental")


def _place(release: Release, track: Track, field: str) -> str:
    return release.place(f"tracks/{track.position - 1}/{field}")


@rule(
    id="shares_total",
    limit=FLAG,
    needs=("track", "release"),
    weight=Weight.FACT,
    source="common practice, no source",
    sentence="the writers, where shares are stated, have {limit}",
    limit_text=shares_wanted,
)
def shares_total(track: Track, release: Release, limit: bool) -> Iterator[NotMet]:
    """If any share of the work is stated, all are, and they add up to 100, within the rounding of thirds."""
    shares = [writer.share_percent for writer in track.writers if writer.share_percent is not None]
    silent = [writer.name for writer in track.writers if writer.share_percent is None]
    if not shares:
        return
    total = sum(shares)
    if silent and total < 100 - LEAST_SLACK:
        remedy = f"the share of {listed(silent)}"
        yield NotMet(
            f"{total:g} % and none stated for {listed(silent)}",
            shares_wanted(limit),
            remedy,
            _place(release, track, "writers"),
        )
    elif not add_up(shares):
        found = f"{' + '.join(f'{share:g}' for share in shares)} = {total:g} %"
        yield NotMet(
            found,
            shares_wanted(limit),
            "the split as the publishers agreed it",
            _place(release, track, "writers"),
        )


@rule(
    id="legal_names",
    limit=FLAG,
    needs=("track", "release"),
    weight=Weight.WEAK_SIGN,
    source="common practice, no source: a name of one word is rarely a legal one",
    sentence="tracks name {limit}",
    limit_text=names_wanted,
)
def legal_names(track: Track, release: Release, limit: bool) -> Iterator[NotMet]:
    """Composers and lyricists with a name of one Latin word are remarked: it may be a stage name."""
    for field, names in (("composers", track.composers), ("lyricists", track.lyricists)):
        for name in names:
            if len(name.split()) == 1 and name.isascii():
                yield NotMet(
                    repr(name),
                    names_wanted(limit),
                    "first and last name, if they have them",
                    _place(release, track, field),
                )


@rule(
    id="samples_cleared",
    limit=FLAG,
    needs=("track", "release"),
    weight=Weight.FACT,
    source="the limit is the spec's own",
    sentence="there is {limit}",
    limit_text=cleared_wanted,
)
def samples_cleared(track: Track, release: Release, limit: bool) -> Iterator[NotMet]:
    """Every recording of others stated as used is stated as cleared. Presence is `track_fields`."""
    for sample in track.samples or ():
        if not sample.cleared:
            found = f"{sample.of!r}, not cleared"
            yield NotMet(
                found,
                cleared_wanted(limit),
                "clearance in writing or a version without it",
                _place(release, track, "samples"),
            )


@rule(
    id="instrumental_wordless",
    limit=FLAG,
    needs=("track", "release"),
    weight=Weight.FACT,
    source="ISO 639-2: zxx, no linguistic content",
    sentence="there is {limit}",
    limit_text=wordless_wanted,
)
def instrumental_words(track: Track, release: Release, limit: bool) -> Iterator[NotMet]:
    """A track marked instrumental names no lyricist, no language of lyrics, and is not marked explicit."""
    if not track.instrumental:
        return
    texts = {
        "lyricists": listed(track.lyricists) if track.lyricists else "",
        "language": track.language if track.language != "zxx" else "",
        "explicit": track.explicit if track.explicit == "explicit" else "",
    }
    for field, text in texts.items():
        if text:
            found = f"an instrumental with {field}: {text}"
            yield NotMet(
                found,
                wordless_wanted(limit),
                f"no {field}, or the track not marked instrumental",
                _place(release, track, field),
                settled_if=None,
            )
