"""Two files beside each other, in sentences and rounded numbers. Never a grade, never advice beyond decibels. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from delivery.model.figure import Figure
from delivery.model.pair import Pair, Polarity
from delivery.model.sections import Section, SectionLevels
from delivery.report.view import words
from delivery.report.view.numbers import signed
from delivery.report.view.sections import short_source_note, source_note
from delivery.report.view.version import version_sentence

TONE_DB = 0.5
"""Third octaves that differ by less are not named."""
AUDIBLE_HZ = (25.0, 16_000.0)
ALIKE_DB = 0.2
LEVEL_DB = 0.05
CLOCK_PPM = 1.0
"""A part of the main is aligned less exactly than a whole copy: a smaller drift of a version is not reported."""
CAUTION = "Compare at equal loudness: the louder of two always seems better."
TURN_DOWN = "Turn the louder one down by the gain given here."
NAMES: Mapping[str, str] = {
    "integrated_lufs": "Loudness",
    "short_term_max_lufs": "Loudest 3 s",
    "loudness_range_lu": "Loudness range",
    "true_peak_dbtp": "True peak",
    "plr_db": "PLR, peak to loudness",
    "psr_low_db": "PSR, peak to short-term",
    "crest_factor_db": "Crest factor",
    "correlation": "Correlation left/right",
    "spectral_tilt_db": "Spectral tilt",
    "duration_s": "Length",
}


SHORT = ("integrated_lufs", "loudness_range_lu", "true_peak_dbtp", "plr_db", "psr_low_db")
"""Figures on a screen."""
FEW = 5
"""Sections on a screen: those with the largest steps."""


@dataclass(frozen=True, slots=True)
class PairView:
    """The comparison of two files, in sentences and rounded numbers."""

    sentences: tuple[str, ...]
    """Three at most, the answer first."""
    figures: tuple[tuple[str, str, str, str], ...]
    """Name with unit, the one, the other, the difference."""
    short_figures: tuple[tuple[str, str, str, str], ...]
    """Those of SHORT."""
    tone: tuple[tuple[str, str, str], ...]
    """As TONE_HEADS."""
    sections: tuple[tuple[str, ...], ...]
    """As SECTION_HEADS."""
    short_sections: tuple[tuple[str, ...], ...]
    """At most FEW of them, in order of time."""
    hits: tuple[tuple[str, ...], ...]
    """Of each section, as HIT_HEADS."""
    contrast: str
    """The largest step between two sections in a sentence; empty where there is none worth it."""
    notes: tuple[str, ...]
    short_notes: tuple[str, ...]
    """The same in as few lines."""


def pair_view(pair: Pair, one: str, other: str, figures: Mapping[str, Figure]) -> PairView:
    """Sentences about *one* and *other*, by the names that people use."""
    return PairView(
        sentences=_sentences(pair, other),
        figures=tuple(_row(name, values, figures[name]) for name, values in pair.figures.items()),
        short_figures=tuple(_row(name, pair.figures[name], figures[name]) for name in SHORT if name in pair.figures),
        tone=tuple(_tone_rows(pair)),
        sections=tuple(_section_rows(pair)),
        short_sections=_short(pair, tuple(_section_rows(pair))),
        hits=tuple(_hit_row(*row) for row in pair.sections),
        contrast=_contrast(pair, one, other),
        notes=tuple(_notes(pair)),
        short_notes=tuple(_short_notes(pair)),
    )


def _notes(pair: Pair) -> Iterator[str]:
    if pair.sections:
        yield source_note(pair.section_source)
    if not pair.identical:
        yield f"{CAUTION} {TURN_DOWN}" if pair.gain_db is not None else CAUTION


def _short_notes(pair: Pair) -> Iterator[str]:
    if pair.sections:
        yield short_source_note(pair.section_source)
    if not pair.identical:
        yield f"{CAUTION} More: --all."


def _sentences(pair: Pair, other: str) -> tuple[str, ...]:
    if pair.identical:
        return ("Identical samples: the two files sound the same, bit for bit.",)
    if pair.version and pair.version.pieces:
        told = version_sentence(pair.version, pair.version_kind)
        clock = abs(pair.drift_ppm or 0.0) >= CLOCK_PPM
        rest = (_relation(pair, other),) if clock or pair.polarity not in (None, Polarity.SAME) else ()
        return (f"{words.plain(other)}, {told}", *rest)
    if not pair.same_recording:
        answer = "Not the same recording" if pair.same_recording is False else "Undecided"
        return (f"{answer}: {pair.why}.", "The figures below are side by side without being aligned.")
    found = [_relation(pair, other)]
    if pair.tone_db:
        found.append(_tone_sentence(pair, other))
    if pair.residual_db is not None:
        found.append(_residual_sentence(pair))
    return tuple(found)


def _relation(pair: Pair, other: str) -> str:
    assert pair.gain_db is not None
    assert pair.offset_s is not None
    louder = "louder" if pair.gain_db > 0 else "quieter"
    text = [f"is {abs(pair.gain_db):.2f} dB {louder}" if abs(pair.gain_db) >= LEVEL_DB else "is as loud"]
    if abs(pair.offset_s) >= 5e-7:
        when = "later" if pair.offset_s > 0 else "earlier"
        text.append(f"begins {_offset(abs(pair.offset_s))} {when}")
    if pair.drift_ppm:
        text.append(f"runs {abs(pair.drift_ppm):.1f} ppm {'slower' if pair.drift_ppm > 0 else 'faster'}")
    if pair.polarity is Polarity.INVERTED:
        text.append("has inverted polarity")
    if pair.polarity is Polarity.ONE_CHANNEL:
        text.append("has one channel inverted")
    return f"The same recording: {words.plain(other)} {words.listed(text)}."


def _offset(seconds: float) -> str:
    return f"{seconds:.3f} s" if seconds >= 0.1 else f"{1000 * seconds:.3f} ms"


def _tone_sentence(pair: Pair, other: str) -> str:
    audible = [
        (hz, level)
        for hz, level in zip(pair.tone_hz, pair.tone_db, strict=True)
        if AUDIBLE_HZ[0] <= hz <= AUDIBLE_HZ[1]
    ]
    largest = sorted(audible, key=lambda band: -abs(band[1]))[:3]
    if not largest or abs(largest[0][1]) < TONE_DB:
        within = f"{max((abs(level) for _, level in audible), default=0.0):.1f}"
        return f"At equal loudness the tone {'is the same' if within == '0.0' else f'agrees within {within} dB'}."
    named = sorted(band for band in largest if abs(band[1]) >= TONE_DB)
    text = words.listed(f"{_signed(level, 1)} dB at {third_octave(hz)}" for hz, level in named)
    return f"At equal loudness {words.plain(other)} has {text}."


def _residual_sentence(pair: Pair) -> str:
    assert pair.residual
    if pair.residual.whole_db <= -90:
        return "Nothing is left when one is subtracted from the other at one level."
    curve = pair.residual.curve_db
    most = max(range(len(curve)), key=curve.__getitem__, default=0)
    return f"Subtracted at one level, {pair.residual.whole_db:.1f} dB is left, most at {words.at(float(most))}."


def _row(name: str, values: tuple[float | None, float | None], figure: Figure) -> tuple[str, str, str, str]:
    digits = figure.digits if figure.digits is not None else 2
    if name == "duration_s":
        shown = [words.clock(value, 1) if value is not None else _number(None, 1) for value in values]
    else:
        shown = [_number(value, digits) for value in values]
    unit = f", {figure.unit}" if figure.unit and name != "duration_s" else ""
    one, other = values
    apart = ""
    if one is not None and other is not None:
        apart = _longer(other - one) if name == "duration_s" else _signed(other - one, digits)
    return f"{NAMES.get(name, name)}{unit}", shown[0], shown[1], apart


def _longer(seconds: float) -> str:
    """Seconds to the millisecond; minutes as a clock shows them."""
    if abs(seconds) < 60:
        return f"{_signed(seconds, 3)} s" if seconds else "0"
    return f"{'+' if seconds > 0 else '-'}{words.clock(abs(seconds), 1)}"


def _number(value: float | None, digits: int) -> str:
    return "not measured" if value is None else f"{value:.{digits}f}"


def _signed(value: float, digits: int) -> str:
    return signed(f"{value:.{digits}f}") if round(value, digits) else f"{0:.{digits}f}"


def third_octave(hz: float) -> str:
    """Nominal, as engineers name third octaves."""
    nominal = min(NOMINAL_HZ, key=lambda each: abs(each / hz - 1))
    return f"{nominal / 1000:g} kHz" if nominal >= 1000 else f"{nominal:g} Hz"


NOMINAL_HZ = tuple(
    base * scale for scale in (10, 100, 1000, 10_000) for base in (1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8)
)
"""Preferred frequencies of ISO 266."""


TONE_HEADS = ("Third octave", "2 less 1, dB", "residual, dB")


def _tone_rows(pair: Pair) -> Iterator[tuple[str, str, str]]:
    """Third octave, how much more of it the second file has at equal loudness, what a subtraction leaves of it."""
    left = (
        dict(zip(map(third_octave, pair.residual.middles_hz), pair.residual.bands_db, strict=True))
        if pair.residual
        else {}
    )
    for hz, level in zip(pair.tone_hz, pair.tone_db, strict=True):
        name = third_octave(hz)
        yield name, _signed(level, 1), f"{left[name]:.1f}" if name in left else ""


SECTION_HEADS = ("Section", "from", "LUFS 1", "LUFS 2", "step 1", "step 2", "crest", "PSR", "width")
HIT_HEADS = ("Section", "hits: low", "middle", "high")


LEGEND = "1, 2: the files as above. Steps from the section before, LU; crest, PSR, width: 2 less 1, dB."


def _section_rows(pair: Pair) -> Iterator[tuple[str, ...]]:
    steps = [("", ""), *((_signed(each.one_lu, 1), _signed(each.other_lu, 1)) for each in pair.contrasts)]
    for (section, one, other), step in zip(pair.sections, steps, strict=False):  # without sections no row
        apart = ((one.crest_db, other.crest_db), (one.psr_db, other.psr_db), (one.side_mid_db, other.side_mid_db))
        yield (
            words.plain(section.name),
            words.at(section.start_s),
            f"{one.loudness_lufs:.1f}",
            f"{other.loudness_lufs:.1f}",
            *step,
            *(_less(*values) for values in apart),
        )


def _short(pair: Pair, rows: tuple[tuple[str, ...], ...]) -> tuple[tuple[str, ...], ...]:
    """Those with the largest steps in either file; all where there are few."""
    if len(rows) <= FEW:
        return rows
    steps = [0.0, *(max(abs(each.one_lu), abs(each.other_lu)) for each in pair.contrasts)]
    largest = sorted(range(len(rows)), key=lambda at: -steps[at])[:FEW]
    return tuple(rows[at] for at in sorted(largest))


HIT_NOTE = (
    "Hits, 2 less 1: how far the strongest ones of the first file rise above what sounds before them, below 190 Hz, up "
    "to 3 kHz and above; a master that keeps them has 0."
)


def _hit_row(section: Section, one: SectionLevels, other: SectionLevels) -> tuple[str, ...]:
    bands = zip(one.attack_db, other.attack_db, strict=True)
    return words.plain(section.name), *(_less(*values) for values in bands)


def _less(one: float | None, other: float | None) -> str:
    return "-" if one is None or other is None else _signed(other - one, 1)


STEP_LU = 1.5
"""A section that differs less from the one before it is no contrast worth a sentence. Common practice, no source."""


def _contrast(pair: Pair, one: str, other: str) -> str:
    steps = [each for each in pair.contrasts if max(abs(each.one_lu), abs(each.other_lu)) >= STEP_LU]
    if pair.version or not steps:
        return ""
    most = max(steps, key=lambda each: abs(each.one_lu))
    way = "above" if most.one_lu >= 0 else "below"
    return (
        f"The largest step: {words.plain(most.after.name)}, from {words.at(most.after.start_s)}, is "
        f"{abs(most.one_lu):.1f} LU {way} {words.plain(most.before.name)} in {words.plain(one)}, "
        f"{_beside(most.one_lu, most.other_lu)} in {words.plain(other)}."
    )


def _beside(one_lu: float, other_lu: float) -> str:
    """The other's contrast, in the direction of the first's."""
    same_way = one_lu * other_lu >= 0
    return f"{abs(other_lu):.1f}" if same_way else f"{abs(other_lu):.1f} {'below' if one_lu >= 0 else 'above'} it"
