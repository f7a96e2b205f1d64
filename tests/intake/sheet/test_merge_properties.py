"""Whatever an engineer types and a client changes: nothing typed is lost, and a second time changes nothing."""

from __future__ import annotations

from typing import Any

from hypothesis import example, given, settings
from hypothesis import strategies as st

from delivery.intake.sheet.merge import plan_of
from delivery.intake.sheet.merge_text import merged_text
from delivery.intake.sheet.statements import Plan, Stated, same
from delivery.intake.yaml.change import comments_within
from delivery.intake.yaml.nodes import composed_root
from delivery.intake.yaml.quoting import value
from delivery.intake.yaml.text import document_of

FILES = ("a.wav", "b.wav", "c.wav", "d.wav")
KEYS = ("title", "version", "isrc", "key", "composers")
WORDS = st.sampled_from(["Low Water", "Lamps # 9", 'say "so"', "été: x", "- y", "潮", "no", "1999", "ZZOSL2600001"])
NAMES = st.lists(st.sampled_from(["Ada", "Bo", "Cy", "Dee", "Eli"]), min_size=1, max_size=3, unique=True)
NOTHING = Stated({}, {})


def values_of(key: str) -> st.SearchStrategy[Any]:
    return NAMES if key == "composers" else WORDS


TRACK = st.fixed_dictionaries({"title": WORDS}, optional={key: values_of(key) for key in KEYS[1:]})
TRACKS = st.lists(st.sampled_from(FILES), min_size=1, unique=True).flatmap(
    lambda files: st.fixed_dictionaries(dict.fromkeys(files, TRACK))
)
EDITS = st.dictionaries(
    st.tuples(st.sampled_from(FILES), st.sampled_from(KEYS)),
    st.one_of(st.none(), st.integers(0, 99)),
    max_size=5,
)
"""(file, key) -> another value, or None: taken out."""
LAYOUTS = st.tuples(st.booleans(), st.booleans(), st.sampled_from([0, 2, 4]))


def edited(tracks: dict[str, dict[str, Any]], edits: dict[Any, int | None], who: str) -> dict[str, dict[str, Any]]:
    changed = {file: dict(values) for file, values in tracks.items()}
    for (file, key), number in edits.items():
        if file not in changed or (number is None and key == "title"):
            continue
        if number is None:
            changed[file].pop(key, None)
        else:
            changed[file][key] = [f"{who} {number}"] if key == "composers" else f"{who} {number}"
    return changed


def written(tracks: dict[str, dict[str, Any]], layout: tuple[bool, bool, int]) -> str:
    """A release file as somebody may have written it, with a comment of its own at every place that can hold one."""
    blocks, empties, indent = layout
    margin = " " * indent
    lines = ["# of the file", 'title: "T"  # of the title', "waivers:", "  # of the waivers"]
    lines += [f"  - {{rule: r, track: {at}, by: me, why: w}}  # of waiver {at}" for at in range(1, len(tracks) + 1)]
    lines += ["tracks:  # of the list"]
    for file, values in tracks.items():
        lines += [f"{margin}# above {file}", f"{margin}- file: {file}  # file {file}"]
        for key in KEYS:
            if key in values and key == "composers" and blocks:
                lines += [f"{margin}  {key}:  # {key} {file}"]
                lines += [f"{margin}    - {value(name)}  # {name} of {file}" for name in values[key]]
            elif key in values:
                lines += [f"{margin}  {key}: {value(values[key])}  # {key} {file}"]
            elif empties:
                lines += [f"{margin}  {key}:  # no {key} {file}"]
        lines += [f"{margin}  # below {file}", ""]
    return "\n".join([*lines, "# the end", ""])


def merged(text: str, sheet: Stated, last: Stated | None, by_sheet: bool) -> tuple[str, Plan]:
    ours = document_of(text, "release.yaml").data
    plan = plan_of(ours, sheet, last, NOTHING, lambda _one: by_sheet)
    new = {
        name: [f"  - file: {value(name)}", f"    title: {value(sheet.tracks[name]['title'])}"] for name in plan.added
    }
    return merged_text(text, plan, new, "release.yaml"), plan


def reported(tracks: dict[str, dict[str, Any]]) -> Stated:
    return Stated({}, tracks, {file: frozenset(KEYS) for file in tracks})


def comments(text: str) -> list[str]:
    return comments_within(text, composed_root(text), 0, len(text))


@settings(max_examples=50)
@given(TRACKS, EDITS, EDITS, LAYOUTS, st.booleans(), st.permutations(FILES), st.sampled_from([None, *FILES]))
@example(
    {"a.wav": {"title": "Low Water", "composers": ["Ada", "Bo"]}},
    {},
    {("a.wav", "composers"): 1},
    (True, False, 2),
    True,
    list(FILES),
    None,
)
def test_nothing_typed_is_lost(
    tracks: dict[str, dict[str, Any]],
    by_hand: dict[Any, int | None],
    by_client: dict[Any, int | None],
    layout: tuple[bool, bool, int],
    by_sheet: bool,
    order: list[str],
    dropped: str | None,
) -> None:
    mine = edited(tracks, by_hand, "engineer")
    theirs = edited(tracks, by_client, "client")
    theirs = {file: theirs[file] for file in order if file in theirs and (file != dropped or len(theirs) == 1)}
    text = written(mine, layout)
    after, plan = merged(text, reported(theirs), reported(tracks), by_sheet)
    read = {track["file"]: track for track in document_of(after, "release.yaml").data["tracks"]}
    assert set(read) == set(theirs)
    for comment in comments(text):
        assert comment in after, comment
    for file, values in read.items():
        for key in KEYS:
            before, typed, client, now = (one.get(key) for one in (tracks[file], mine[file], theirs[file], values))
            if key == "composers":
                typed_names = [name for name in typed or () if name not in (before or ())]
                assert by_sheet or set(typed_names) <= set(now or ())
                continue
            if same(key, client, before):
                assert same(key, now, typed), "what the client did not change is the engineer's"
            elif same(key, typed, before):
                assert same(key, now, client), "what only the client changed goes in"
            else:
                assert same(key, now, client if by_sheet else typed)
    for waiver in document_of(after, "release.yaml").data["waivers"] or ():
        at = [
            comment
            for comment in comments(text)
            if f"of waiver {list(mine).index(plan_file(plan, waiver)) + 1}" in comment
        ]
        assert at, "a waiver stays with its track"
    again, plan = merged(after, reported(theirs), reported(theirs), by_sheet)
    assert again == after
    assert plan.taken() == plan.conflicts() == ()


def plan_file(plan: Plan, waiver: dict[str, Any]) -> str:
    return plan.order[waiver["track"] - 1]


@settings(max_examples=15)
@given(TRACKS, LAYOUTS)
def test_the_same_sheet_twice_changes_no_byte(
    tracks: dict[str, dict[str, Any]], layout: tuple[bool, bool, int]
) -> None:
    text = written(tracks, layout)
    assert merged(text, reported(tracks), reported(tracks), True)[0] == text
    assert merged(text, reported(tracks), None, True)[0] == text


@settings(max_examples=30)
@given(TRACKS, TRACKS, LAYOUTS)
def test_added_and_removed_tracks(
    tracks: dict[str, dict[str, Any]], later: dict[str, dict[str, Any]], layout: tuple[bool, bool, int]
) -> None:
    """Any set of tracks becomes any other; those that go stay as comments, and the order is the sheet's."""
    text = written(tracks, layout)
    after, _ = merged(text, reported(later), reported(tracks), True)
    data = document_of(after, "release.yaml").data
    assert {track["file"] for track in data["tracks"]} == set(later)
    for comment in comments(text):
        assert comment in after
    assert merged(after, reported(later), reported(later), True)[0] == after
