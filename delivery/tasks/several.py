"""Several releases in one run: each by itself, in a steady order; one that cannot be used never stops the rest."""

from __future__ import annotations

import os
from collections.abc import Callable, Generator, Iterator, Sequence
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from threading import Lock

from delivery.absolute import absolute
from delivery.errors import DeliveryError, Occupied
from delivery.intake import load_release
from delivery.model.finding import Result
from delivery.model.part import Delivery
from delivery.model.release_state import ReleaseState
from delivery.pack.characters import key
from delivery.pack.names import folder_name
from delivery.pipeline.engine import Here, Share, in_order
from delivery.pipeline.options import Options
from delivery.pipeline.request import RELEASE_FILE, resolve_request
from delivery.pipeline.run import build, check
from delivery.pipeline.sources import Progress, quiet
from delivery.tasks.earlier import earlier_deliveries
from delivery.tasks.stores import delivered_before

BAG = "bagit.txt"
RECORDING = Lock()
"""Held while codes are compared with the ledger and recorded: of two releases built at once, one sees the other."""


def releases_of(paths: Sequence[Path]) -> tuple[Path, ...]:
    """The release files that *paths* name: each itself, or those in and below a folder, in order of their names.

    A folder without any stays as it is: its sound files are judged by their sound. Packages, hidden folders and links
    are not entered.
    """
    found = (release for path in paths for release in (release_files_below(path) if path.is_dir() else (path,)))
    return tuple(dict.fromkeys(found))


def release_files_below(folder: Path) -> tuple[Path, ...]:
    """The release files in and below *folder*, not below one another; the folder itself if there are none."""
    found = []
    for place, folders, files in os.walk(folder):
        if RELEASE_FILE in files and BAG not in files:
            found.append(Path(place) / RELEASE_FILE)
        is_end = RELEASE_FILE in files or BAG in files
        folders[:] = [] if is_end else [name for name in folders if not name.startswith(".")]
    return tuple(sorted(found)) or (folder,)


def check_each(
    releases: Sequence[Path], spec_names: tuple[str, ...] = (), options: Options | None = None
) -> Generator[ReleaseState]:
    """Check each release; states in the order of *releases*, each as soon as those before it are there.

    Releases run beside each other, and so do the songs of each: two hundred singles keep every core at work, and two
    albums too. Closing the iterator lets those that have begun end, and begins no other.
    """
    options = options or Options()
    alone, at_a_time = _alone(options)

    def work(path: Path) -> ReleaseState:
        return state_of(path, spec_names, alone)

    return _counted(
        in_order(work, releases, at_a_time, options.engine), len(releases), options.progress, "checking releases"
    )


def build_each(
    releases: Sequence[Path], into: Path | None, spec_names: tuple[str, ...] = (), options: Options | None = None
) -> Generator[ReleaseState]:
    """Build the package of each release, as `check_each` checks them; what has not changed is not built again.

    A release whose package would take the place of another one's is refused, also where packages are replaced.

    Parameters
    ----------
    into : folder for all packages; None: each beside its release file
    """
    options = options or Options()
    alone, at_a_time = _alone(options)

    def work(claim: tuple[Path, Path]) -> ReleaseState:
        path, first = claim
        return _guarded(path, lambda: _built(path, first, into, spec_names, alone))

    claims = _claims(releases, into)
    return _counted(
        in_order(work, claims, at_a_time, options.engine), len(releases), options.progress, "building releases"
    )


def _claims(releases: Sequence[Path], into: Path | None) -> Iterator[tuple[Path, Path]]:
    """Each release with the first of this run whose package has the same place and name: mostly itself."""
    first: dict[str, Path] = {}
    for path in releases:
        yield path, first.setdefault(_package_key(path, into), path)


def _package_key(path: Path, into: Path | None) -> str:
    """The place of its package, alike on file systems that do not distinguish upper and lower case."""
    try:
        package = (into or path.parent) / folder_name(load_release(path))
    except Exception:  # noqa: BLE001 - building it reports what is wrong
        return str(path)
    return key(str(absolute(package)))


def _alone(options: Options) -> tuple[Options, int]:
    """The options of each release by itself, and how many releases are worked on at a time.

    Here every release may take all of the machine, since others wait for their turn: the last one is not left to a
    single core.
    """
    share = Share(options.engine) if options.engine else Share(Here(options.workers), options.workers)
    alone = replace(options, workers=1, progress=quiet, engine=share)
    return alone, max(options.workers, share.whole.width // share.width)


def state_of(path: Path, spec_names: tuple[str, ...] = (), options: Options | None = None) -> ReleaseState:
    """Check one release; never raises for what is wrong with it."""
    return _guarded(path, lambda: _checked(path, spec_names, options or Options()))


def _checked(path: Path, spec_names: tuple[str, ...], options: Options) -> ReleaseState:
    request = resolve_request(path, spec_names)
    delivery = check(request, options)
    return replace(_state(path, delivery), notes=(*request.remarks, *delivered_before(delivery)))


def _built(path: Path, first: Path, into: Path | None, spec_names: tuple[str, ...], options: Options) -> ReleaseState:
    request = resolve_request(path, spec_names)
    into = into or request.release.path.parent
    if first != path:
        package = into / folder_name(request.release)
        remedy = "Give each its own catalogue number, title or revision, or a folder of its own."
        raise Occupied(str(package), f"the same name for the package of {first}", "one release for each name", remedy)
    known = earlier_deliveries(request.release, request.studio, specs=request.specs)
    built = build(request, into, replace(options, earlier=known))
    with RECORDING:
        notes = (*request.remarks, *delivered_before(built.delivery, None if built.unchanged else built.package))
    return replace(_state(path, built.delivery), package=built.package, unchanged=built.unchanged, notes=notes)


def _guarded(path: Path, work: Callable[[], ReleaseState]) -> ReleaseState:
    try:
        return work()
    except DeliveryError as error:
        return ReleaseState(path, _name(path), Result.UNUSABLE, problem=str(error))
    except Exception as error:  # noqa: BLE001 - one bad release never stops the others
        problem = f"found an error in the program itself ({type(error).__name__}: {error}). Please report it."
        return ReleaseState(path, _name(path), Result.UNUSABLE, problem=problem)


def _state(path: Path, delivery: Delivery) -> ReleaseState:
    from delivery.meters import figures
    from delivery.report.view.groups import groups_of
    from delivery.report.view.make import view_of

    view = view_of(delivery, figures())
    groups = groups_of(view.notices, view.remarks)
    release, is_release = delivery.release, path.suffix in (".yaml", ".yml")
    return ReleaseState(
        path,
        ": ".join(text for text in (release.artist, release.title) if text and is_release) or _name(path),
        delivery.result,
        to_settle=tuple(f"{item.tracks}: {item.text}" if item.tracks else item.text for item in groups.to_settle),
        questions=len(groups.questions),
        remarks=groups.remark_count,
        parts=len(delivery.parts),
        seconds=sum(one.measurement.value("duration_s") or 0.0 for one in delivery.sources if one.measurement),
    )


def _name(path: Path) -> str:
    return path.resolve().parent.name if path.name == RELEASE_FILE else path.name


def _counted(states: Generator[ReleaseState], total: int, progress: Progress, text: str) -> Generator[ReleaseState]:
    progress(text, 0, total)
    with closing(states):
        for done, state in enumerate(states, start=1):
            progress(text, done, total)
            yield state
