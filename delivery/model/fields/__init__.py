"""The table of label-copy fields: one row each, in the order of our own sheets. A new field is a new row here.

The schemas, the columns of sheets and how their cells are read, tags, JSON-LD, what specs can require, and the lines
on the sheet are derived from it. A row whose value is `Kept.TEXT` or `Kept.CREDIT` needs nothing else; the others have
code of their own where their behaviour is their own. After a change run `python -m delivery.schema` and
`python -m delivery.tags.chart`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from delivery.model.fields import people, recording, release, track

if TYPE_CHECKING:
    from delivery.model.fields.row import Field, Kept

FIELDS: Mapping[str, Field] = {field.id: field for field in (*track.ROWS, *people.ROWS, *recording.ROWS, *release.ROWS)}
"""By id."""


def fields_kept(kept: Kept, *, of_release: bool = False) -> tuple[Field, ...]:
    """The fields of a track, or of the release, that the model holds in this way."""
    return tuple(field for field in FIELDS.values() if field.kept is kept and field.of_release is of_release)
