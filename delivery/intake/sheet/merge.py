"""Merge a revised sheet into a release file: the client's changes are taken, the engineer's changes kept. Pure.

Three versions are compared, value by value: the last import (before), this sheet, and the release file. What only the
sheet changed is taken, what only the file changed is kept, and a value that both changed differently is a conflict, for
a person to decide. If the last import does not state a value, the one from the masters' tags and names counts as the
earlier version: no person typed it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from delivery.intake.sheet.isni import still_named
from delivery.intake.sheet.statements import (
    LISTS,
    PEOPLE,
    RELEASE,
    Decide,
    Outcome,
    Plan,
    Stated,
    Values,
    Verdict,
    canonical,
    file_key,
    same,
)
from delivery.intake.sheet.write import RELEASE_KEYS, TRACK_KEYS
from delivery.model.unconfirmed import ORDER


def plan_of(ours: Values, sheet: Stated, last: Stated | None, alone: Stated, decide: Decide) -> Plan:
    """Plan the merge: every change, with its reason.

    Parameters
    ----------
    ours : the release file as plain data
    last : values of the last import; None if there was none
    alone : values of a release file from the masters alone
    """
    files = {file_key(str(track["file"])): track for track in ours["tracks"]}
    known = last or alone
    renamed = _renamed(files, sheet, known)
    back = {new: old for old, new in renamed.items()}
    there = [key for key in map(file_key, sheet.tracks) if key in files or key in back]
    removed = [
        key
        for key, track in files.items()
        if key not in renamed and key not in there and key in _keys(known)
        if not any(_one_recording(row, track) or _one_recording(row, _of(known, key)) for row in sheet.without_file)
    ]
    fresh = [key for key in map(file_key, sheet.tracks) if key not in there]
    stays_out = [key for key in fresh if last is not None and key in _keys(last)]
    added = [key for key in fresh if key not in stays_out]
    names = {file_key(name): name for name in sheet.tracks}
    pairs = [(files[back.get(key, key)], names[key]) for key in there]
    outcomes = list(_release(ours, sheet, last, alone))
    for track, name in pairs:
        outcomes += _track(track, name, sheet, last, alone)
    sequence = [back.get(key, key) for key in there]
    order = _order(list(files), sequence, ours, last or alone)
    outcomes = [_decided(one, decide) for one in (*outcomes, *([order] if order else []))]
    by_sheet = next((one.verdict is Verdict.TAKEN for one in outcomes if one.key == ORDER), True)
    if not by_sheet:  # numbers are part of an order
        outcomes = [one for one in outcomes if one.key not in ("disc", "number")]
    outcomes += _identities(ours, sheet, last, outcomes)
    slots = iter(sequence if by_sheet else [key for key in files if key in sequence])
    old_ones = [next(slots) if key in sequence else key for key in files]
    final = _with_added(old_ones, added, [back.get(key, key) for key in map(file_key, sheet.tracks)])
    return Plan(
        tuple(outcomes),
        tuple(key for key in final if key not in removed),
        {str(files[old]["file"]): names[new] for old, new in renamed.items()},
        tuple(names[key] for key in added),
        tuple(str(files[key]["file"]) for key in removed),
        tuple(names[key] for key in stays_out),
        tuple(_confirmed(ours, pairs, sheet, outcomes)),
    )


def _keys(stated_keys: Stated) -> set[str]:
    return set(map(file_key, stated_keys.tracks))


def _of(stated_keys: Stated | None, name: str) -> Values:
    wanted = file_key(name)
    return (
        next((values for file, values in stated_keys.tracks.items() if file_key(file) == wanted), {})
        if stated_keys
        else {}
    )


def _renamed(files: Mapping[str, Values], sheet: Stated, known: Stated) -> dict[str, str]:
    """Tracks whose row now has a file unknown to the release file: a new bounce of the same recording."""
    taken = set(map(file_key, sheet.tracks))
    free = [key for key in files if key not in taken and key in _keys(known)]
    found: dict[str, str] = {}
    for name, values in sheet.tracks.items():
        if file_key(name) in files:
            continue
        alike = [
            key
            for key in free
            if key not in found and (_one_recording(values, files[key]) or _one_recording(values, _of(known, key)))
        ]
        if len(alike) == 1:
            found[alike[0]] = file_key(name)
    return found


def _one_recording(one: Values, other: Values) -> bool:
    if one.get("isrc") and other.get("isrc"):
        return same("isrc", one["isrc"], other["isrc"])
    return bool(other) and all(same(key, one.get(key), other.get(key)) for key in ("title", "version"))


def _release(ours: Values, sheet: Stated, last: Stated | None, alone: Stated) -> Iterator[Outcome]:
    columns_of = sheet.columns_of.get(RELEASE, frozenset())
    for key in (key for key in RELEASE_KEYS.values() if key != "isni"):
        stated = (last.release if last else {}, alone.release)
        if one := _statement(RELEASE, key, stated, sheet.release, ours, columns_of):
            yield one


def _track(ours: Values, name: str, sheet: Stated, last: Stated | None, alone: Stated) -> Iterator[Outcome]:
    old = str(ours["file"])
    stated = (_of(last, old) or _of(last, name), _of(alone, old))
    theirs, columns_of = sheet.tracks[name], sheet.columns_of.get(name, frozenset())
    together = any(one.get("writers") for one in (theirs, ours, stated[0]))
    if together and (one := _people(old, stated, theirs, ours, columns_of)):
        yield one
    for key in TRACK_KEYS.values():
        if together and key in PEOPLE:
            continue
        if found := _statement(old, key, stated, theirs, ours, columns_of):
            yield found


def _statement(
    where: str, key: str, stated: tuple[Values, Values], sheet: Values, ours: Values, columns_of: frozenset[str]
) -> Outcome | None:
    """Result for one key; None if sheet and file agree, or the sheet has no such column.

    Parameters
    ----------
    stated : values of the last import, and of the masters alone
    """
    theirs, mine = sheet.get(key), ours.get(key)
    silent = canonical(key, theirs) is None
    if silent and (key not in columns_of or key not in stated[0]):
        return None
    before = stated[0].get(key) if silent or key in stated[0] else stated[1].get(key)
    if same(key, theirs, mine):
        return None
    guessed = key in (ours.get("to_confirm") or ())
    if same(key, theirs, before) and not guessed:
        return Outcome(where, key, Verdict.KEPT, before, theirs, mine, mine)
    if same(key, mine, before) or (canonical(key, mine) is None and before is None) or (guessed and not silent):
        return Outcome(where, key, Verdict.TAKEN, before, theirs, mine, theirs)
    both = _joined(key, before, theirs, mine) if key in LISTS else None
    if both is not None:
        return Outcome(where, key, Verdict.TAKEN, before, theirs, mine, both)
    return Outcome(where, key, Verdict.CONFLICT, before, theirs, mine, mine)


def _people(
    where: str, stated: tuple[Values, Values], sheet: Values, ours: Values, columns_of: frozenset[str]
) -> Outcome | None:
    """Writers, composers and lyricists as one statement."""

    def joined(values: Values) -> Any:
        return tuple(canonical(key, values.get(key)) for key in PEOPLE)

    nobody = joined({})
    theirs, mine = joined(sheet), joined(ours)
    known = stated[0] if joined(stated[0]) != nobody else {} if theirs == nobody else stated[1]
    before = joined(known)
    if theirs == mine or (theirs == nobody and (before == nobody or not set(PEOPLE) & columns_of)):
        return None
    verdict = Verdict.CONFLICT
    if theirs == before:
        verdict = Verdict.KEPT
    elif mine == before or mine == nobody == before:
        verdict = Verdict.TAKEN
    shown = [next((values.get(key) for key in PEOPLE if values.get(key)), None) for values in (known, sheet, ours)]
    also = {key: sheet.get(key) for key in PEOPLE[1:]}
    now = sheet.get("writers")
    return Outcome(where, "writers", verdict, shown[0], shown[1], shown[2], now, also)


def _joined(key: str, before: Any, sheet: Any, ours: Any) -> list[Any] | None:
    """The file's names without those the sheet removed, plus those it added; None if both changed one."""
    known, theirs, mine = ({canonical(key, [one]): one for one in names or ()} for names in (before, sheet, ours))
    gone = [one for one in known if one not in theirs]
    if any(one not in mine for one in gone):
        return None
    return [
        *(name for one, name in mine.items() if one not in gone),
        *(name for one, name in theirs.items() if one not in known and one not in mine),
    ]


def _order(files: list[str], sheet: list[str], ours: Values, known: Stated) -> Outcome | None:
    """Result for the order; None if it is unchanged.

    Parameters
    ----------
    sheet : tracks that both have, in the sheet's order
    known : the last import, or the masters alone
    """
    mine = [key for key in files if key in sheet]
    if sheet == mine:
        return None
    before = [key for key in map(file_key, known.tracks) if key in sheet]
    guessed = ORDER in (ours.get("to_confirm") or ())

    def unchanged(order: list[str]) -> bool:
        return [key for key in order if key in before] == before

    verdict = Verdict.CONFLICT
    if unchanged(sheet) and not guessed:
        verdict = Verdict.KEPT
    elif unchanged(mine) or guessed:
        verdict = Verdict.TAKEN
    return Outcome(RELEASE, ORDER, verdict, before, sheet, mine, sheet if verdict is Verdict.TAKEN else mine)


def _with_added(order: list[str], added: Sequence[str], sheet: Sequence[str]) -> list[str]:
    """*added* inserted in *order*, each after its predecessor on the sheet."""
    merged = list(order)
    for key in added:
        before = [one for one in sheet[: sheet.index(key)] if one in merged]
        merged.insert(merged.index(before[-1]) + 1 if before else 0, key)
    return merged


def _decided(one: Outcome, decide: Decide) -> Outcome:
    chosen = decide(one) if one.verdict is Verdict.CONFLICT else None
    if chosen is None:
        return one
    if chosen:
        return replace(one, verdict=Verdict.TAKEN, now=one.now if one.also else one.sheet)
    return replace(one, verdict=Verdict.KEPT, now=one.file)


def _identities(ours: Values, sheet: Stated, last: Stated | None, outcomes: Sequence[Outcome]) -> Iterator[Outcome]:
    """Codes of names, one by one: from the sheet where it has one, else from the file if the name still occurs."""
    mine = list(ours.get("isni") or ())
    theirs = {one["name"]: one for one in sheet.release.get("isni") or ()}
    earlier = {one["name"]: one for one in (last.release.get("isni") or () if last else ())}
    if not theirs and not earlier:
        return
    kept = []
    for entry in mine:
        name = entry.get("name")
        withdrawn = name in earlier and name not in theirs and same("isni", entry.get("code"), earlier[name]["code"])
        newer = name in theirs and not same("isni", theirs[name]["code"], (earlier.get(name) or {}).get("code"))
        if not withdrawn:
            kept.append(theirs[name] if newer else entry)
    named = {entry.get("name") for entry in mine}
    kept += [entry for name, entry in theirs.items() if name not in named and name not in earlier]
    now = still_named(kept, *_as_merged(ours, sheet, outcomes))
    if not same("isni", now, mine):
        yield Outcome(RELEASE, "isni", Verdict.TAKEN, None, list(theirs.values()), mine or None, now or None)


def _as_merged(ours: Values, sheet: Stated, outcomes: Sequence[Outcome]) -> tuple[Values, list[Values]]:
    """Release and tracks after the merge, to look up which names occur."""
    taken = [one for one in outcomes if one.verdict is Verdict.TAKEN]

    def changed(where: str, values: Values) -> Values:
        new: dict[str, Any] = {}
        for one in taken:
            if one.where == where:
                new |= {one.key: one.now, **one.also}
        return {key: data for key, data in {**values, **new}.items() if data is not None}

    tracks = [changed(str(track["file"]), track) for track in ours["tracks"]]
    here = {file_key(str(track["file"])) for track in ours["tracks"]}
    tracks += [values for name, values in sheet.tracks.items() if file_key(name) not in here]
    return changed(RELEASE, ours), tracks


def _confirmed(
    ours: Values, pairs: Sequence[tuple[Values, str]], sheet: Stated, outcomes: Sequence[Outcome]
) -> Iterator[tuple[str, str]]:
    """Guesses of the file that the sheet states, confirmed or corrected."""
    settled = {(one.where, one.key) for one in outcomes if one.verdict is not Verdict.KEPT}
    for key in ours.get("to_confirm") or ():
        if key == ORDER or canonical(key, sheet.release.get(key)) is not None or (RELEASE, key) in settled:
            yield RELEASE, key
    for track, name in pairs:
        for key in track.get("to_confirm") or ():
            stated = canonical(key, sheet.tracks[name].get(key)) is not None or key in ("disc", "number")
            if stated or (str(track["file"]), key) in settled:
                yield str(track["file"]), key
