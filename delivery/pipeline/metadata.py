"""Tags and chunks of one delivered file: planned by the spec, written and read back."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from delivery.chain.stream import Master
from delivery.formats import containers
from delivery.formats.carried import Making, dress, dressed
from delivery.formats.embedding import columns_of
from delivery.model.carried import LABEL_COPY, Item, Passage, Positions
from delivery.model.carrier import Programme
from delivery.model.chain import Chain, StepKind
from delivery.model.figure import Measurement
from delivery.model.part import Source, TagReport
from delivery.model.release import Release
from delivery.model.spec import Spec
from delivery.pipeline.coding_history import coding_history
from delivery.tags.carry_chunks import POINTS, carry_points
from delivery.tags.fields import held, tag_values
from delivery.tags.guard import disk
from delivery.tags.keeping import Wish, may_stay, planned, unwanted

REQUIRED = {
    "loop_points": "loops",
    "adm_structure": "adm",
    "time_reference": "bext",
    "equal_time_references": "bext",
}
"""Spec key -> kind of tag or chunk that the rule checks in the delivered file."""


def predict(release: Release, spec: Spec, source: Source, chain: Chain) -> tuple[Passage, tuple[Item, ...]]:
    """Predict what becomes of the master's tags and chunks, and what the file will carry."""
    if spec.carrier:
        return _in_a_joined_file(spec, source), ()
    wish = _wish(release, spec, source, chain)
    passage = planned(source.carried, wish)
    return passage, (*passage.kept, *(_label_copy(wish, chain) if spec.embed_tags else ()))


def join_points(spec: Spec, programme: Programme, masters: Mapping[int, Master], file: Path) -> None:
    """Write the songs' cue points into the joined file of a disc or side, if the spec lets them through.

    Raises
    ------
    Unusable : unreadable chunks
    """
    if "cue_points" in spec.keep_chunks:
        placed = [(masters[song.position], song.begins) for song in programme.songs]
        moved = [(master.file, _positions(master.chain, begins)) for master, begins in placed]
        with disk(file):
            carry_points(moved, file)


def _in_a_joined_file(spec: Spec, source: Source) -> Passage:
    """Chunks of the file of a disc or side: cue points only."""
    items = tuple(dict.fromkeys(source.carried))
    kept = tuple(item for item in items if "cue_points" in spec.keep_chunks and item.place in POINTS)
    return Passage(kept, tuple(item for item in items if item not in kept))


def kinds_kept(release: Release, spec: Spec, source: Source, chain: Chain) -> frozenset[str]:
    """Kinds of the master's own tags and chunks that may be kept in the file."""
    ours = ({"bext"} if spec.embed_tags else set()) | ({"pictures"} if spec.embed_artwork else set())
    return _wish(release, spec, source, chain).keep | ours


def write(
    release: Release,
    spec: Spec,
    source: Source,
    chain: Chain,
    file: Path,
    cover: bytes | None,
    measurement: Measurement,
) -> tuple[TagReport, Passage]:
    """Write tags and chunks into the rendered *file*; return those read back and what became of the master's own.

    Raises
    ------
    Unusable : unreadable tags or chunks
    Unfinished : the disk fails
    """
    wish, making = _wish(release, spec, source, chain), _making(spec, chain)
    return dress(source.track.file, source.carried, file, making, wish, cover, measurement)


def read_again(
    release: Release,
    spec: Spec,
    source: Source,
    chain: Chain,
    file: Path,
    cover: bytes | None,
    measurement: Measurement,
) -> tuple[TagReport, Passage]:
    """What `write` returned for this very file; nothing is written. Raises as `write`."""
    wish, making = _wish(release, spec, source, chain), _making(spec, chain)
    return dressed(source.carried, file, making, wish, cover, measurement)


def decisive(release: Release, spec: Spec, source: Source, chain: Chain) -> tuple[object, ...]:
    """Everything that decides which tags and chunks are written, for a digest.

    Of label copy only what a tag format of the container stores: the rest changes no byte of the file.
    """
    wish, making = _wish(release, spec, source, chain), _making(spec, chain)
    columns = columns_of(making.container) if wish.embedded else ()
    stored = {column: held(wish.values, column) for column in columns}
    named = {name: wish.values.get(name, "") for name in ("isrc", "track_number") if wish.embedded}
    return making, wish.embedded, sorted(wish.keep), unwanted(source.carried, wish), stored, named


def _wish(release: Release, spec: Spec, source: Source, chain: Chain) -> Wish:
    history = coding_history(source, chain)
    values = tag_values(release, source.track) | ({"coding_history": history} if history else {})
    copied = chain.step(StepKind.COPY) is not None
    came = source.measurement.value("container") if source.measurement else ""
    made = containers().get(chain.target.container)
    keep = may_stay(
        spec.keep_tags,
        spec.keep_chunks,
        embedded=spec.embed_tags,
        made="copy" if copied else "new",
        same_container=came == chain.target.container,
        identical=chain.identical,
        chunked=made is not None and made.chunked,
        texts=made is not None and bool(made.tag_formats),
    )
    return Wish(values, spec.embed_tags, keep | _required(spec))


def _required(spec: Spec) -> set[str]:
    """Kinds that a requirement needs, kept whatever else the spec removes."""
    return {kind for key, kind in REQUIRED.items() if key in spec.required()}


def _making(spec: Spec, chain: Chain) -> Making:
    return Making(
        chain.target.container,
        copied=chain.step(StepKind.COPY) is not None,
        identical=chain.identical,
        positions=_positions(chain),
        id3_version=spec.id3_version,
    )


def _positions(chain: Chain, begins: int = 0) -> Positions:
    rate = chain.step(StepKind.RATE)
    return Positions(rate.settings["from_hz"] if rate else chain.target.rate_hz, chain.target.rate_hz, begins)


def _label_copy(wish: Wish, chain: Chain) -> list[Item]:
    """Fields to write in each tag format of the container."""
    return [
        Item(LABEL_COPY, column, text, name)
        for column in columns_of(chain.target.container)
        for name, text in held(wish.values, column).items()
        if column != "bext"
    ]
