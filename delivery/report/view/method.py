"""Methods of measurement and conversion, with their documents; and what a pass does not mean. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from delivery.model.figure import Figure
from delivery.model.part import Delivery
from delivery.report.view import words
from delivery.report.view.elements import Fact
from delivery.report.view.figure_names import figure_name
from delivery.report.view.steps import CONVERTER_AT_LENGTH, converts, dithers
from delivery.report.view.tracks import ROWS

BUILT = "Ready means: opened again after writing, and each requirement is met. It is not the recipient's acceptance."
CHECKED = "Nothing was written: ready means that the planned steps would meet each requirement. It is not acceptance."
CAUTION = (
    "The specs are dated readings of recipients' documents. Where they differ, the recipient's own document rules.",
    "Titles, credits, codes and the rights to them are the client's to supply and to check.",
    "Whether the music sounds right is for ears. Signs marked 'not proof' are places to listen at, never verdicts.",
)
APPROVAL = "I have compared titles, order, codes and files with what was agreed, and release them for delivery."


def caution(delivery: Delivery) -> tuple[str, ...]:
    """What the result does and does not mean."""
    return (BUILT if delivery.built else CHECKED, *CAUTION)


def method(delivery: Delivery, figures: Mapping[str, Figure]) -> tuple[Fact, ...]:
    """How the figures were measured."""
    return tuple(_method(delivery, figures))


def _method(delivery: Delivery, figures: Mapping[str, Figure]) -> Iterator[Fact]:
    for source, labels in _by_source(figures).items():
        yield Fact(words.listed(labels), source)
    yield Fact("Audio hash", "BLAKE3 of rate, channel count and samples; the same in any lossless container.")
    yield Fact("Checksums", "SHA-256 of the file's bytes; whole beside each file, eight digits elsewhere.")
    yield Fact("Rounding", "Near a limit, figures are printed with as many digits as decide it.")
    if converts(delivery):
        yield Fact("Rate conversion", f"{CONVERTER_AT_LENGTH}.")
    if dithers(delivery):
        yield Fact("Dither", f"{words.listed(dithers(delivery))}, once, as the last step.")
    if delivery.built:
        yield Fact("Proof", "Every delivered file was closed, opened again and measured; masters were only read.")


def _by_source(figures: Mapping[str, Figure]) -> dict[str, list[str]]:
    """The documents behind the printed figures, each once with all that it defines."""
    found: dict[str, list[str]] = {}
    for name in ROWS:
        if name in figures:
            found.setdefault(words.plain(figures[name].source).rstrip(".") + ".", []).append(figure_name(name))
    return {source: [labels[0], *(_lower(label) for label in labels[1:])] for source, labels in found.items()}


def _lower(label: str) -> str:
    return label if label[:2].isupper() else label[0].lower() + label[1:]
