"""Routes and parts: which file goes where, what it is, and whether it is ready. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from delivery.audio.codecs import CODECS
from delivery.formats.registry import containers
from delivery.model.chain import Target
from delivery.model.dual_mono import TWO_LOUDSPEAKERS_LU, dual_mono_figures
from delivery.model.figure import Figure, Measurement
from delivery.model.finding import Answer, Finding, Result
from delivery.model.part import Delivery, Image, Part
from delivery.model.release import Track
from delivery.model.spec import Spec, bounds_of
from delivery.report.view import words
from delivery.report.view.elements import Amount, Verdict
from delivery.report.view.numbers import amount
from delivery.report.view.part_rows import PartRow, PartTable, ResultTable, Route

REFERENCE = "reference, not for release"
DUAL_MONO = f"Loudness of mono files is that of two equal loudspeakers, {TWO_LOUDSPEAKERS_LU:.2f} LU above one."
AS_IT_IS = "Loudness of mono files is that of their one channel as it is."
UNWRITTEN, REFUSED = "not written", "refused"
ABSENT = "–"

CODINGS: Mapping[str, str] = {name: codec.title for name, codec in CODECS.items()} | {
    "vorbis": "Vorbis",
    "float": "float",
}
"""Titles of codings, including those that are only read; PCM is not mentioned."""


def container_title(container: str) -> str:
    """'FLAC', 'WAV'; of a container that is only read its id in capitals: 'W64'."""
    known = containers().get(container)
    return known.title if known else "Ogg" if container == "ogg" else container.upper()


@dataclass(frozen=True, slots=True)
class ReportContext:
    """Shared context of the row makers."""

    delivery: Delivery
    figures: Mapping[str, Figure]

    numbers: Mapping[int | None, str] = field(init=False, repr=False, compare=False)
    """Printed track number by position; found once, not for each row."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "numbers", words.numbers(self.delivery.release))

    def for_spec(self, spec: str) -> ReportContext:
        """The same for the delivery as *spec* receives it."""
        return ReportContext(self.delivery.for_spec(spec), self.figures)

    def track(self, position: int) -> Track:
        """The track at that position."""
        return self.delivery.release.track(position)

    def named(self, track: Track) -> str:
        """Title and version, with its artists where they are not the release's."""
        title, release = words.titled(track.title, track.version), self.delivery.release
        artist = words.credited(track, release)
        return title if artist == words.supplied(release.artist) else f"{title}, {artist}"

    def amount(self, name: str, measurement: Measurement | None, specs: tuple[Spec, ...]) -> Amount:
        """A figure, rounded so that it never seems to meet a limit that it does not."""
        figure = self.figures.get(name) or Figure(name, "", None, "", "")
        reading = measurement.readings.get(name) if measurement else None
        return amount(figure, reading, bounds_of(name, specs))


def route(context: ReportContext, spec: Spec) -> Route:
    """The line of one spec: its files and their result."""
    parts = files_of(context.delivery, spec)
    shipped = sum(part.shipped is not None for part in parts)
    files = (
        f"{shipped} of {words.counted(len(parts), 'file')}" if shipped < len(parts) else words.counted(shipped, "file")
    )
    planned = f"{words.counted(len(parts), 'file')} planned"
    return Route(
        spec=spec.id,
        title=words.plain(spec.title) or spec.id,
        folder=folder(spec, parts),
        files=files if context.delivery.built or shipped else planned,
        verdict=spec_verdict(context.delivery, spec),
        note=REFERENCE if spec.reference_only else "",
        size=words.size(sum(part.shipped.size_bytes for part in parts if part.shipped)) if shipped else "",
    )


def total_size(delivery: Delivery) -> str:
    """'60 files, 3.42 GB': what was written for all specs; empty where nothing was."""
    sizes = [file.shipped.size_bytes for spec in delivery.specs for file in files_of(delivery, spec) if file.shipped]
    return f"{words.counted(len(sizes), 'file')}, {words.size(sum(sizes))}" if sizes else ""


def results(context: ReportContext) -> ResultTable:
    """The result of each song for each spec, in the order of the specs."""
    by_song = {(part.spec, part.track): part for part in context.delivery.parts}
    specs = [spec for spec in context.delivery.specs if any(of == spec.id for of, _ in by_song)]
    rows = []
    for source in context.delivery.sources:
        track = source.track
        parts = (by_song.get((spec.id, track.position)) for spec in specs)
        sentence = tuple(None if part is None else _in_short(part.result) for part in parts)
        rows.append((context.numbers[track.position], words.titled(track.title, track.version), sentence))
    return ResultTable(tuple(words.plain(spec.title) or spec.id for spec in specs), tuple(rows))


def _in_short(result: Result) -> Verdict:
    sentence = words.verdict(result)
    return replace(sentence, word="remarks") if result is Result.REMARKS else sentence


def files_of(delivery: Delivery, spec: Spec) -> tuple[Part | Image, ...]:
    """Files of a spec: one for each song, or for each disc or side."""
    return delivery.images_of(spec.id) if spec.carrier else delivery.of_spec(spec.id)


def folder(spec: Spec, parts: tuple[Part | Image, ...]) -> str:
    """Folder of the files inside the package; the spec's id if there are none."""
    found = sorted({part.shipped.path.rpartition("/")[0] for part in parts if part.shipped})
    return words.plain(", ".join(found) or spec.id)


def spec_verdict(delivery: Delivery, spec: Spec) -> Verdict:
    """Result of a spec and the number of files ready."""
    parts = delivery.of_spec(spec.id)
    fine = sum(part.result in (Result.READY, Result.REMARKS) for part in parts)
    about_release = sum(_refuses(finding) for finding in delivery.findings if finding.spec == spec.id)
    sentence = [f"{fine} of {words.counted(len(parts), 'file')} ready"] if fine < len(parts) else []
    sentence += [f"the release itself: {words.counted(about_release, 'fault')}"] if about_release else []
    return words.verdict(delivery.spec_result(spec.id), "; ".join(sentence))


def _refuses(finding: Finding) -> bool:
    return finding.result is Result.NOT_READY


def table(context: ReportContext, spec: Spec) -> PartTable:
    """The files for one spec."""
    parts, own = files_of(context.delivery, spec), context.for_spec(spec.id)
    return PartTable(
        spec=spec.id,
        title=words.plain(spec.title) or spec.id,
        about=words.plain(spec.about),
        folder=folder(spec, parts),
        judged_by=judged_by(spec),
        verdict=spec_verdict(context.delivery, spec),
        rows=tuple(row(own, spec, part) if isinstance(part, Part) else image_row(own, spec, part) for part in parts),
        notes=tuple(_notes(spec, parts)),
    )


def judged_by(spec: Spec) -> str:
    """The edition of the spec used: specs are data, and change."""
    based = f"based on {', '.join(spec.lineage)}" if spec.lineage else ""
    edition = f"edition {words.plain(spec.edition)}" if spec.edition else ""
    digest = f"digest {words.short_hash(spec.digest)}" if spec.digest else ""
    checked = f"checked {words.day(spec.checked)}"
    return ", ".join(text for text in (spec.id, edition, based, checked, digest) if text)


def _notes(spec: Spec, parts: tuple[Part | Image, ...]) -> list[str]:
    mono = any(part.shipped and _mono(part.shipped.measurement) for part in parts)
    marked = f"These files are marked '{REFERENCE}'." if spec.reference_only else ""
    counted = DUAL_MONO if spec.dual_mono else AS_IT_IS
    return [text for text in (marked, counted if mono else "") if text]


def row(context: ReportContext, spec: Spec, part: Part) -> PartRow:
    """One delivered file."""
    track, shipped = context.track(part.track), part.shipped
    counted_figures = dual_mono_figures(spec, shipped.measurement) if shipped else None
    return PartRow(
        number=context.numbers[part.track],
        position=part.track,
        file=words.plain(shipped.path.rpartition("/")[2] if shipped else part.name) or "no file",
        purpose=(words.plain(spec.title) or spec.id) + (f", {REFERENCE}" if spec.reference_only else ""),
        format=format_of(part.chain.target) if part.chain else ABSENT,
        length=length(counted_figures, spec),
        true_peak=context.amount("true_peak_dbtp", counted_figures, (spec,)) if counted_figures else _absent(),
        loudness=context.amount("integrated_lufs", counted_figures, (spec,)) if counted_figures else _absent(),
        checksum=words.short_hash(shipped.sha256) if shipped else _why_no_file(context.delivery, part),
        verdict=part_verdict(part),
        sha256=shipped.sha256 if shipped else "",
        md5=shipped.md5 if shipped else "",
        size_bytes=str(shipped.size_bytes) if shipped else "",
        title=words.titled(track.title, track.version),
        isrc=words.isrc(track.isrc),
    )


def image_row(context: ReportContext, spec: Spec, image: Image) -> PartRow:
    """A disc or side; its number is its letter or the disc's."""
    programme, shipped = image.programme, image.shipped
    counted_figures = shipped.measurement if shipped else None
    stopped = image.problem or context.delivery.spec_result(spec.id) not in (Result.READY, Result.REMARKS)
    unwritten = REFUSED if context.delivery.built and stopped else UNWRITTEN
    length_s = programme.length / programme.rate_hz
    return PartRow(
        number=programme.label,
        position=0,
        file=words.plain(image.name),
        purpose=words.plain(spec.title) or spec.id,
        format=format_of(image.target),
        length=Amount(words.clock(length_s, 3)),
        true_peak=context.amount("true_peak_dbtp", counted_figures, (spec,)) if counted_figures else _absent(),
        loudness=context.amount("integrated_lufs", counted_figures, (spec,)) if counted_figures else _absent(),
        checksum=words.short_hash(shipped.sha256) if shipped else unwritten,
        verdict=words.verdict(context.delivery.spec_result(spec.id) if unwritten == REFUSED else image.result),
        sha256=shipped.sha256 if shipped else "",
        md5=shipped.md5 if shipped else "",
        size_bytes=str(shipped.size_bytes) if shipped else "",
        title=programme.heading,
    )


def _absent() -> Amount:
    return Amount(ABSENT, exists=False)


def _why_no_file(delivery: Delivery, part: Part) -> str:
    refused = part.problem or part.result not in (Result.READY, Result.REMARKS)
    return REFUSED if delivery.built and refused else UNWRITTEN


def part_verdict(part: Part) -> Verdict:
    """The word, and the number of rules behind it."""
    counts = (
        (sum(_refuses(f) and f.answer is Answer.NOT_MET for f in part.findings), "not met"),
        (sum(f.answer is Answer.NOT_MEASURED for f in part.findings), "not measured"),
        (sum(f.answer is Answer.WAIVED for f in part.findings), "waived"),
        (sum(f.answer is Answer.NOT_MET and not _refuses(f) for f in part.findings), words.TO_NOTE),
    )
    sentence = "" if part.problem else ", ".join(f"{count} {what}" for count, what in counts if count)
    return words.verdict(part.result, sentence)


def _mono(measurement: Measurement) -> bool:
    return bool(measurement.value("channels") == 1)


def length(measurement: Measurement | None, spec: Spec) -> Amount:
    """To the millisecond, to distinguish two versions of one song, or as precise as a limit needs."""
    duration_s = measurement.value("duration_s") if measurement else None
    if duration_s is None:
        return _absent()
    return Amount(words.clock_beside(duration_s, 3, [bound.at for bound in bounds_of("duration_s", (spec,))]))


def format_of(target: Target) -> str:
    """'24-bit 44.1 kHz WAV', '320 kbit/s 44.1 kHz MP3', with 'mono' where it is."""
    container = container_title(target.container)
    coding = CODINGS.get(target.coding, "")
    rate = f"{target.bitrate_kbps} kbit/s" if target.bitrate_kbps else ""
    rate = rate if target.vbr_quality is None else f"VBR V{target.vbr_quality}"
    depth = f"{target.bits}-bit" if target.bits else rate
    channels = {1: "mono", 2: ""}.get(target.channels, f"{target.channels} channels")
    kind = f"{coding} {container}" if coding and coding != container else container
    return " ".join(text for text in (depth, words.kilohertz(target.rate_hz), kind, channels) if text)


def rating(parts: tuple[Part, ...]) -> Verdict:
    """The worst of several parts."""
    worst = max((part.result for part in parts), key=list(Result).index, default=Result.READY)
    return words.verdict(worst)
