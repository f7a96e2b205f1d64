"""Names of the shipped files."""

from __future__ import annotations

from collections.abc import Iterator

from delivery.model.finding import NotMet, Weight
from delivery.rules.limits import FLAG, count
from delivery.rules.rule import rule
from delivery.rules.words import BYTES, always, at_most, counted

length_wanted = at_most(BYTES)
ascii_wanted = always("characters 32 to 126 of ASCII")


def name_length_words(name: str) -> str:
    """Length of the name in bytes."""
    return f"{counted(len(name.encode()), 'byte')} in UTF-8"


@rule(
    id="name_max_bytes",
    limit=count(BYTES, minimum=8, maximum=255),
    needs=("name",),
    weight=Weight.FACT,
    source="the limit is the spec's own; file systems in use take 255 bytes",
    sentence="the file name has {limit}",
    value_text=name_length_words,
    limit_text=length_wanted,
)
def name_length(name: str, limit: int) -> Iterator[NotMet]:
    """The file name, extension included, is no longer than the recipient accepts."""
    over = len(name.encode()) - limit
    if over > 0:
        yield NotMet(
            name_length_words(name),
            length_wanted(limit),
            f"a title or template {counted(over, 'byte')} shorter",
        )


@rule(
    id="name_ascii",
    limit=FLAG,
    needs=("name",),
    weight=Weight.FACT,
    source="ISO/IEC 646, printable characters; the limit is the spec's own",
    sentence="the file name has only {limit}",
    value_text=str,
    limit_text=ascii_wanted,
)
def name_ascii(name: str, limit: bool) -> Iterator[NotMet]:
    """The file name uses only characters that every old system can read."""
    strange = sorted({character for character in name if not " " <= character <= "~"})
    if strange:
        shown = " ".join(f"{character!r} (U+{ord(character):04X})" for character in strange)
        yield NotMet(shown, ascii_wanted(limit), "a template without this field")
