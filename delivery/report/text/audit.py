"""An audit on the terminal: what is not met most often, copies, codes, one total."""

from __future__ import annotations

from pathlib import Path

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from delivery.model.audit import Audit
from delivery.report.view import words
from delivery.report.view.audit import clash_sentence, copies_sentence, total_sentences

MOST = 12
"""Rules, groups and clashes on the screen; the overview has more, the tables all."""
FEW = 5


def audit_short(audit: Audit, overview: Path) -> list[RenderableType]:
    """A screen.

    Parameters
    ----------
    overview : the page to open
    """
    lines: list[RenderableType] = [_rules(audit), Text("")] if audit.rules else []
    for path, problem in audit.problems[:FEW]:
        lines.append(Text(f"{words.plain(path)}: {words.plain(problem)}"))
    lines += _more(len(audit.problems[:FEW]), audit.unreadable, "unreadable file")
    lines += [Text(copies_sentence(group)) for group in audit.duplicates[:FEW]]
    lines += _more(len(audit.duplicates[:FEW]), len(audit.duplicates), "recording that is there more than once")
    lines += [Text(clash_sentence(clash)) for clash in audit.clashes[:FEW]]
    lines += _more(len(audit.clashes[:FEW]), len(audit.clashes), "clash of codes", "clashes of codes")
    if audit.known:
        lines.append(Text(f"{audit.known:,} of {words.counted(audit.files, 'file')} known from the ledger."))
    return [*lines, *map(Text, total_sentences(audit)), Text(f"Overview: {overview}")]


def _rules(audit: Audit) -> RenderableType:
    table = Table(box=None, show_edge=False, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("Requirement", overflow="fold")
    table.add_column("Spec", overflow="fold")
    for heading in ("Not met", "Not measured"):
        table.add_column(heading, justify="right", no_wrap=True)
    for one in sorted(audit.rules, key=lambda one: (not one.must, -one.not_met - one.not_measured))[:MOST]:
        name = one.rule if one.must else f"{one.rule} (remark)"
        table.add_row(name, one.spec, f"{one.not_met:,}" if one.not_met else "-", f"{one.not_measured or '-'}")
    return table


def _more(shown: int, total: int, one: str, several: str = "") -> list[RenderableType]:
    rest = total - shown
    return (
        [Text(f"and {rest:,} more {one if rest == 1 else several or one.replace(' that is', 's that are')}")]
        if rest
        else []
    )
