"""Tags and chunks of a delivered file: label copy, and nothing else that identifies or comments."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from delivery.model.carried import ENCODER, LABEL_COPY, Item
from delivery.model.finding import NotMet, Weight
from delivery.model.release import Release, Track
from delivery.rules.limits import FLAG
from delivery.rules.rule import rule
from delivery.rules.words import always, counted
from delivery.tags.fields import FIELDS, tag_values
from delivery.tags.keeping import agrees

tags_wanted = always("the label copy, and nothing else but what the spec permits")


def _shown(tags_read: Sequence[Item], _track: Track, _release: Release, _kept: Collection[str]) -> str:
    fields = {item.field for item in tags_read if item.field}
    return f"{counted(len(fields), 'field')} as in the label copy" if fields else "no label copy in the file"


@rule(
    id="tags_as_label_copy",
    limit=FLAG,
    needs=("tags_read", "track", "release", "kinds_kept"),
    weight=Weight.FACT,
    source="read back from the file itself; what may stay is the spec's own (keep_tags, keep_chunks)",
    sentence="the tags in a file are {limit}",
    value_text=_shown,
    limit_text=tags_wanted,
)
def tags_as_label_copy(
    tags_read: Sequence[Item], track: Track, release: Release, kinds_kept: Collection[str], limit: bool
) -> Iterator[NotMet]:
    """The delivered file names no other recording, and carries no text, picture or chunk that was not required."""
    values = tag_values(release, track)
    for item in tags_read:
        if item.kind == LABEL_COPY and not agrees(item, values):
            meaning = FIELDS[item.field].meaning if item.field else "a name"
            stated = values.get(item.field)
            remedy = f"the label copy has {stated!r}" if stated else "the label copy has none"
            yield NotMet(
                f"{meaning} {item.text!r}",
                tags_wanted(limit),
                f"{remedy}; please report it",
                item.place,
                settled_if=None,
            )
        elif item.kind not in (LABEL_COPY, ENCODER, *kinds_kept):
            remedy = "name its kind in keep_tags or keep_chunks if it may stay; else please report it"
            yield NotMet(
                f"{item.kind.replace('_', ' ')}: {item.text}", tags_wanted(limit), remedy, item.place, settled_if=None
            )
