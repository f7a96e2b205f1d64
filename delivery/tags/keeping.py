"""Which tags and chunks of a master may be in a delivered file, and what became of them. Pure.

A delivered file carries label copy and nothing else that identifies or comments, except what its spec lets through.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from delivery.model.carried import ENCODER, KEEP_CHUNKS, KEEP_TAGS, LABEL_COPY, Item, Passage, Replaced
from delivery.tags.axml import storable
from delivery.tags.codes import codes_in
from delivery.tags.fields import FIELDS, JOINT, advisory_word, held
from delivery.tags.kinds import ELSEWHERE, WHOLE
from delivery.tags.values import with_version

_IDENTITIES = ("title", "artist", "album", "album_artist", "label", "catalogue_number", "upc", "isrc")
_SHORTEST = 4
"""Minimum length of a name to be searched within another text."""
_GROWS = ("bext TimeReference", "bext Loudness", "bext CodingHistory")
"""Fields that are counted or measured again, or extended: another text there is not another statement."""


@dataclass(frozen=True, slots=True)
class Wish:
    """Intended tags and chunks of one delivered file."""

    values: Mapping[str, str]
    """Field id -> text of label copy, embedded or not."""
    embedded: bool
    keep: frozenset[str]
    """Kinds that may stay, by the spec and the way the file is made."""


def may_stay(
    keep_tags: Collection[str] | None,
    keep_chunks: Collection[str],
    *,
    embedded: bool,
    made: str,
    same_container: bool,
    identical: bool,
    chunked: bool,
    texts: bool,
) -> frozenset[str]:
    """Kinds of items permitted in a file made in a certain way.

    Parameters
    ----------
    keep_tags : of the spec; None by default: then the broadcast chunk stays in copies, and in files with embedded label
    copy
    made : 'copy' if the master's bytes are copied, else 'new'
    same_container : the file has the master's container
    identical : its samples are the master's
    chunked : the file is a RIFF or AIFF
    texts : its container stores texts
    """
    tags = set(keep_tags) if keep_tags is not None else {"bext"} if embedded or made == "copy" else set()
    wanted = (tags & set(KEEP_TAGS)) | (set(keep_chunks) & set(KEEP_CHUNKS))
    if made == "copy":
        return frozenset(wanted)
    possible = {"comments", "lyrics"} if texts else set()
    if chunked:
        possible |= {*KEEP_TAGS, *KEEP_CHUNKS} if same_container else {"cue_points"}
        possible -= set() if identical else {"replay_gain"}
    return frozenset(wanted & possible)


def unwanted(items: Iterable[Item], wish: Wish) -> tuple[Item, ...]:
    """The items that must not be in the delivered file.

    Names of a writing program are removed with the others if label copy is written, and are not by themselves a reason
    to rewrite a copy. In the broadcast chunk, texts that name another recording are removed, whatever the spec lets
    through.
    """
    present = tuple(items)
    foreign = {item.text for item in present if item.field in _IDENTITIES and not agrees(item, wish.values)}
    gone = [item for item in present if _goes(item, wish, foreign)]
    halved = {item.place for item in gone if item.place in WHOLE}
    gone += [item for item in present if item.place in halved and item not in gone]
    if not gone and not wish.embedded:
        return ()
    return tuple(item for item in present if item in gone or item.kind == ENCODER)


def passage(master: Iterable[Item], gone: Collection[Item], delivered: Iterable[Item], wish: Wish) -> Passage:
    """What became of each item, from the tags read back.

    A field with the same text in the delivered file was not removed.
    """
    after = tuple(delivered)
    there, kinds = {(item.kind, item.text) for item in after}, {item.kind for item in after}
    fields = {(item.field, item.kind) for item in after}
    by_place = {item.place: item.text for item in after if item.kind == "bext" or item.place.startswith("bext ")}
    kept: list[Item] = []
    removed: list[Item] = []
    replaced: list[Replaced] = []
    for item in dict.fromkeys(master):
        now = by_place.get(item.place, "")
        if item.kind == LABEL_COPY and agrees(item, wish.values) and (item.field, item.kind) in fields:
            continue
        if item in gone:
            removed.append(item)
        elif item.kind == "bext" and now and now != item.text and item.place not in _GROWS:
            replaced.append(Replaced(item, now))
        elif _still_there(item, there, kinds, by_place):
            kept.append(item)
        else:
            removed.append(item)
    return Passage(tuple(kept), tuple(removed), tuple(replaced))


def _still_there(
    item: Item, there: Collection[tuple[str, str]], kinds: Collection[str], by_place: Mapping[str, str]
) -> bool:
    """Compared by text; points in time by kind, since their positions change with the sample rate."""
    grown = item.place in _GROWS and item.place in by_place
    return grown or (item.kind, item.text) in there or (item.kind in KEEP_CHUNKS and item.kind in kinds)


def planned(master: Iterable[Item], wish: Wish) -> Passage:
    """Prediction of what becomes of each item, before anything is written."""
    present = tuple(master)
    gone = unwanted(present, wish)
    staying = [item for item in present if item not in gone]
    if not wish.embedded:
        return passage(present, gone, staying, wish)
    stated = [Item(LABEL_COPY, "", text, name) for name, text in wish.values.items()]
    return passage(present, gone, [*stated, *_with_label_copy(staying, wish.values)], wish)


def _with_label_copy(items: Iterable[Item], values: Mapping[str, str]) -> Iterator[Item]:
    """The broadcast chunk's items as they will be once label copy fills its fields."""
    texts = {f"bext {FIELDS[name].bext}": text for name, text in held(values, "bext").items()}
    dates = {item.text for item in items if item.place == "bext OriginationDate"}
    another_day = bool(dates - {texts.get("bext OriginationDate", next(iter(dates), ""))})
    for item in items:
        if item.kind == "bext" and item.place in texts and item.place not in _GROWS:
            yield replace(item, text=texts[item.place])
        elif not (another_day and item.place == "bext OriginationTime"):
            yield item


def _goes(item: Item, wish: Wish, foreign: Collection[str]) -> bool:
    if item.kind == ENCODER:
        return False
    if item.place.startswith(ELSEWHERE):
        return True
    if item.place.startswith("bext "):
        return "bext" not in wish.keep or _names_another(item, wish.values, foreign)
    return item.kind not in wish.keep


def _names_another(item: Item, values: Mapping[str, str], foreign: Collection[str]) -> bool:
    """True for a text of the broadcast chunk with another recording's code, or with the former title, name or label."""
    if item.place in _GROWS:
        return False
    codes = {item.text} if storable(item.text) else codes_in(item.text)
    if codes - {values.get("isrc", "")}:
        return True
    sentence = item.text.casefold()
    return any(
        sentence == text.casefold() or (len(text) >= _SHORTEST and text.casefold() in sentence) for text in foreign
    ) and not any(_same(item.text, text) for text in values.values())


def agrees(item: Item, values: Mapping[str, str]) -> bool:
    """True if a field equals label copy in any of the forms in which it is written.

    A title may have its version in brackets, a number its total; of several people an item may name one; an older
    ID3 tag has the year of a date alone.
    """
    wanted, text = values.get(item.field, ""), item.text
    if not wanted:
        return False
    if item.field == "title":
        return text in (wanted, with_version(wanted, values.get("version", "")))
    if item.field in ("track_number", "disc_number"):
        return text.partition("/")[0] == wanted
    if item.field in ("isrc", "upc"):  # some programs write them with hyphens or blanks
        return "".join(filter(str.isalnum, text)).upper() == wanted
    if item.field == "explicit":
        return advisory_word(text) == wanted
    if item.field == "original_date" and len(text) == len("1999"):
        return wanted.startswith(text)
    if FIELDS[item.field].many:
        return text == wanted or set(text.split(JOINT)) <= set(wanted.split(JOINT))
    return text == wanted


def _same(one: str, other: str) -> bool:
    return one.casefold() == other.casefold()
