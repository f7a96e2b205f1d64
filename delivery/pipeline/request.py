"""Resolve a request: from a path and optional spec names to release, specs, studio and artwork."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from difflib import get_close_matches
from functools import cache
from pathlib import Path

from delivery.errors import DeliveryError, Faulty, Unusable
from delivery.intake import is_stale, load_release, load_specs, load_studio, look_at_artwork, spec_names
from delivery.intake.release.routes import check_routes
from delivery.meters import figures
from delivery.model.album import ALBUM_LOUDNESS
from delivery.model.release import Artwork, Release, Studio, Waiver
from delivery.model.spec import Requirement, Spec
from delivery.pipeline.sound_files import RELEASE_FILE as RELEASE_FILE
from delivery.pipeline.sound_files import bare_release as bare_release
from delivery.pipeline.sound_files import sound_files as sound_files
from delivery.rules import rules, unknown_waivers
from delivery.rules.bounds import bounded
from delivery.rules.feasible import ALWAYS


@dataclass(frozen=True, slots=True)
class Request:
    """Everything that is read before the work begins."""

    release: Release
    specs: tuple[Spec, ...]
    studio: Studio
    cover: Callable[[], tuple[Artwork | None, str]]
    """The cover, and why it cannot be used. It is inspected at the first call, which takes a third of a second."""
    remarks: tuple[str, ...] = ()
    """For the terminal only: a delivery does not depend on today's date."""


def resolve_request(
    path: str | Path,
    spec_names: tuple[str, ...] = (),
    *,
    waivers: tuple[Waiver, ...] = (),
    today: date | None = None,
) -> Request:
    """Read all text inputs; no picture and no audio is opened.

    Parameters
    ----------
    path : a release file, a folder that holds ``release.yaml``, or a sound file or folder of them
    spec_names : names or paths; empty: those of the release file, else the studio's own
    waivers : further waivers, from the command line
    today : for warnings about specs past their review date; None: no warnings

    Raises
    ------
    Faulty, Unusable : a text file has faults, there is nothing to work on, or no spec is named
    """
    path = Path(path)
    release_file = release_file_of(path)
    studio = load_studio(release_file or path)
    release = load_release(release_file) if release_file else bare_release(sound_files(path))
    accepted = (*release.accepted_titles, *studio.accepted_titles.get(release.artist, ()))
    release = replace(release, waivers=(*release.waivers, *waivers), accepted_titles=accepted)
    _refuse_unknown_rules(release, waivers)
    release = replace(
        release, waivers=tuple(one for one in release.waivers if one.revision in (None, release.revision))
    )
    named = spec_names or release.deliver_to or studio.default_specs
    if not named:
        raise Unusable(
            path.name or str(path),
            "no spec to judge by",
            "at least one spec name",
            "Name one with --spec (see 'delivery spec list'), in release.yaml under deliver_to, or in studio.yaml.",
        )
    folders = (release.path.parent, *studio.spec_folders)
    specs = load_specs(named, folders)
    _refuse_doubles(specs, path)
    specs = tuple(bounded(_as_approved(spec, release), numbers()) for spec in specs)
    ids = [spec.id for spec in specs]
    check_routes(release, ids, tuple(dict.fromkeys((*ids, *_ids_of(release, studio, folders)))))
    remarks = [_stale(spec, today) for spec in specs] if today else []
    if release_file is None:
        from delivery.pipeline.one_file import sound_only

        specs = tuple(sound_only(spec) for spec in specs)
        remarks.append("No release file: only the sound is judged, not label copy, artwork, names or the album.")
    else:
        remarks += _outside(release)
    remarks += [release.outdated, *(text for spec in specs for text in spec.outdated)]
    cover = cache(lambda: _artwork(release))
    return Request(release, specs, studio, cover, tuple(dict.fromkeys(text for text in remarks if text)))


def _as_approved(spec: Spec, release: Release) -> Spec:
    """*spec* with the requirement that audio and label copy are as approved, if *release* holds an approval."""
    if release.approval is None or "approved" in spec.required():
        return spec
    source, place = "the approval in the release file", release.place("approved")
    own = Requirement("approved", True, True, source, spec.checked, spec.id, place)
    return replace(spec, requirements=tuple(sorted((*spec.requirements, own), key=lambda one: one.rule)))


def _outside(release: Release) -> Iterator[str]:
    """Warn of masters outside the folder of the release file: an untrusted one may name any file."""
    folder = release.path.parent.resolve()
    named = [*(track.file for track in release.tracks), *([release.artwork] if release.artwork else [])]
    strays = [file for file in named if not file.resolve().is_relative_to(folder)]
    if strays:
        names = ", ".join(str(file) for file in strays[:3]) + (" ..." if len(strays) > 3 else "")
        count = f"{len(strays)} files" if len(strays) > 1 else "a file"
        yield f"The release file names {count} outside its folder: {names}."


def numbers() -> frozenset[str]:
    """Names of the scalar figures, album loudness included."""
    return frozenset(figure.name for figure in figures().values() if figure.digits is not None) | {ALBUM_LOUDNESS}


def _ids_of(release: Release, studio: Studio, folders: tuple[Path, ...]) -> Iterator[str]:
    """Spec ids to which a track may be routed; every spec that can be found if none is named for delivery."""
    named = (*release.deliver_to, *studio.default_specs)
    yield from (name.removesuffix(".yaml").removesuffix(".yml").rpartition("/")[2] for name in named)
    if not release.deliver_to:
        yield from (name for name, _ in spec_names(folders))


def release_file_of(path: Path) -> Path | None:
    """Path of the release file, or None if *path* is audio."""
    if path.is_dir():
        inside = path / RELEASE_FILE
        return inside if inside.exists() else None  # a pipe of that name is refused when it is read
    if not path.exists():
        raise Unusable(str(path), "nothing there", "a release file, a sound file or a folder", "Check the path.")
    return path if path.suffix.lower() in (".yaml", ".yml") else None


def _artwork(release: Release) -> tuple[Artwork | None, str]:
    if release.artwork is None:
        return None, ""
    try:
        return replace(look_at_artwork(release.artwork), place=release.place("artwork")), ""
    except DeliveryError as error:
        return None, f"{release.place('artwork')} artwork: {error}"


def _stale(spec: Spec, today: date) -> str | None:
    return is_stale(spec, today)


def _refuse_unknown_rules(release: Release, further: tuple[Waiver, ...]) -> None:
    """Refuse waivers and acceptances of rules that are unknown or cannot be waived or accepted.

    Parameters
    ----------
    further : waivers of the command line, after those of the release file

    Raises
    ------
    Faulty : all such entries together
    """
    stated = len(release.waivers) - len(further)
    faults = [
        _unwaivable(
            f"{release.place(f'waivers/{at}/rule')} waiver {at + 1}" if at < stated else "--waive",
            waiver.rule,
        )
        for at, waiver in enumerate(release.waivers)
        if unknown_waivers((waiver,))
    ]
    faults += [
        _unknown_rule(
            f"{release.place(f'accepted/{at}/rule')} accepted {at + 1}",
            acceptance.rule,
            "'delivery accept' writes such entries.",
        )
        for at, acceptance in enumerate(release.accepted)
        if acceptance.rule not in rules()
    ]
    if faults:
        raise Faulty(tuple(faults))


def _unwaivable(place: str, rule: str) -> Unusable:
    if rule in ALWAYS:
        return Unusable(
            place,
            f"a waiver for {rule!r}",
            "a waiver for what a spec requires",
            "No file can hold this, waived or not: use the remedy that 'delivery check' prints beside it.",
        )
    return _unknown_rule(place, rule, "Take the id from the rule column of the table that 'delivery check' prints.")


def _unknown_rule(place: str, rule: str, remedy: str) -> Unusable:
    near = get_close_matches(rule, rules(), n=1)
    hint = f"Did you mean {near[0]}? " if near else ""
    return Unusable(place, repr(rule), "the id of a rule", f"{hint}{remedy}")


def _refuse_doubles(specs: tuple[Spec, ...], path: Path) -> None:
    ids = [spec.id for spec in specs]
    for name in sorted({name for name in ids if ids.count(name) > 1}):
        raise Unusable(path.name, f"the spec {name!r} twice", "each spec once", "Remove one of them.")
