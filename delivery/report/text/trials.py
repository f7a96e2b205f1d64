"""What codecs did to a master, and another meter's loudness, on the terminal."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import RenderableType
from rich.text import Text

from delivery.model.second_opinion import SecondOpinion
from delivery.model.trial import Trial
from delivery.report.text.tables import table
from delivery.report.view import codecs, words


def codec_table(trials: Sequence[Trial]) -> list[RenderableType]:
    """What each codec did to a master's peaks."""
    view = codecs.codec_table(trials)
    rows = table(*view.columns)
    for row in view.rows:
        rows.add_row(*map(Text, (row.form, row.true_peak, row.change, row.overs, row.worst, row.trim)))
    return [rows, *map(Text, view.notes)]


def second_opinion(opinion: SecondOpinion) -> list[RenderableType]:
    """Loudness by another meter, and its difference from ours."""
    heading = f"second opinion, {opinion.program}:"
    if opinion.integrated_lufs is None or opinion.difference_lu is None:
        return [Text(f"{heading} not available: {words.plain(opinion.why_missing)}")]
    return [Text(f"{heading} {opinion.integrated_lufs:.2f} LUFS, {opinion.difference_lu:+.3f} LU from ours")]
