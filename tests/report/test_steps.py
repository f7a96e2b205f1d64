"""The plan is reported on the terminal: every step with its reason, tracks with the same chain together."""

from __future__ import annotations

import io

from rich.console import Console

from delivery.report.text import full, verified
from delivery.report.view.make import view_of
from tests import samples


def shown(width: int = 200) -> str:
    page = Console(file=io.StringIO(), width=width)
    page.print(*full.check_table(view_of(samples.delivery(3), samples.FIGURES)), sep="\n")
    assert isinstance(page.file, io.StringIO)
    return page.file.getvalue()


def test_every_step_is_printed_with_its_reason() -> None:
    text = shown()
    chains = [part.chain for part in samples.delivery(3).parts if part.chain]
    assert chains
    for chain in chains:
        for step in chain.steps:
            assert step.sentence in text
            assert step.because in text


def test_tracks_with_the_same_chain_are_one_row() -> None:
    heading, rows = shown().split("What would be done")
    assert heading
    specs = {part.spec for part in samples.delivery(3).parts}
    for spec in specs:
        assert rows.split("\n\n")[0].count(f"{spec} ") == 1


def test_long_checksums_are_shortened_and_short_texts_are_not() -> None:
    table = verified.verify_table("P", 1, [("a.wav", "changed", "sha256 " + "ab" * 32, "deadbeef")])
    page = Console(file=io.StringIO(), width=80)
    page.print(*table, sep="\n")
    assert isinstance(page.file, io.StringIO)
    text = page.file.getvalue()
    assert "abababababab..." in text
    assert "deadbeef" in text
