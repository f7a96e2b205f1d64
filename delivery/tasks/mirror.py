"""Releases and files at addresses as ones on this machine, for a command that reads files more than once."""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from urllib.parse import quote

from delivery.errors import DeliveryError, Unfinished, Unreadable, Unusable
from delivery.intake import load_release
from delivery.intake.resolve_paths import composed
from delivery.pipeline.remote import below, fetch, is_address, name_of, parts_of, shown, suffix_of
from delivery.pipeline.sound_files import RELEASE_FILE, is_sound
from delivery.pipeline.sources import Progress, quiet, side_by_side

BAG = "bagit.txt"
YAML = (".yaml", ".yml")
COLLAPSED = re.compile(r"([A-Za-z][A-Za-z0-9+]+):/(?!/)(.+)")
"""An address after it was made a path, which has one slash where there were two."""


@dataclass(frozen=True, slots=True)
class Mirror:
    """A folder of fetched files; each lies at the place that its address names."""

    folder: Path
    fetched: dict[Path, str] = field(default_factory=dict)
    """Fetched file -> its address."""
    remarks: list[str] = field(default_factory=list)
    """What could not be fetched, and why."""

    def path_of(self, address: str) -> Path:
        """Path of the local copy of the file or folder at *address*, fetched or not."""
        return self.folder.joinpath(*parts_of(address))

    def address_of(self, path: Path, beside: str) -> str | None:
        """The address that the place *path* stands for; None outside this folder, or on another host than *beside*."""
        scheme, host, *_ = parts_of(beside)
        own = self.folder / scheme / host
        if not path.is_relative_to(own):
            return None
        rest = path.relative_to(own).as_posix()
        return f"{scheme}://{host}/{quote(rest) if scheme.startswith('http') else rest}"

    def fetch(self, address: str) -> Path:
        """Fetch the file at *address*, once.

        Raises
        ------
        Unreadable, Unusable, Unfinished : as `delivery.pipeline.remote.fetch`
        """
        path = self.path_of(address)
        if path not in self.fetched:
            path.parent.mkdir(parents=True, exist_ok=True)
            fetch(address, path)
            self.fetched[path] = address
        return path


def places_of(paths: Sequence[Path], *, remote: bool) -> list[str | Path]:
    """*paths* as given on a command line, addresses as text.

    Raises
    ------
    Unusable : an address without *remote*, or one of a kind that is not read
    """
    places = [_address_in(path) or path for path in paths]
    for place in places:
        if isinstance(place, str) and not remote:
            remedy = "Add --remote to read files of other machines; they are fetched, and nothing is written there."
            raise Unusable(shown(place), "an address of another machine", "a path", remedy)
    return places


def mirrored(places: Sequence[str | Path], mirror: Mirror, workers: int = 2, progress: Progress = quiet) -> list[Path]:
    """*places* as paths: what a check reads at each address is fetched into *mirror*.

    Of a release file these are the files that it names and the other YAML files beside it; of a folder all its
    releases, or all its sound files if it has none. One that cannot be fetched becomes a remark.

    Raises
    ------
    Unreadable, Unusable : nothing at an address, no permission, or a library is missing
    Unfinished : the disk is full
    """
    found = [(place, _wanted(place, mirror) if isinstance(place, str) else []) for place in places]

    def work(address: str) -> None:
        try:
            mirror.fetch(address)
        except Unfinished:
            raise
        except DeliveryError as problem:
            mirror.remarks.append(str(problem))

    wanted = list(dict.fromkeys(address for _, addresses in found for address in addresses))
    side_by_side(work, wanted, workers, "fetching files", progress)
    mirror.remarks.sort()
    return [mirror.path_of(place) if isinstance(place, str) else place for place in places]


def _address_in(path: Path) -> str | None:
    text = path.as_posix()
    matched = COLLAPSED.fullmatch(text)
    if matched is None or os.path.lexists(path):
        return None
    address = f"{matched[1].lower()}://{matched[2]}"
    return address if is_address(address) else None


def _wanted(address: str, mirror: Mirror) -> list[str]:
    if suffix_of(address) in YAML:
        return _of_release(address, mirror)
    if is_sound(Path(name_of(address))):
        return [address]
    inside = below(address)
    bags = {str(PurePosixPath(name).parent) for name in inside if PurePosixPath(name).name == BAG}
    kept = {name: at for name, at in inside.items() if not bags.intersection(map(str, PurePosixPath(name).parents))}
    releases = [at for name, at in kept.items() if PurePosixPath(name).name == RELEASE_FILE]
    if releases:
        return [wanted for at in releases for wanted in _of_release(at, mirror)]
    sounds = [at for name, at in kept.items() if is_sound(Path(name))]
    if not sounds:
        raise Unusable(shown(address), "no sound file", "WAV, AIFF, FLAC or listening copies", "Check the address.")
    return sounds


def _of_release(address: str, mirror: Mirror) -> list[str]:
    """What a release file names; one with faults names nothing, and the check reports them."""
    path, beside = mirror.fetch(address), address.rpartition("/")[0]
    try:
        others = below(beside)
    except Unreadable:  # HTTP without a list of files
        others = {}
    by_place = {composed(str(mirror.path_of(at))): at for at in others.values()}
    yaml = [at for name, at in others.items() if "/" not in name and suffix_of(at) in YAML]
    try:
        release = load_release(path)
    except DeliveryError:
        return yaml
    named = [*(track.file for track in release.tracks), *([release.artwork] if release.artwork else [])]
    found = (by_place.get(composed(str(file))) or mirror.address_of(file, address) for file in map(_normal, named))
    return [*yaml, *(at for at in found if at)]


def _normal(path: Path) -> Path:
    """Without steps upwards, as an address has none; links are not followed."""
    return Path(os.path.normpath(path))
