"""Source, Part, Delivery: what came in, what goes out, and the whole of a job for the reports."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from delivery.model.album import Join, Likeness
from delivery.model.carrier import Programme
from delivery.model.chain import Chain, Target
from delivery.model.figure import Measurement
from delivery.model.finding import Finding, Result, worst
from delivery.model.release import Artwork, Release, Studio, Track
from delivery.model.spec import Spec
from delivery.model.unconfirmed import Unconfirmed, unconfirmed


@dataclass(frozen=True, slots=True)
class Source:
    """A master as it arrived."""

    track: Track
    measurement: Measurement | None
    """None when the file could not be used; then ``problem`` says why."""
    sha256: str = ""
    """Of the file's bytes; empty when it could not be read."""
    problem: str = ""


@dataclass(frozen=True, slots=True)
class TagReport:
    """What was read back from a written file."""

    written: Mapping[str, str]
    """Field id -> text as read back."""
    no_home: tuple[str, ...] = ()
    """Fields this container cannot hold."""
    differs: tuple[str, ...] = ()
    """'title: wrote X, reads Y' for everything that did not survive."""


@dataclass(frozen=True, slots=True)
class Shipped:
    """A file that was written, closed, opened again and measured again."""

    path: str
    """Inside the package, '/' between folders: 'data/cd-rate-16/01 Title.wav'."""
    size_bytes: int
    sha256: str
    md5: str
    measurement: Measurement
    tags: TagReport


@dataclass(frozen=True, slots=True)
class Part:
    """One deliverable of one track for one spec: planned (``shipped`` None) or written."""

    spec: str
    track: int
    """Position on the release."""
    chain: Chain | None
    """None when the source could not be used."""
    findings: tuple[Finding, ...]
    name: str = ""
    """File name the spec's template gives."""
    shipped: Shipped | None = None
    problem: str = ""
    """Why nothing could be made, when that is not a finding (unreadable source, disk)."""
    inside: str = ""
    """Path of the continuous file of a disc or side that holds this song; then there is no file of its own."""

    @property
    def result(self) -> Result:
        found = [finding.result for finding in self.findings]
        return worst([*found, Result.UNUSABLE] if self.problem else found)


@dataclass(frozen=True, slots=True)
class Image:
    """One continuous file of a carrier's disc or side: laid out, or written (``shipped``)."""

    programme: Programme
    target: Target
    name: str
    """File name the spec's template gives."""
    findings: tuple[Finding, ...] = ()
    """About the file as it ships."""
    shipped: Shipped | None = None
    song_hashes: tuple[str, ...] = ()
    """Audio hash of each song, cut out of the written file again; in the programme's order."""
    problem: str = ""

    @property
    def spec(self) -> str:
        return self.programme.spec

    @property
    def result(self) -> Result:
        found = [finding.result for finding in self.findings]
        return worst([*found, Result.UNUSABLE] if self.problem else found)


@dataclass(frozen=True, slots=True)
class Delivery:
    """Everything the reports may tell of one check or build."""

    release: Release
    studio: Studio
    specs: tuple[Spec, ...]
    sources: tuple[Source, ...]
    """In track order, one for each track of the release."""
    parts: tuple[Part, ...]
    """By spec, then track."""
    findings: tuple[Finding, ...] = ()
    """About the release itself, for each spec."""
    artwork: Artwork | None = None
    artwork_problem: str = ""
    remarks: tuple[str, ...] = ()
    """Plain sentences for the reader: a stale spec, a cache set aside."""
    version: str = ""
    """Of this program."""
    built: bool = False
    """True for a build: a part without ``shipped`` was refused. False for a check: nothing was to be written."""
    album: Mapping[str, float] = field(default_factory=dict)
    """Figures of the album as one programme: integrated_lufs, duration_s, true_peak_dbtp."""
    images: tuple[Image, ...] = ()
    """Continuous files of the specs that have a carrier, by spec, then disc or side."""
    joins: tuple[Join, ...] = ()
    """What the sound says at each cut between neighbours, in track order."""
    likenesses: tuple[Likeness, ...] = ()
    """Pairs of tracks that sound like one recording."""
    unnamed: tuple[str, ...] = ()
    """Sound files beside the masters that no track names."""

    def of_spec(self, spec: str) -> tuple[Part, ...]:
        return tuple(part for part in self.parts if part.spec == spec)

    def images_of(self, spec: str) -> tuple[Image, ...]:
        return tuple(image for image in self.images if image.spec == spec)

    def spec_result(self, spec: str) -> Result:
        parts = [part.result for part in self.of_spec(spec)] + [image.result for image in self.images_of(spec)]
        guesses = [Result.SHORT] if self.unconfirmed else []
        return worst([*parts, *(f.result for f in self.findings if f.spec == spec), *guesses])

    @property
    def unconfirmed(self) -> tuple[Unconfirmed, ...]:
        """Values taken from folder and file names that nobody has confirmed: nothing is built before."""
        return unconfirmed(self.release)

    @property
    def result(self) -> Result:
        return worst(self.spec_result(spec.id) for spec in self.specs)
