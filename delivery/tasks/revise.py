"""New bounces become a revision: each is found its track, by sound first, then by name."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from delivery.absolute import absolute
from delivery.compare.changes import changes
from delivery.errors import DeliveryError, Unusable
from delivery.intake.begin.file_names import guess
from delivery.intake.release.revise import revised_text, stated_files, write_revised
from delivery.ledger.cache import MeasurementCache
from delivery.model.changes import Changes
from delivery.model.part import Delivery, Source
from delivery.model.release import Release
from delivery.model.track import Track
from delivery.pipeline.earlier import Earlier
from delivery.pipeline.likenesses import likeness_of
from delivery.pipeline.sources import Progress, quiet, take_in
from delivery.report.data.document import document
from delivery.tasks.master_home import Home, NewMaster, copied, homes

TOO_NEAR = 0.02
"""Two tracks whose likeness to a bounce differs by less are not distinguished: a song and its instrumental."""


@dataclass(frozen=True, slots=True)
class Replaced:
    """One new master and the track it belongs to."""

    track: Track
    """With its former file."""
    file: Path
    how: str
    """'by sound', 'by name ...', 'as stated'."""
    copied_to: Path | None = None
    """The master from now on, where *file* lay outside the release's folder; None: *file* itself is."""


@dataclass(frozen=True, slots=True)
class Revised:
    """What became of the release file."""

    replaced: tuple[Replaced, ...]
    before: int
    revision: int
    changes: Changes


def revise(
    release: Release,
    files: Sequence[Path],
    *,
    track: int | None = None,
    earlier: Sequence[Earlier] = (),
    cache: MeasurementCache | None = None,
    workers: int = 2,
    progress: Progress = quiet,
) -> Revised:
    """Find the track of each of *files*, write it into the release file as its master, and raise the revision.

    Parameters
    ----------
    track : position to which the only file belongs; None: found by its sound, then by its name
    earlier : known deliveries: a revision that was not delivered yet keeps its number

    Raises
    ------
    DeliveryError : files that cannot be read; nothing is written
    Unusable : a file that belongs to no track, or to two; nothing is written
    Unfinished : the release file or a copy cannot be written; nothing is changed
    """
    if track is not None and len(files) != 1:
        raise Unusable("--track", f"{len(files)} files", "one file for one track", "Revise one track at a time.")
    now = take_in(release.tracks, cache, workers, progress)
    bounces = [
        Track(position=at, file=absolute(file), title=guess(file.stem).title) for at, file in enumerate(files, start=1)
    ]
    new = take_in(bounces, cache, workers, progress)
    _refuse_unreadable(new)
    if track is None:
        found = [_placed(each, now) for each in new]
    else:
        found = [Replaced(_track(release, track), new[0].track.file, "as stated")]
    _refuse_twice(found)
    revision = _next(release.revision, earlier)
    at_home = _homes(found, release, new, revision)
    _refuse_the_same(found, at_home)
    stated = {one.track.position: home.stated for one, home in zip(found, at_home, strict=True)}
    text, revised = revised_text(release.path, stated, revision)
    with copied(at_home):
        after = take_in(revised.tracks, cache, workers, progress)
        until_now, then = _document(release, now), _document(revised, after)
        differing = changes(until_now, then, ("the masters until now", "the new ones"))
        write_revised(release.path, text)
    replaced = (
        replace(one, copied_to=home.path) if home.copied else one for one, home in zip(found, at_home, strict=True)
    )
    return Revised(tuple(replaced), release.revision, revision, differing)


def _homes(found: Sequence[Replaced], release: Release, new: Sequence[Source], revision: int) -> list[Home]:
    stated, bytes_of = stated_files(release.path), {each.track.file: each.sha256 for each in new}
    masters = [
        NewMaster(each.file, bytes_of[each.file], each.track.file, stated[each.track.position - 1]) for each in found
    ]
    return homes(masters, release.path.parent, revision)


def _document(release: Release, sources: tuple[Source, ...]) -> Mapping[str, object]:
    from delivery.model.release import Studio

    return document(Delivery(release, Studio(), (), sources, ()))


def _track(release: Release, position: int) -> Track:
    try:
        return release.track(position)
    except KeyError:
        wanted = f"a position from 1 to {len(release.tracks)}"
        raise Unusable("--track", str(position), wanted, "Count through all discs.") from None


def _next(revision: int, earlier: Sequence[Earlier]) -> int:
    """One more, unless earlier deliveries are known and this revision is none of them."""
    delivered = {each.revision for each in earlier}
    return revision if delivered and revision > max(delivered) else revision + 1


def _placed(bounce: Source, now: Sequence[Source]) -> Replaced:
    """The track whose sound it has; among equals, and where no sound is alike, the one whose title it bears.

    Raises
    ------
    Unusable : none, several, or sound and name contradict each other
    """
    file = bounce.track.file
    by_sound, by_name = _by_sound(bounce, now), _by_name(file, now)
    both = [each for each in by_sound if each in by_name]
    if len(by_sound) == 1 and (both or not by_name):
        return Replaced(by_sound[0].track, file, "by sound")
    if len(both) == 1:
        return Replaced(both[0].track, file, "by sound and name")
    if not by_sound and len(by_name) == 1:
        return Replaced(by_name[0].track, file, "by name: its sound is unlike the master until now")
    if by_sound and by_name and not both:
        found = f"the sound of {_listed(by_sound)}, the name of {_listed(by_name)}"
    else:
        found = f"a likeness to {_listed(by_sound or by_name)}" if by_sound or by_name else "no track like it"
    remedy = f"State it: delivery revise RELEASE '{file.name}' --track POSITION. Nothing was written."
    raise Unusable(file.name, found, "the sound or the name of one track", remedy)


def _by_sound(bounce: Source, now: Sequence[Source]) -> list[Source]:
    """The tracks it sounds most alike; several where the sound does not decide."""
    alike = [(each, found) for each in now if (found := likeness_of(each, bounce))]
    exact = [each for each, found in alike if found.exact]
    if exact:
        return exact
    best = max((found.correlation for _, found in alike), default=0.0)
    return [each for each, found in alike if found.correlation >= best - TOO_NEAR]


def _by_name(file: Path, now: Sequence[Source]) -> list[Source]:
    """The tracks whose title, or whose present file, the name bears; with the version, if it names one."""
    named = guess(file.stem)
    if file.name in (names := {each.track.file.name: each for each in now}):
        return [names[file.name]]
    titled = [each for each in now if _same(each.track.title, named.title) or _same(_title_in_file(each), named.title)]
    exact = [each for each in titled if _same(each.track.version, named.version)]
    return exact or titled


def _title_in_file(source: Source) -> str:
    return guess(source.track.file.stem).title


def _same(one: str, other: str) -> bool:
    letters = ["".join(filter(str.isalnum, text.casefold())) for text in (one, other)]
    return letters[0] == letters[1]


def _listed(sources: Sequence[Source]) -> str:
    return " and ".join(f"track {each.track.position}, {each.track.title!r}" for each in sources)


def _refuse_unreadable(new: Sequence[Source]) -> None:
    """Each problem is a whole message of its own."""
    problems = [each.problem for each in new if each.measurement is None]
    if problems:
        raise DeliveryError("\n".join([*problems, "Nothing was written."]))


def _refuse_twice(found: Sequence[Replaced]) -> None:
    for each in found:
        same = [other.file.name for other in found if other.track.position == each.track.position]
        if len(same) > 1:
            found_text = f"{' and '.join(same)} for track {each.track.position}, {each.track.title!r}"
            raise Unusable(
                same[0], found_text, "one new master for a track", "Name the right one. Nothing was written."
            )


def _refuse_the_same(found: Sequence[Replaced], at_home: Sequence[Home]) -> None:
    """A file that is its track's master already, byte for byte and by name, is no revision."""
    for each, home in zip(found, at_home, strict=True):
        if home.path == each.track.file and not home.copied and len(found) == 1:
            found_text = f"the master of track {each.track.position} already"
            remedy = "Name a new file; where it was replaced under its old name, raise 'revision' by hand."
            raise Unusable(each.file.name, found_text, "a new bounce", remedy)
