"""Spec: what one recipient requires, as data. Limits live here and nowhere else."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from delivery.model.bounds import Bound
    from delivery.model.carrier import Carrier


@dataclass(frozen=True, slots=True)
class Requirement:
    """One thing a spec requires."""

    rule: str
    """Id of the rule, which is its key in the spec, such as ``true_peak_max_dbtp``."""
    limit: Any
    """In the form of the rule's limit schema: a number, a list, a window such as ``{at_least: -24, at_most: -22}``."""
    must: bool
    """False: *should*; not met, it gives a remark and never a refusal."""
    source: str
    """Document and clause, or 'common practice, no source'."""
    checked: date
    spec: str
    """Id of the spec file it comes from (a parent's, if inherited)."""
    place: str
    """'store-master-24.yaml:12'."""
    note: str = ""
    """The spec writer's remark, for `explain`."""
    bounds: tuple[Bound, ...] = ()
    """Limits on single figures, derived from the rule when a job begins; printed figures are rounded by them."""


@dataclass(frozen=True, slots=True)
class Conversions:
    """Steps that the recipient (or the engineer, on their behalf) permits."""

    rate: str = "never"
    """'never', 'lower' (only downwards) or 'any' (raising the rate is allowed and noted on the sheet)."""
    depth: str = "never"
    """'never' or 'lower' (requantise with the dither below)."""
    dither: str = "tpdf"
    """'tpdf', 'rpdf', 'none' or a noise-shaped curve's name from dsp.dither."""
    silence: str = "zero"
    """Digital silence at a song's ends when the bit depth is reduced: kept at 'zero', or 'dithered' like the rest."""
    gain: str = "never"
    """'never', 'down_to_ceiling' (only as much as the true-peak ceiling needs) or 'to_target'."""
    gain_scope: str = "track"
    """'track', or 'album': the same gain on every track, so that the balance between songs is kept."""
    container: str = "any"
    """'any' (identical samples in another container) or 'never'."""


@dataclass(frozen=True, slots=True)
class Cover:
    """The cover picture that a recipient requires beside, and inside, the files."""

    side_px: int
    kind: str = "jpeg"
    """'jpeg' or 'png'."""


@dataclass(frozen=True, slots=True)
class Spec:
    """One recipient's requirements, parents merged in."""

    id: str
    """File name without extension; also the folder name in the package."""
    title: str
    about: str
    checked: date
    requirements: tuple[Requirement, ...]
    """Sorted by rule."""
    conversions: Conversions = field(default_factory=Conversions)
    lineage: tuple[str, ...] = ()
    """Ids of the parents, nearest first."""
    edition: str = ""
    good_for_months: int = 12
    reference_only: bool = False
    """A listening copy: the sheet marks its files 'reference, not for release'."""
    dual_mono: bool = False
    """Mono counted as from two equal loudspeakers: 3.01 LU more than as-is."""
    bitrate_kbps: int | None = None
    """For lossy codings."""
    vbr_quality: int | None = None
    """Instead of a bit rate, for MP3: a variable one of this quality, 0 (best) to 9."""
    name_template: str = "{disc_track} {title}"
    embed_tags: bool = True
    keep_tags: tuple[str, ...] | None = None
    """Which of a master's own texts may stay (`model.carried.KEEP_TAGS`); None: see `tags.keeping.may_stay`."""
    keep_chunks: tuple[str, ...] = ()
    """Which of a master's chunks are kept (`model.carried.KEEP_CHUNKS`)."""
    embed_artwork: bool = False
    cover: Cover | None = None
    """None: no cover file, and the original is embedded."""
    id3_version: float = 2.4
    """Version of the tag in an MP3: 2.4, or 2.3 for players that support no other."""
    papers: tuple[str, ...] = ()
    own_sheet: bool = False
    """Its delivery sheet is in its own folder, and the common sheet only refers to it."""
    carrier: Carrier | None = None
    """Songs are joined, one continuous file for each disc or side; None: one file per song."""
    outdated: tuple[str, ...] = ()
    """Sentences about outdated names in its files."""
    digest: str = ""
    """SHA-256 of everything above in canonical form: identifies the edition used for a delivery."""

    def required(self) -> Mapping[str, Requirement]:
        """Requirements by rule id."""
        return {requirement.rule: requirement for requirement in self.requirements}

    def limit(self, rule: str) -> Any:
        """The limit required under this key, or None if there is none."""
        return next((requirement.limit for requirement in self.requirements if requirement.rule == rule), None)


def bounds_of(figure: str, specs: Iterable[Spec]) -> tuple[Bound, ...]:
    """Every limit that any of *specs* sets on *figure*."""
    return tuple(
        bound
        for spec in specs
        for requirement in spec.requirements
        for bound in requirement.bounds
        if bound.figure == figure
    )
