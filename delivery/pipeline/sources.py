"""Masters in, measurements out: cached, in parallel; a problem with one file does not stop the others."""

from __future__ import annotations

import time
from array import array
from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from delivery.audio.blocks import open_sound
from delivery.errors import DeliveryError, Unfinished, Unreadable
from delivery.ledger.file_state import file_sha256, is_unchanged, stamp
from delivery.meters import figures, measure, measure_blocks, measure_by, meters_version
from delivery.model.figure import Measurement, Reading
from delivery.model.source import Source
from delivery.model.speakers import usual

if TYPE_CHECKING:
    from delivery.audio.facts import SoundFacts
    from delivery.ledger.cache import MeasurementCache
    from delivery.meters.meter import Meter
    from delivery.model.carried import Item as CarriedItem
    from delivery.model.track import Track
    from delivery.pipeline.engine import Engine

Item = TypeVar("Item")
Made = TypeVar("Made")
Progress = Callable[[str, int, int], None]
"""Called with the current step, the number done and the total.

One that has a method ``began(step, name)`` is informed of each file as it is begun, from the thread that works on it.
"""
LONG_ROW = 300
"""Numbers in a row: rows by band and by second are shorter in an ordinary song, those for pictures and joins longer."""


def quiet(text: str, done: int, total: int) -> None:
    """A progress callback that does nothing."""


def side_by_side(
    work: Callable[[Item], Made],
    items: Sequence[Item],
    workers: int,
    text: str,
    progress: Progress,
    name: Callable[[Item], str] | None = None,
    meanwhile: Callable[[], object] | None = None,
) -> list[Made]:
    """Run *work* on every item in threads (the heavy parts release the GIL); results in the order of *items*.

    Parameters
    ----------
    name : of an item, for a *progress* that is informed of each
    meanwhile : called in this thread, which would only wait, when no item waits for a worker any more
    """
    began: Callable[[str, str], None] | None = getattr(progress, "began", None)
    if began is not None and name is not None:
        work = _noting(work, lambda item: began(text, name(item)))
    progress(text, 0, len(items))
    if len(items) == 1 and not meanwhile:  # one file is measured before the modules for threads are loaded
        made = [work(items[0])]
        progress(text, 1, 1)
        return made
    from concurrent.futures import ThreadPoolExecutor

    with ThreadPoolExecutor(max(1, workers)) as pool:
        futures = [pool.submit(work, item) for item in items]
        made = []
        try:
            for done, future in enumerate(futures):
                if meanwhile and done == max(0, len(items) - workers):
                    meanwhile()
                made.append(future.result())
                progress(text, done + 1, len(items))
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise
    return made


def _noting(work: Callable[[Item], Made], note: Callable[[Item], None]) -> Callable[[Item], Made]:
    def noted(item: Item) -> Made:
        note(item)
        return work(item)

    return noted


def take_in(
    tracks: Sequence[Track],
    cache: MeasurementCache | None,
    workers: int,
    progress: Progress = quiet,
    only: Collection[str] | None = None,
    *,
    with_tags: bool = True,
    also: Collection[type[Meter]] = (),
    engine: Engine | None = None,
    meanwhile: Callable[[], object] | None = None,
) -> tuple[Source, ...]:
    """Measure the master of every track; a file that cannot be used is a Source with a problem.

    Parameters
    ----------
    only : figures to keep, so that memory hardly grows with the number of files; None: all
    with_tags : read tags and chunks as well, as what is made of the files requires
    also : meters whose figures are added, in the same pass; on this machine alone
    engine : where files are measured; None: here
    meanwhile : called while the last files are measured
    """

    def work(track: Track) -> Source:
        source = _guarded(track, lambda: _measured(track, cache, with_tags, also, engine))
        if only is None or source.measurement is None:
            return source
        return replace(source, measurement=lean(source.measurement, only))

    width = engine.width if engine else workers
    name: Callable[[Track], str] = lambda track: track.file.name  # noqa: E731
    return tuple(side_by_side(work, tracks, width, "measuring masters", progress, name, meanwhile))


def take_in_figures(
    tracks: Sequence[Track],
    names: Collection[str],
    cache: MeasurementCache | None,
    workers: int,
    progress: Progress = quiet,
) -> tuple[Source, ...]:
    """As `take_in`, with the meters of these figures alone where a file was not measured before; nothing is hashed
    without a cache.
    """
    return tuple(
        side_by_side(
            lambda track: _guarded(track, lambda: _some_figures(track, names, cache)),
            tracks,
            workers,
            "measuring",
            progress,
        )
    )


def _some_figures(track: Track, names: Collection[str], cache: MeasurementCache | None) -> Source:
    sha256 = cache.sha256(track.file) if cache else ""
    version = f"{meters_version()}, some figures"
    for kept in (meters_version(), version):
        found = cache.get(sha256, kept) if cache else None
        if found is not None and found.keys() >= set(names):
            return Source(track, found, sha256)
    before = _state(track.file)
    found = measure(track.file, names)
    if _state(track.file) != before:
        raise Unreadable(track.file.name, "another file than a moment ago", "an unchanged file", "Wait for the copy.")
    if cache:
        cache.put(sha256, version, found)
    return Source(track, found, sha256)


def _state(file: Path) -> tuple[int, ...]:
    """What changes with the file; nothing where there is none, which measuring reports."""
    try:
        stat = file.stat()
    except OSError:
        return ()
    return stat.st_size, stat.st_mtime_ns, stat.st_ino


def lean(measurement: Measurement, names: Collection[str]) -> Measurement:
    """Keep only these figures, long rows as float64 arrays: 8 bytes a number, a tuple of floats takes 40."""
    return Measurement({name: _packed(reading) for name, reading in measurement.items() if name in names})


def _packed(reading: Reading) -> Reading:
    value = reading.value
    if isinstance(value, tuple) and len(value) >= LONG_ROW and all(type(number) is float for number in value):
        return Reading(array("d", value))
    return reading


def _guarded(track: Track, work: Callable[[], Source]) -> Source:
    """What *work* finds; a file that cannot be used is a Source with a problem."""
    try:
        return work()
    except Unfinished:
        raise
    except DeliveryError as error:
        return Source(track, None, problem=str(error))
    except Exception as error:  # noqa: BLE001 - one bad file never stops a batch
        return Source(track, None, problem=unexpected(track.file, error))


def _measured(
    track: Track,
    cache: MeasurementCache | None,
    with_tags: bool,
    also: Collection[type[Meter]],
    engine: Engine | None,
) -> Source:
    if engine and engine.is_local:
        sha256, measurement = engine.run(_measured_here, track.file, cache, also)
    elif engine:
        sha256, measurement = _measured_elsewhere(track.file, cache, engine)
    else:
        sha256, measurement = _measured_here(track.file, cache, also)
    doubled = _with_channel_copied(track, sha256, measurement, cache)
    return Source(track, measurement, sha256, carried=_items(track.file) if with_tags else (), doubled=doubled)


def _measured_here(
    file: Path, cache: MeasurementCache | None, also: Collection[type[Meter]] = ()
) -> tuple[str, Measurement]:
    """SHA-256 and figures, with those of the meters in *also*, which the cache keeps by themselves."""
    before, begun_ns = stamp(file), time.time_ns()
    sha256 = cache.sha256(file) if cache else file_sha256(file)
    added = {figure.name for meter in also for figure in meter.gives}
    wanted = {meters_version(): set(figures()), **({_version_with(added): added} if added else {})}
    parts = {version: _kept(cache, sha256, version, names) for version, names in wanted.items()}
    missing = [version for version, part in parts.items() if part is None]
    if missing:
        found = measure(file, also=also) if meters_version() in missing else measure_by(file, also)
        if not is_unchanged(file, before, begun_ns):  # reading it again would take a tenth of the time of measuring
            _check_unchanged(file, sha256)
        for version in missing:
            parts[version] = part = _part(found, wanted[version])
            if cache:
                cache.put(sha256, version, part)
    return sha256, Measurement({name: one for part in parts.values() if part for name, one in part.items()})


def _version_with(names: Collection[str]) -> str:
    """Under which figures of meters that are not registered are kept."""
    return f"{meters_version()}, {', '.join(sorted(names))}"


def _kept(cache: MeasurementCache | None, sha256: str, version: str, names: Collection[str]) -> Measurement | None:
    """What the cache has, if it has all of these figures."""
    found = cache.get(sha256, version) if cache else None
    return found if found is not None and found.keys() == names else None


def _part(measurement: Measurement, names: Collection[str]) -> Measurement:
    return Measurement({name: reading for name, reading in measurement.items() if name in names})


def _measured_elsewhere(file: Path, cache: MeasurementCache | None, engine: Engine) -> tuple[str, Measurement]:
    """The file is not read here; a worker does all of it, and what it finds is kept here."""
    location = engine.location(file)
    is_fetched = location != str(file)
    known = (cache.sha256(file) if is_fetched else cache.known_sha256(file)) if cache else None
    measurement = cache.get(known, meters_version()) if cache and known else None
    if known and measurement is not None and measurement.keys() == figures().keys():
        return known, measurement
    before, begun_ns = stamp(file), time.time_ns()
    sha256, measurement = engine.run(hashed_and_measured, location)
    if cache:
        cache.put(sha256, meters_version(), measurement)
        cache.note_sha256(file, before, sha256, begun_ns)
    return sha256, measurement


def hashed_and_measured(location: str) -> tuple[str, Measurement]:
    """All the work on one master, as a function of its path or address: SHA-256 of its bytes, and every figure.

    Raises
    ------
    Unreadable : it cannot be decoded to its end, or changed meanwhile
    """
    from delivery.pipeline.remote import at_hand  # not needed by a command for files of this machine

    with at_hand(location) as file:
        return _measured_here(file, None)


def _items(file: Path) -> tuple[CarriedItem, ...]:
    from delivery.formats.carried import items_of  # loads the readers of every container's tags

    return items_of(file)


def _with_channel_copied(
    track: Track, sha256: str, measurement: Measurement, cache: MeasurementCache | None
) -> Measurement | None:
    """Measurement of a mono master copied to both channels; None if it is not copied."""
    if track.mono_as != "both_channels" or measurement.value("channels") != 1:
        return None
    from delivery.chain.plan import COPIED
    from delivery.chain.render_steps import both_channels

    version = f"{meters_version()}, copied to both channels"
    found = cache.get(sha256, version) if cache else None
    if found is None or found.keys() != figures().keys():
        with open_sound(track.file, count=False) as sound:
            found = measure_blocks(_stereo(sound.facts), both_channels(sound.blocks()))
        if cache:
            cache.put(sha256, version, found)
    return found.with_readings({COPIED: Reading(True)})


def _stereo(facts: SoundFacts) -> SoundFacts:
    return replace(facts, channels=2, speakers=usual(2))


def _check_unchanged(file: Path, sha256: str) -> None:
    """Check that the file did not change while it was measured.

    Raises
    ------
    Unreadable : its bytes differ from those hashed before measuring
    """
    if file_sha256(file) != sha256:
        raise Unreadable(file.name, "other bytes than a moment ago", "an unchanged file", "Wait for the copy to end.")


def unexpected(file: Path, error: Exception) -> str:
    """One line for an unforeseen error; the rest of the job continues."""
    return f"{file.name}: found an unforeseen error ({type(error).__name__}: {error}). Please report it."
