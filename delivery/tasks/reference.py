"""Reference playlists: measured once, kept as figures, and songs set beside them."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from delivery.compare.bands import bar_seconds, habits_of, places_of
from delivery.compare.reference import beside, marks_of, together, track_of
from delivery.dsp.spectrum.band_levels import STEP_S
from delivery.errors import Occupied, Unusable
from delivery.intake.reference_file import (
    SUFFIX,
    did_you_mean,
    load_reference,
    reference_names,
    reference_path,
    references_folder,
    save_reference,
)
from delivery.meters import meters_version
from delivery.model.reference import Beside, Mark, Place, Reference, ReferenceComparison, ReferenceTrack
from delivery.model.sections import Section, stated_sections
from delivery.pipeline.album import programme_totals
from delivery.pipeline.sound_files import bare_tracks, sound_files
from delivery.pipeline.sources import Progress, quiet, take_in
from delivery.report.view.words import in_command
from delivery.tasks.band_levels import OctavesOverTime, bands_of
from delivery.tasks.stated import songs_of

if TYPE_CHECKING:
    from delivery.ledger.cache import MeasurementCache
    from delivery.model.release import Release
    from delivery.model.source import Source
    from delivery.model.track import Track

__all__ = ["compare_with_reference", "load_reference", "marks_of", "reference_names", "references_folder"]


@dataclass(frozen=True, slots=True)
class Kept:
    """A reference after a change, as it was written."""

    reference: Reference
    path: Path
    marks: Mapping[str, tuple[Mark, ...]]
    """Of the tracks that are in it, by file."""
    left_out: Mapping[str, tuple[Mark, ...]]
    """Marked tracks that were not taken."""
    problems: tuple[str, ...] = ()
    """Of files that cannot be used, and of sound that was there twice."""


def make_reference(
    name: str,
    paths: Sequence[Path],
    cache: MeasurementCache | None = None,
    *,
    leave_out_marked: bool = False,
    replace_old: bool = False,
    workers: int = 2,
    progress: Progress = quiet,
) -> Kept:
    """Measure these sound files, and all in these folders, and keep the figures under *name*.

    Raises
    ------
    Occupied : there is one of that name, and *replace_old* is False
    Unusable : no sound file there, none that can be used, or an impossible name
    Unfinished : it cannot be written
    """
    path = reference_path(name)
    if path.exists() and not replace_old:
        raise Occupied(
            f"reference {name!r}", "one of that name", "a name that is not used yet", "Use --replace to make it again."
        )
    tracks, problems = _measured(paths, cache, workers, progress)
    return _keep(Reference(name, ()), tracks, problems, leave_out_marked=leave_out_marked)


def add_to_reference(
    name: str,
    paths: Sequence[Path],
    cache: MeasurementCache | None = None,
    *,
    leave_out_marked: bool = False,
    workers: int = 2,
    progress: Progress = quiet,
) -> Kept:
    """Measure these files and add them to the reference; a file of the same name takes the older one's place.

    Raises as ``make_reference``, and where there is no reference of that name.
    """
    reference_path(name)  # a kept one, not a file elsewhere
    reference = load_reference(name)
    tracks, problems = _measured(paths, cache, workers, progress)
    return _keep(reference, tracks, problems, leave_out_marked=leave_out_marked)


def remove_from_reference(name: str, files: Sequence[str]) -> Kept:
    """The reference without these tracks, each by its name, with or without folder and ending.

    Raises
    ------
    Unusable : no such reference or track; nothing is removed
    """
    reference_path(name)  # a kept one, not a file elsewhere
    reference = load_reference(name)
    gone = [_track_called(file, reference) for file in files]
    rest = replace(reference, tracks=tuple(track for track in reference.tracks if track not in gone))
    return Kept(rest, save_reference(rest), marks_of(rest.tracks), {})


def _track_called(file: str, reference: Reference) -> ReferenceTrack:
    tracks = reference.tracks
    found = [track for track in tracks if file in _names(track)]
    if len(found) == 1:
        return found[0]
    hint = "" if found else did_you_mean(file, (name for track in tracks for name in _names(track)))
    raise Unusable(
        f"reference {reference.name!r}",
        f"{len(found)} tracks called {file!r}" if found else f"no track {file!r}",
        "the name of one track",
        hint or f"See: delivery reference show {in_command(reference.name)}",
    )


def _names(track: ReferenceTrack) -> tuple[str, str, str]:
    return Path(track.file).stem, Path(track.file).name, track.file


def remove_reference(name: str) -> None:
    """Delete the reference *name*.

    Raises
    ------
    Unusable : there is none
    """
    path = reference_path(name)
    if not path.is_file():
        load_reference(name)
    path.unlink()


def older_tracks(reference: Reference) -> tuple[str, ...]:
    """Files whose figures other versions of the meters gave."""
    return tuple(track.file for track in reference.tracks if track.meters != meters_version())


def compare_with_reference(
    paths: Sequence[Path],
    name: str,
    cache: MeasurementCache | None = None,
    *,
    leave_out_marked: bool = False,
    workers: int = 2,
    progress: Progress = quiet,
) -> ReferenceComparison:
    """One song or several, as an album, beside a reference.

    Parameters
    ----------
    paths : sound files, folders of them, or release files
    name : of a kept reference, or the path of its JSON file

    Raises
    ------
    Unusable : no such reference, no track left in it, no song, or none that can be used
    """
    whole = load_reference(name)
    marks = marks_of(whole.tracks)
    left_out = tuple(marks) if leave_out_marked else ()
    _some_left(whole, left_out, "every track left out")
    release = songs_of(paths)
    sources = _take_in(release.tracks, cache, workers, progress)
    usable = tuple(source for source in sources if source.measurement)
    if not usable:
        raise Unusable(str(paths[0]), sources[0].problem, "a song that can be measured", "Check the file.")
    hashes = {source.measurement.value("audio_hash") for source in usable if source.measurement} - {None, ""}
    same = tuple(track.file for track in whole.tracks if track.audio_hash in hashes and track.file not in left_out)
    reference = _some_left(whole, (*left_out, *same), "no other track than the song itself")
    figures = [_figures(source) for source in usable]
    rows = zip(usable, figures, strict=True)
    songs = tuple(_with_places(beside(row[0].track.title, row[1], reference), *row, reference) for row in rows)
    kept = {track.file for track in reference.tracks}
    return ReferenceComparison(
        reference,
        {file: own for file, own in marks.items() if file in kept},
        left_out,
        older_tracks(reference),
        songs,
        _album(release, usable, figures, reference),
        tuple(source.problem for source in sources if source.problem),
        same,
        Path(name).name if name.endswith(SUFFIX) else whole.name,
    )


def _some_left(reference: Reference, left_out: Collection[str], why_none: str) -> Reference:
    """The reference without these tracks.

    Raises
    ------
    Unusable : it has no other
    """
    rest = tuple(track for track in reference.tracks if track.file not in left_out)
    if not rest:
        found = why_none if reference.tracks else "no track"
        remedy = f"Add some: delivery reference add {in_command(reference.name)} FILES"
        raise Unusable(f"reference {reference.name!r}", found, "one track at least", remedy)
    return replace(reference, tracks=rest)


def _take_in(
    tracks: Sequence[Track], cache: MeasurementCache | None, workers: int, progress: Progress
) -> tuple[Source, ...]:
    return take_in(tracks, cache, workers, progress, with_tags=False, also=[OctavesOverTime])


def _with_places(song: Beside, source: Source, figures: Mapping[str, Any], reference: Reference) -> Beside:
    """Add where its bands depart over time; unchanged if that cannot be decided."""
    bands = bands_of(source.measurement) if source.measurement else None
    if bands is None:
        return song
    bpm, length_s = source.track.bpm, figures["duration_s"] or 0.0
    bar_s = bar_seconds(bpm)
    habits = [track.habits for track in reference.tracks]
    places = places_of(bands.levels_db, bands.middles_hz, STEP_S, figures["integrated_lufs"], habits, bar_s)
    stated = stated_sections(source.track.sections, length_s)
    return replace(song, places=tuple(_within(place, stated) for place in places), bar_s=bar_s, bpm=bpm)


def _within(place: Place, stated: Sequence[Section]) -> Place:
    """*place* with the name of the stated section in which it begins."""
    name = next((each.name for each in stated if each.start_s <= place.at_s < each.end_s), "")
    return replace(place, section=name)


def _album(
    release: Release, sources: tuple[Source, ...], figures: Sequence[Mapping[str, Any]], reference: Reference
) -> Beside | None:
    if len(sources) < 2:
        return None
    return beside(release.title, together(figures, programme_totals(sources).integrated_lufs), reference)


def _figures(source: Source) -> Mapping[str, Any]:
    assert source.measurement is not None
    return track_of(source.track.file.name, source.measurement, "").figures


def _measured(
    paths: Sequence[Path], cache: MeasurementCache | None, workers: int, progress: Progress
) -> tuple[list[ReferenceTrack], list[str]]:
    """Every sound file as a track, and what is wrong with those that cannot be used."""
    named = [(file, _name_below(file, path)) for path in paths for file in sound_files(path)]
    sources = _take_in(bare_tracks([file for file, _ in named]), cache, workers, progress)
    tracks, problems = [], []
    for source, (_, name) in zip(sources, named, strict=True):
        if source.measurement is None:
            problems.append(source.problem)
        elif source.measurement.value("integrated_lufs") is None:
            problems.append(f"{name}: {source.measurement['integrated_lufs'].why_missing}; it is left out.")
        else:
            lufs = source.measurement.value("integrated_lufs")
            bands = bands_of(source.measurement)
            habits = habits_of(bands.levels_db, bands.middles_hz, STEP_S, lufs) if bands else ()
            tracks.append(track_of(name, source.measurement, meters_version(), habits))
    return tracks, problems


def _name_below(file: Path, folder: Path) -> str:
    return file.name if file == folder else file.relative_to(folder).as_posix()


def _keep(
    reference: Reference, new: Sequence[ReferenceTrack], problems: Iterable[str], *, leave_out_marked: bool
) -> Kept:
    tracks, twice = _joined(reference.tracks, new)
    marks = marks_of(tracks)
    names = {track.file for track in new}
    left_out = {file: own for file, own in marks.items() if leave_out_marked and file in names}
    kept = tuple(track for track in tracks if track.file not in left_out)
    if not kept:
        found = "no track that is not marked" if left_out else "no file that can be used"
        raise Unusable(
            f"reference {reference.name!r}", "; ".join([found, *problems]), "one track at least", "Nothing was written."
        )
    whole = Reference(reference.name, kept)
    return Kept(whole, save_reference(whole), marks_of(kept), left_out, (*problems, *twice))


def _joined(
    old: Sequence[ReferenceTrack], new: Sequence[ReferenceTrack]
) -> tuple[tuple[ReferenceTrack, ...], list[str]]:
    """Old tracks, then new ones; the same sound is taken once, and a new file of an old name takes its place."""
    names = {track.file for track in new}
    tracks = [track for track in old if track.file not in names]
    twice = []
    for track in new:
        same = next((one for one in tracks if one.audio_hash and one.audio_hash == track.audio_hash), None)
        if same:
            twice.append(f"{track.file}: the same sound as {same.file}; it is used once.")
        else:
            tracks.append(track)
    return tuple(tracks), twice
