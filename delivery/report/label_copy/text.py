"""The running order as plain text for mails: titles, lengths, codes, writers."""

from __future__ import annotations

from collections.abc import Iterator

from delivery.model.fields import fields_kept
from delivery.model.fields.row import Kept
from delivery.model.release import Track
from delivery.report.view import words
from delivery.report.view.label_copy import identities
from delivery.report.view.model import OrderRow, View
from delivery.report.view.report import Report


def render(view: View) -> bytes:
    """UTF-8, LF, one track a line and its credits below."""
    return "".join(f"{line.rstrip()}\n" for line in _lines(view)).encode("utf-8", errors="replace")


def _lines(view: View) -> Iterator[str]:
    yield view.artist
    yield view.title
    yield ", ".join(
        fact.label + " " + fact.value for fact in view.facts if fact.label in ("Label", "Catalogue number", "UPC / EAN")
    )
    yield from (f"{fact.label} {fact.value}" for fact in view.facts if fact.label in ("℗", "©"))
    yield ""
    width = max((len(row.number) for row in view.order), default=1)
    for row, source in zip(view.order, view.delivery.sources, strict=True):
        yield from _track(row, source.track, width, view.artist)
        if not view.delivery.specs:
            yield from _routes(source.track, " " * (width + 2))
    yield ""
    yield f"Total {view.order_total}"
    yield from view.running_orders
    release = view.delivery.release
    if roles_text := identities(release, (one.name for one in release.identities)):
        yield f"ISNI {roles_text}"


def _track(row: OrderRow, track: Track, width: int, release_artist: str) -> Iterator[str]:
    title = row.title if row.artist == release_artist else f"{row.title}, {row.artist}"
    yield f"{row.number:>{width}}  {title}  {row.length}  {row.isrc}"
    indent = " " * (width + 2)
    writers = _written(track)
    if writers:
        yield f"{indent}{writers}"
    roles = words.unique(credit.role for credit in track.credits)
    roles_text = (
        f"{role}: {words.listed(words.plain(c.name) for c in track.credits if c.role == role)}" for role in roles
    )
    texts = ((field.on_sheet, words.plain(track.text(field.id))) for field in fields_kept(Kept.TEXT))
    if line := "; ".join([*roles_text, *(f"{label}: {text}" for label, text in texts if text)]):
        yield f"{indent}{line}"


def _routes(track: Track, indent: str) -> Iterator[str]:
    """The track's routes, if no specs are available to list who receives which tracks."""
    for sentence, specs in (("only for", track.only_for), ("not for", track.not_for)):
        if specs:
            yield f"{indent}{sentence}: {', '.join(map(words.plain, specs))}"


def _written(track: Track) -> str:
    music, text = (words.listed(map(words.plain, names)) for names in (track.composers, track.lyricists))
    if music and music == text:
        return f"written by {music}"
    parts = [f"music: {music}" if music else "", f"words: {text}" if text else ""]
    return "; ".join(part for part in parts if part)


REPORT = Report(
    "label_copy_text", "label-copy.txt", "the running order with codes and credits, for a mail", render, on_request=True
)
