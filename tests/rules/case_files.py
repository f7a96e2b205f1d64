"""Cases written as YAML become facts, specs and answers."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML

from delivery.chain.carrier import lay_out
from delivery.intake.yaml.schema_formats import index_point_of
from delivery.model.album import Cut, Join, Likeness, Stretch
from delivery.model.approval import Approval, ApprovalState
from delivery.model.carried import Item
from delivery.model.carrier import Carrier, Index, Pressing, Programme
from delivery.model.copy_marks import copy_marks
from delivery.model.figure import Reading
from delivery.model.finding import Finding
from delivery.model.release import Artwork, Credit, Identity, Release, Sample, Track, Waiver, Writer
from delivery.model.spec import Requirement, Spec
from delivery.model.stems import StemSum
from delivery.model.subcode import CdText
from delivery.rules import Rule, judge

CASES = Path(__file__).parent / "cases"


def cases_of(rule: str) -> dict[str, list[dict[str, Any]]]:
    return YAML(typ="safe", pure=True).load((CASES / f"{rule}.yaml").read_text(encoding="utf-8"))


def answers(rule: Rule, case: dict[str, Any], *, must: bool = True, waivers: tuple[Waiver, ...] = ()) -> list[Finding]:
    limit = tuple(case["limit"]) if isinstance(case["limit"], list) else case["limit"]
    spec = spec_of(requirement(rule.id, limit, must=must))
    track = case.get("track", 1) if rule.scope == "track" else None
    facts = {name: _fact(name, stated) for name, stated in case["facts"].items()}
    if isinstance(stated := facts.get("release", Reading()).value, Release) and track:
        facts["track"] = Reading(stated.tracks[track - 1])
    elif "release" in facts:
        facts["track"] = facts["release"]
    return list(judge(spec, facts, scope=rule.scope, track=track, waivers=waivers))


def requirement(requires: str, limit: Any, *, must: bool = True) -> Requirement:
    return Requirement(
        requires, limit, must, "common practice, no source", date(2026, 11, 25), "invented", "invented.yaml:9"
    )


def spec_of(*requirements: Requirement) -> Spec:
    return Spec("invented", "Invented", "For tests.", date(2026, 11, 25), requirements)


def release_of(stated: dict[str, Any]) -> Release:
    tracks = tuple(
        Track(**{"position": number, "file": Path(f"/{number}.wav"), **_track(track)})
        for number, track in enumerate(stated.get("tracks", ()), start=1)
    )
    plain = {key: value for key, value in stated.items() if key != "tracks"}
    if "identities" in plain:
        plain["identities"] = tuple(Identity(**one) for one in plain["identities"])
    return Release(**{"path": Path("/release.yaml"), "title": "", "artist": "", **plain, "tracks": tracks})


def _credits(stated: list[Any]) -> tuple[Credit, ...]:
    return tuple(Credit(**one) if isinstance(one, dict) else Credit(one) for one in stated)


def _track(stated: dict[str, Any]) -> dict[str, Any]:
    lists: dict[str, Any] = {
        "artists": _credits,
        "composers": tuple,
        "lyricists": tuple,
        "publishers": tuple,
        "writers": lambda writers: tuple(Writer(**writer) for writer in writers),
        "samples": lambda samples: tuple(Sample(**sample) for sample in samples),
        "credits": _credits,
        "cd_text": lambda text: CdText(**text),
        "index_points": lambda points: tuple(map(index_point_of, points)),
        "index_1": index_point_of,
    }
    return {key: lists[key](value) if key in lists else value for key, value in stated.items()}


def programme_of(stated: dict[str, Any]) -> Programme:
    """A side ('A', 'B' ...) or disc ('1', '2' ...) of songs with so many seconds each, and gaps_s before them.

    An index point is a frame, or a frame and the samples by which it lies before the point."""
    kind = "cd" if stated["label"].isdigit() else "vinyl"
    rate_hz, frame = (44_100, 588) if kind == "cd" else (48_000, 1)
    carrier = Carrier(kind, frame, 2.0 if kind == "cd" else 0.0)
    lengths = [round(seconds * rate_hz) for seconds in stated["seconds"]]
    gaps = [round(seconds * rate_hz) for seconds in stated.get("gaps_s", [0] * len(lengths))]
    songs, total = lay_out(lengths, gaps, frame)
    placed = tuple(
        replace(
            song,
            position=song.number + stated.get("after", 0),
            pregap=stated.get("pregaps", {}).get(song.number, 0) * 588,
            indices=tuple(
                Index(n, *(at if isinstance(at, list) else (at, 0)))
                for n, at in enumerate(stated.get("indices", {}).get(song.number, ()), 2)
            ),
        )
        for song in songs
    )
    pressing = Pressing(stated.get("size_inch"), stated.get("speed_rpm"))
    first_pause = 150 if kind == "cd" else 0
    return Programme("invented", stated["label"], carrier, pressing, rate_hz, placed, total, first_pause)


def _join(stated: dict[str, Any]) -> Join:
    return Join(**{"gap_s": 0.0, **stated, "cut": Cut(stated["cut"])})


TOGETHER = {
    "programmes": programme_of,
    "joins": _join,
    "likenesses": lambda stated: Likeness(
        **{**stated, "stretches": tuple(Stretch(**each) for each in stated.get("stretches", ()))}
    ),
    "unlike_neighbours": tuple,
    "stem_sums": lambda stated: StemSum(**{**stated, "stems": tuple(stated["stems"])}),
}
"""Facts about discs, sides and neighbours: how each of a list is reported."""


def _approval_state(stated: dict[str, Any]) -> ApprovalState:
    """Hashes of the masters now, and the approval: by audio, and by label copy where that of a release is 'copied'."""
    given = stated.get("given")
    approval = None
    if given is not None:
        copied = copy_marks(release_of(given["copied"])) if "copied" in given else ()
        approval = Approval("I. Merrow", date(2026, 5, 12), tuple(given["audio_hashes"]), copied)
    hashes = dict(enumerate(stated["hashes"], start=1))
    return ApprovalState(approval, hashes, len(hashes))


def _fact(name: str, stated: Any) -> Reading:
    if isinstance(stated, dict) and "missing" in stated:
        return Reading.missing(stated["missing"])
    if name == "release":
        return Reading(release_of(stated))
    if name in TOGETHER:
        return Reading(tuple(TOGETHER[name](each) for each in stated))
    if name == "tags_read":
        return Reading(tuple(Item(**each) for each in stated))
    if name == "approval":
        return Reading(_approval_state(stated))
    if name == "artwork":
        whole = {
            "path": Path("/cover"),
            "kind": "",
            "width_px": 0,
            "height_px": 0,
            "mode": "",
            "size_bytes": 0,
            "place": "release.yaml:9",
        }
        named = {"path": Path(stated["path"])} if "path" in stated else {}
        return Reading(Artwork(**{**whole, "sha256": "", **stated, **named}))
    if name == "tracks":
        return Reading(
            tuple(
                (Track(number, Path(f"/{number}.wav"), ""), {key: _fact(key, value) for key, value in facts.items()})
                for number, facts in enumerate(stated, start=1)
            )
        )
    return Reading(tuple(stated) if isinstance(stated, list) else stated)
