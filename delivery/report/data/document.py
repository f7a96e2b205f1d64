"""The data document: unrounded values for programs and for later verification. Follows output.schema.json."""

from __future__ import annotations

from array import array
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from delivery.dsp.peaks.trim import trim_db
from delivery.model.artist import display_artist
from delivery.model.carried import Item, Passage
from delivery.model.chain import Chain
from delivery.model.figure import Measurement
from delivery.model.finding import Finding
from delivery.model.part import Delivery, Image, Part, Shipped, Source
from delivery.model.release import Artwork, Release, Studio
from delivery.model.spec import Spec
from delivery.model.trial import Decoded
from delivery.report.data.album import joins, likenesses, programme, selection
from delivery.report.data.changes import changes_document
from delivery.report.data.indented import indented
from delivery.report.data.release import day, production, release_copy, track_copy
from delivery.report.view.approval import approval, covered
from delivery.report.view.make import View

NO_PAPERS: Mapping[str, str] = {}
PLAIN = frozenset({float, str, int, bool, type(None)})
FORM = 1
"""Increased if readers of the document have to change."""

CURVES = frozenset(
    {
        "short_term_curve_lufs",
        "peak_curve_dbtp",
        "correlation_curve",
        "gating_powers",
        "waveform_low",
        "waveform_high",
        "first_samples",
        "last_samples",
    }
)
"""Long rows of numbers for pictures; they can be measured again from the files."""


def render(view: View, papers: Mapping[str, str] = NO_PAPERS) -> bytes:
    """UTF-8, keys sorted, two blanks of indent, LF; the same bytes for the same delivery.

    Parameters
    ----------
    papers : path in the package -> SHA-256, of every other file beside the delivered ones
    """
    recorded = [{"path": path, "sha256": papers[path]} for path in sorted(papers)]
    return as_bytes(document(view.delivery) | {"papers": recorded})


def peaks(found: Decoded) -> dict[str, Any]:
    """Peaks of a decoded copy."""
    return {
        "true_peak_dbtp": found.true_peak_dbtp,
        "overs_count": found.overs_count,
        "worst": [{"at_s": at_s, "channel": channel, "dbtp": dbtp} for at_s, channel, dbtp in found.overs],
    }


def as_bytes(document: Mapping[str, Any]) -> bytes:
    """UTF-8, keys sorted, two blanks of indent, LF."""
    return (as_text(document) + "\n").encode("utf-8", errors="replace")


def as_text(document: Mapping[str, Any]) -> str:
    """The same as text, without the last line's end."""
    return indented(document)


def document(delivery: Delivery) -> dict[str, Any]:
    """The document as plain dicts, lists, texts, numbers and None."""
    return {
        "form": FORM,
        "program": {"name": "delivery", "version": delivery.version},
        "built": delivery.built,
        "result": delivery.result.value,
        "release": {
            **release_copy(delivery.release),
            "approval": _approval(delivery),
            "production": production(delivery.release),
        },
        "studio": _studio(delivery.studio),
        "specs": [_spec(delivery, spec) for spec in delivery.specs],
        "sources": [_source(delivery.release, source) for source in delivery.sources],
        "parts": [_part(part) for part in delivery.parts],
        "findings": [_finding(finding) for finding in delivery.findings],
        "artwork": _artwork(delivery.artwork) if delivery.artwork else None,
        "artwork_problem": delivery.artwork_problem,
        "album": {name: plain(value) for name, value in delivery.album.items()},
        "remarks": list(delivery.remarks),
        "images": [_image(image, delivery.release) for image in delivery.images],
        "joins": joins(delivery),
        "likenesses": likenesses(delivery),
        "unnamed": list(delivery.unnamed),
        "to_confirm": [
            {"key": one.key, "track": one.track, "value": one.value, "pointer": one.pointer}
            for one in delivery.unconfirmed
        ],
        "selections": [selection(each) for each in delivery.selections],
        "changes": changes_document(delivery.changes) if delivery.changes else None,
    }


def _approval(delivery: Delivery) -> dict[str, Any] | None:
    """The approval in the release file, and whether it was given for this audio; None: nothing is stated."""
    given, bare = delivery.release.approval, delivery.release.approved_by
    if given is None and not bare:
        return None
    return {
        "by": given.by if given else bare,
        "date": day(given.dated) if given else None,
        "audio_hashes": list(given.audio_hashes) if given else [],
        "label_copy_hash": given.label_copy_hash if given else "",
        "holds": delivery.approval_holds,
        **({"tracks": list(part)} if (part := covered(delivery)) and not delivery.approval_holds else {}),
        "says": approval(delivery),
    }


def _studio(studio: Studio) -> dict[str, Any]:
    return {"engineer": studio.engineer, "name": studio.name, "contact": studio.contact}


def _spec(delivery: Delivery, spec: Spec) -> dict[str, Any]:
    return {
        "id": spec.id,
        "title": spec.title,
        "edition": spec.edition,
        "checked": day(spec.checked),
        "lineage": list(spec.lineage),
        "digest": spec.digest,
        "reference_only": spec.reference_only,
        "result": delivery.spec_result(spec.id).value,
    }


def _source(release: Release, source: Source) -> dict[str, Any]:
    return {
        **track_copy(source.track),
        "production": production(source.track),
        "display_artist": display_artist(source.track.artists, release.artist),
        "file": _inside(release.path.parent, source.track.file),
        "sha256": source.sha256,
        "problem": source.problem,
        "measured": _measured(source.measurement) if source.measurement else None,
    }


def _inside(folder: Path, file: Path) -> str:
    """Relative to the release file if possible: the same album elsewhere gives the same document."""
    return file.relative_to(folder).as_posix() if file.is_relative_to(folder) else file.name


def _measured(measurement: Measurement) -> dict[str, Any]:
    """Figures by name, None if missing; and the reason for each None."""
    kept = {name: reading for name, reading in measurement.items() if name not in CURVES}
    return {
        "figures": {name: plain(reading.value) for name, reading in kept.items()},
        "why_missing": {name: reading.why_missing for name, reading in kept.items() if not reading.exists},
    }


def _part(part: Part) -> dict[str, Any]:
    return {
        "spec": part.spec,
        "track": part.track,
        "name": part.name,
        "result": part.result.value,
        "problem": part.problem,
        "chain": _chain(part.chain) if part.chain else None,
        "findings": [_finding(finding) for finding in part.findings],
        "shipped": _shipped(part.shipped) if part.shipped else None,
        "from_master": _passage(part.passage),
    }


def _passage(passage: Passage) -> dict[str, Any]:
    """What becomes of the master's own tags and chunks: predicted in a check, read back in a build."""
    return {
        "kept": [_item(item) for item in passage.kept],
        "removed": [_item(item) for item in passage.removed],
        "replaced": [{**_item(each.item), "now": each.now} for each in passage.replaced],
    }


def _item(item: Item) -> dict[str, str]:
    return {"kind": item.kind, "field": item.field, "place": item.place, "text": item.text}


def _chain(chain: Chain) -> dict[str, Any]:
    target = chain.target
    return {
        "identical": chain.identical,
        "target": {
            "container": target.container,
            "coding": target.coding,
            "rate_hz": target.rate_hz,
            "channels": target.channels,
            "bits": target.bits,
            "bitrate_kbps": target.bitrate_kbps,
            "vbr_quality": target.vbr_quality,
        },
        "steps": [
            {
                "touch": step.kind.value,
                "says": step.sentence,
                "because": step.because,
                "settings": {key: plain(value) for key, value in step.settings.items()},
            }
            for step in chain.steps
        ],
    }


def _image(image: Image, release: Release) -> dict[str, Any]:
    return {
        "spec": image.spec,
        "name": image.name,
        "result": image.result.value,
        "problem": image.problem,
        "programme": programme(image.programme, image.song_hashes, release),
        "findings": [_finding(finding) for finding in image.findings],
        "shipped": _shipped(image.shipped) if image.shipped else None,
    }


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "rule": finding.rule,
        "spec": finding.spec,
        "track": finding.track,
        "answer": finding.answer.value,
        "must": finding.must,
        "weight": finding.weight.value,
        "found": finding.found,
        "wanted": finding.wanted,
        "remedy": finding.remedy,
        "why": finding.why,
        "place": finding.place,
        "at_s": [float(at) for at in finding.at_s],
        "source": finding.source,
    }


def _shipped(shipped: Shipped) -> dict[str, Any]:
    return {
        "path": shipped.path,
        "size_bytes": shipped.size_bytes,
        "sha256": shipped.sha256,
        "md5": shipped.md5,
        "audio_hash": shipped.measurement.value("audio_hash") or "",
        "decoded": _decoded(shipped.measurement),
        **_measured(shipped.measurement),
        "tags": {
            "written": dict(shipped.tags.written),
            "no_home": sorted(shipped.tags.not_stored),
            "differs": list(shipped.tags.differs),
            "notes": list(shipped.tags.notes),
        },
    }


def _decoded(measurement: Measurement) -> dict[str, Any] | None:
    """Peaks after lossy coding, decoded to float; None for lossless files."""
    peak_dbtp = measurement.value("true_peak_dbtp")
    if measurement.value("bits") is not None or peak_dbtp is None:
        return None
    found = Decoded(peak_dbtp, measurement.value("overs_count"), measurement.value("overs") or ())
    return peaks(found) | {"trim_db": trim_db(peak_dbtp)}


def _artwork(artwork: Artwork) -> dict[str, Any]:
    return {
        "file": artwork.path.name,
        "kind": artwork.kind,
        "width_px": artwork.width_px,
        "height_px": artwork.height_px,
        "mode": artwork.mode,
        "size_bytes": artwork.size_bytes,
        "sha256": artwork.sha256,
        "profile": artwork.profile,
        "border_px": list(artwork.border_px),
        "finest_detail": artwork.finest_detail,
        "orientation": artwork.orientation,
    }


def plain(value: Any) -> Any:
    """Tuples and packed rows as lists, and NumPy numbers as plain numbers."""
    if type(value) in PLAIN:  # nearly all of them
        return value
    if isinstance(value, array):
        return value.tolist()
    if isinstance(value, list | tuple):
        return [*value] if PLAIN.issuperset(map(type, value)) else [plain(item) for item in value]
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    return value.item() if hasattr(value, "item") else value
