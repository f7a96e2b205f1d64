"""Two files beside each other for programs: everything unrounded."""

from __future__ import annotations

from dataclasses import asdict

from delivery.model.pair import Pair
from delivery.report.data.document import as_bytes
from delivery.report.view.version import version_sentence


def render(pair: Pair) -> bytes:
    """One JSON document with ``pair``; a figure that was not found is null."""
    return as_bytes({"pair": document(pair)})


def document(pair: Pair) -> dict[str, object]:
    """The pair as plain data."""
    residual = pair.residual
    return {
        "identical": pair.identical,
        "same_recording": pair.same_recording,
        "why": pair.why,
        "offset_s": pair.offset_s,
        "gain_db": pair.gain_db,
        "polarity": str(pair.polarity) if pair.polarity else None,
        "drift_ppm": pair.drift_ppm,
        "shared_s": pair.shared_s,
        "residual_db": pair.residual_db,
        "residual_curve_db": list(residual.curve_db) if residual else None,
        "residual_third_octave_db": dict(zip(_hertz(residual.middles_hz), residual.bands_db, strict=True))
        if residual
        else None,
        "figures": {name: {"one": one, "other": other} for name, (one, other) in pair.figures.items()},
        "tone_db": dict(zip(_hertz(pair.tone_hz), pair.tone_db, strict=True)),
        "version": _version(pair) if pair.version else None,
        "section_source": pair.section_source.name.lower(),
        "sections": [
            {**asdict(section), "one": asdict(one), "other": asdict(other)} for section, one, other in pair.sections
        ],
        "contrasts_lu": [
            {"before": each.before.name, "after": each.after.name, "one": each.one_lu, "other": each.other_lu}
            for each in pair.contrasts
        ],
    }


def _version(pair: Pair) -> dict[str, object]:
    assert pair.version
    rate_hz = pair.version.rate_hz
    return {
        "kind": pair.version_kind.value,
        "sentence": version_sentence(pair.version, pair.version_kind),
        **asdict(pair.version),
        "pieces": [
            {**asdict(piece), "main_s": piece.main / rate_hz, "other_s": piece.other / rate_hz}
            for piece in pair.version.pieces
        ],
    }


def _hertz(middles_hz: tuple[float, ...]) -> list[str]:
    return [f"{hz:.1f}" for hz in middles_hz]
