"""Part, Delivery: the deliverables, and a whole job for the reports."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from delivery.model.carried import Item, Passage
from delivery.model.finding import Finding, Result, worst
from delivery.model.grouped import grouped
from delivery.model.source import Source as Source
from delivery.model.unconfirmed import Unconfirmed, unconfirmed

if TYPE_CHECKING:
    from delivery.model.album import Join, Likeness
    from delivery.model.carrier import Programme
    from delivery.model.chain import Chain, Target
    from delivery.model.changes import Changes
    from delivery.model.figure import Measurement
    from delivery.model.release import Artwork, Release, Studio
    from delivery.model.spec import Spec


@dataclass(frozen=True, slots=True)
class TagReport:
    """What was read back from a written file."""

    written: Mapping[str, str]
    """Field id -> text as read back."""
    not_stored: tuple[str, ...] = ()
    """Fields this container cannot hold."""
    differs: tuple[str, ...] = ()
    """'title: wrote X, reads Y' for each text that was not read back identically."""
    notes: tuple[str, ...] = ()
    """How texts were stored if readers may differ about it."""


@dataclass(frozen=True, slots=True)
class Shipped:
    """A file that was written, closed, read again and measured again."""

    path: str
    """Inside the package, '/' as separator: 'data/cd-rate-16/01 Title.wav'."""
    size_bytes: int
    sha256: str
    md5: str
    measurement: Measurement
    tags: TagReport
    carried: tuple[Item, ...] = ()
    """Tags, chunks and pictures in it, as read back."""
    blake3: str = ""
    """Of its bytes, on no paper: five times as fast to check as SHA-256, and as strong; empty: not known."""


@dataclass(frozen=True, slots=True)
class Part:
    """One deliverable of one track for one spec: planned (``shipped`` None) or written."""

    spec: str
    track: int
    """Position on the release."""
    chain: Chain | None
    """None if the source could not be used."""
    findings: tuple[Finding, ...]
    name: str = ""
    """File name from the spec's template."""
    shipped: Shipped | None = None
    problem: str = ""
    """Why nothing could be made, if that is not a finding (unreadable source, disk)."""
    unsettled: tuple[str, ...] = ()
    """Spec keys of requirements whose predicted figures are so near a limit that only the finished file can answer."""
    inside: str = ""
    """Path of the continuous file of a disc or side that holds this song, which then has no file of its own."""
    stream: tuple[int, ...] = ()
    """Positions of the songs made in one piece with it, itself included; empty: it is made separately."""
    lenders: tuple[int | None, int | None] = (None, None)
    """Positions of adjacent songs of another rate without a gap, used as context in its conversion."""
    passage: Passage = field(default_factory=Passage)
    """What becomes of the master's tags and chunks: predicted, or as read back from the written file."""

    @property
    def result(self) -> Result:
        """The worst result of its checks; unusable if it could not be made."""
        found = {finding.result for finding in self.findings}
        return worst({*found, Result.UNUSABLE} if self.problem else found)


@dataclass(frozen=True, slots=True)
class Image:
    """One continuous file of a carrier's disc or side: planned, or written (``shipped``)."""

    programme: Programme
    target: Target
    name: str
    """File name from the spec's template."""
    findings: tuple[Finding, ...] = ()
    """Findings about the shipped file."""
    shipped: Shipped | None = None
    song_hashes: tuple[str, ...] = ()
    """Audio hash of each song, cut out of the written file again; in the programme's order."""
    problem: str = ""

    @property
    def spec(self) -> str:
        """Id of its spec."""
        return self.programme.spec

    @property
    def result(self) -> Result:
        """The worst result of its checks."""
        found = [finding.result for finding in self.findings]
        return worst([*found, Result.UNUSABLE] if self.problem else found)


def sources_for(release: Release, sources: tuple[Source, ...], *, doubled: bool = False) -> tuple[Source, ...]:
    """Those of *sources* whose track is on *release*, each with the track as *release* has it.

    Parameters
    ----------
    doubled : use the copied measurement of mono masters that may be copied to both channels
    """
    by_position = {source.track.position: source for source in sources}
    found = (replace(by_position[track.position], track=track) for track in release.tracks)
    return tuple(replace(one, measurement=one.doubled) if doubled and one.doubled else one for one in found)


def unapproved(release: Release, sources: Iterable[Source]) -> tuple[Source, ...]:
    """Those of *sources* that the release file's approval does not cover; all if there is none."""
    given = release.approval
    return tuple(one for one in sources if given is None or not given.covers(one.track.position, one.audio_hash))


@dataclass(frozen=True, slots=True)
class Selection:
    """The release as some specs receive it, and its tracks as one programme. Tracks may be left out (``not_for``)."""

    specs: tuple[str, ...]
    """Ids of the specs that receive these tracks and no others."""
    release: Release
    """From `release_for`."""
    album: Mapping[str, float]
    """As in `Delivery`."""
    joins: tuple[Join, ...]
    likenesses: tuple[Likeness, ...]
    doubled: bool = False
    """Mono masters are copied to both channels there."""


def _names(remark: str, name: str) -> bool:
    """Whether *name* stands in *remark* as a whole: 'cd' does not in 'cd-rate-16'."""
    return bool(re.search(rf"(?<![\w-]){re.escape(name)}(?![\w-])", remark))


@dataclass(frozen=True, slots=True)
class Delivery:
    """Data of one check or build for all reports."""

    release: Release
    studio: Studio
    specs: tuple[Spec, ...]
    sources: tuple[Source, ...]
    """In track order, one for each track that any of the specs receives."""
    parts: tuple[Part, ...]
    """By spec, then track."""
    findings: tuple[Finding, ...] = ()
    """About the release itself, for each spec."""
    artwork: Artwork | None = None
    artwork_problem: str = ""
    remarks: tuple[str, ...] = ()
    """Plain sentences for the reader: a stale spec, a cache set aside."""
    version: str = ""
    """Version of this program."""
    built: bool = False
    """True for a build: a part without ``shipped`` was refused. False for a check: nothing was to be written."""
    album: Mapping[str, float] = field(default_factory=dict)
    """Figures of the album as one programme: integrated_lufs, duration_s, true_peak_dbtp. Empty if a track could not be
    measured, or if no spec receives the whole release."""
    images: tuple[Image, ...] = ()
    """Continuous files of the specs that have a carrier, by spec, then disc or side."""
    joins: tuple[Join, ...] = ()
    """Continuity at each cut between neighbours, in track order."""
    likenesses: tuple[Likeness, ...] = ()
    """Pairs of tracks of one recording."""
    unnamed: tuple[str, ...] = ()
    """Audio files beside the masters that no track names."""
    selections: tuple[Selection, ...] = ()
    """The release as each spec receives it, one for all specs with the same tracks, by spec."""
    changes: Changes | None = None
    """What differs from an earlier delivery of the release; None if none is known."""
    _sources: Mapping[int, Source] = field(init=False, repr=False, compare=False)
    _parts: Mapping[int, tuple[Part, ...]] = field(init=False, repr=False, compare=False)
    """By position, found once: each track would search those of all others again."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "_sources", {source.track.position: source for source in self.sources})
        object.__setattr__(self, "_parts", grouped(self.parts, lambda part: part.track))

    def for_spec(self, spec: str) -> Delivery:
        """This delivery as *spec* receives it: its own tracks and numbers, and the specs that receive the same ones.

        The delivery itself if all specs receive every track.
        """
        own = next((each for each in self.selections if spec in each.specs), None)
        if own is None or (len(self.selections) == 1 and own.release.tracks == self.release.tracks and not own.doubled):
            return self
        return replace(
            self,
            release=own.release,
            specs=tuple(each for each in self.specs if each.id in own.specs),
            sources=sources_for(own.release, self.sources, doubled=own.doubled),
            parts=tuple(part for part in self.parts if part.spec in own.specs),
            images=tuple(image for image in self.images if image.spec in own.specs),
            findings=tuple(finding for finding in self.findings if finding.spec in own.specs),
            album=own.album,
            joins=own.joins,
            likenesses=own.likenesses,
            selections=(own,),
            changes=None,  # they are of all tracks
        )

    def only(self, specs: Collection[str]) -> Delivery:
        """What concerns these specs, and nothing of the others; the tracks and their numbers stay."""
        others = [name for spec in self.specs if spec.id not in specs for name in (spec.id, spec.title)]
        waivers = tuple(each for each in self.release.waivers if each.spec is None or each.spec in specs)
        return replace(
            self,
            release=replace(self.release, waivers=waivers),
            remarks=tuple(remark for remark in self.remarks if not any(_names(remark, name) for name in others)),
            specs=tuple(each for each in self.specs if each.id in specs),
            parts=tuple(part for part in self.parts if part.spec in specs),
            images=tuple(image for image in self.images if image.spec in specs),
            findings=tuple(finding for finding in self.findings if finding.spec in specs),
            changes=self.changes and self.changes.for_specs(specs),
            selections=tuple(
                replace(each, specs=tuple(spec for spec in each.specs if spec in specs))
                for each in self.selections
                if set(each.specs) & set(specs)
            ),
        )

    def source(self, position: int) -> Source:
        """The master of the track at *position* of the release file."""
        return self._sources[position]

    def of_track(self, position: int) -> tuple[Part, ...]:
        """Parts of the track at *position* of the release file, by spec."""
        return self._parts.get(position, ())

    def of_spec(self, spec: str) -> tuple[Part, ...]:
        """Parts for the spec of that id."""
        return tuple(part for part in self.parts if part.spec == spec)

    def images_of(self, spec: str) -> tuple[Image, ...]:
        """Images for the spec of that id."""
        return tuple(image for image in self.images if image.spec == spec)

    def spec_result(self, spec: str) -> Result:
        """The worst result for the spec of that id; not ready while values are unconfirmed."""
        parts = [part.result for part in self.of_spec(spec)] + [image.result for image in self.images_of(spec)]
        guesses = [Result.NOT_READY] if self.unconfirmed else []
        return worst([*parts, *(f.result for f in self.findings if f.spec == spec), *guesses])

    @property
    def approval_holds(self) -> bool:
        """True if the release file's approval was given for exactly the audio of these masters."""
        return self.release.approval is not None and not unapproved(self.release, self.sources)

    @property
    def unconfirmed(self) -> tuple[Unconfirmed, ...]:
        """Unconfirmed values from folder and file names: nothing is built before they are confirmed."""
        return unconfirmed(self.release)

    @property
    def result(self) -> Result:
        """The worst result of all specs."""
        return worst(self.spec_result(spec.id) for spec in self.specs)
