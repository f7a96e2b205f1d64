"""Steps of each file: none, with the proof; or each step, with its reason. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from delivery.dsp.peaks.trim import trim_db
from delivery.model.chain import Chain, Step, StepKind
from delivery.model.figure import Measurement
from delivery.model.part import Delivery, Part, Source
from delivery.report.view import words
from delivery.report.view.parts import format_of
from delivery.report.view.track_page import Done

DITHERS: Mapping[str, str] = {
    "none": "",
    "rpdf": "rectangular, 1 step wide",
    "tpdf": "triangular, 2 steps wide",
}
WORST_LISTED = 3
"""Overs named on a track's page; the data document has ten."""
CONVERTER = "libsoxr, very high quality"
CONVERTER_AT_LENGTH = "libsoxr at its very high quality, linear phase, in 64-bit float"


def done(delivery: Delivery, source: Source, part: Part) -> Done:
    """What was done to make one file."""
    title = next((words.plain(spec.title) or spec.id for spec in delivery.specs if spec.id == part.spec), part.spec)
    if part.chain is None or part.problem:
        why = () if source.problem else (words.plain(part.problem),)  # what is wrong with the master is a notice
        return Done(part.spec, title, "nothing was made", why, untouched=False)
    if part.inside:
        return _joined(delivery, source, part, title)
    if delivery.built and not part.shipped:
        return Done(part.spec, title, "refused: nothing was written", (), untouched=False)
    sentence = _identical(source, part, part.chain) if part.chain.identical else _changed(part.chain)
    file = words.plain(part.shipped.path.rpartition("/")[2]) if part.shipped else ""
    sha256 = part.shipped.sha256 if part.shipped else ""
    return Done(part.spec, title, sentence, tuple(_lines(part, part.chain)), part.chain.identical, file, sha256)


def _joined(delivery: Delivery, source: Source, part: Part, title: str) -> Done:
    """A song inside a disc or side: its position, and the proof by cutting it out again."""
    assert part.chain
    images = (image for image in delivery.images if image.shipped and image.shipped.path == part.inside)
    image = next(images)
    at = next(i for i, song in enumerate(image.programme.songs) if song.position == part.track)
    song, left = image.programme.songs[at], image.song_hashes[at]
    came = str(source.measurement.value("audio_hash") or "") if source.measurement else ""
    where = f"{song.length} samples from sample {song.begins} of {words.plain(image.name)}"
    lines = (f"Joined: {where}.", *_lines(part, part.chain))
    if part.chain.identical and came == left:
        sentence = f"samples bit-identical: audio hash in = audio hash cut out again ({words.short_hash(left)})"
        return Done(part.spec, title, sentence, lines, untouched=True)
    return Done(part.spec, title, f"joined, after {_changed(part.chain)}", lines, untouched=False)


def _identical(source: Source, part: Part, chain: Chain) -> str:
    """The proof if the file was read back, the intention if it was not, and a warning if they disagree."""
    came = str(source.measurement.value("audio_hash") or "") if source.measurement else ""
    left = str(part.shipped.measurement.value("audio_hash") or "") if part.shipped else ""
    if not part.shipped:
        return f"samples to stay bit-identical, as {format_of(chain.target)}"
    if not came or not left:
        return "samples should be bit-identical; not proven, because an audio hash is missing"
    if came == left and source.sha256 and part.shipped.sha256 == source.sha256:
        return f"the master itself, byte for byte: its own SHA-256 ({words.short_hash(source.sha256)})"
    if came == left:
        return f"samples bit-identical: audio hash in = audio hash out ({words.short_hash(left)})"
    return f"samples differ: audio hash in {words.short_hash(came)}, out {words.short_hash(left)}"


def _changed(chain: Chain) -> str:
    count = sum(step.kind not in (StepKind.COPY, StepKind.REWRAP) for step in chain.steps)
    gain = "" if chain.step(StepKind.GAIN) else ", gain: none"
    return f"{words.counted(count, 'step')} to {format_of(chain.target)}{gain}"


def _lines(part: Part, chain: Chain) -> list[str]:
    tags = part.shipped.tags if part.shipped else None
    lines = [_line(step) for step in chain.steps]
    if part.shipped and chain.step(StepKind.ENCODE):
        lines.append(_decoded(part.shipped.measurement))
    if tags and tags.differs:
        lines.append(f"Tags that read back otherwise: {'; '.join(map(words.plain, tags.differs))}.")
    if tags and tags.not_stored:
        lines.append(f"Fields this container cannot hold: {', '.join(_field(field) for field in tags.not_stored)}.")
    lines += [f"{words.plain(note)}." for note in tags.notes] if tags else []
    return lines


def _decoded(measurement: Measurement) -> str:
    """Effect of the encoder on the peaks; encoders are not exactly linear, so the trim is 'about'."""
    peak_dbtp, count = measurement.value("true_peak_dbtp"), measurement.value("overs_count")
    if peak_dbtp is None:
        return f"Decoded to float; no peak: {words.plain(measurement['true_peak_dbtp'].why_missing)}."
    if not count:
        return f"Decoded to float and measured: true peak {peak_dbtp:+.2f} dBTP, no over above 0 dBTP."
    worst = sorted(measurement.value("overs"), key=lambda over: (-over[2], over[0]))[:WORST_LISTED]
    places = words.listed(f"{dbtp:+.2f} dBTP at {words.at(at_s)}" for at_s, _, dbtp in worst)
    overs, trim = words.counted(count, "over"), -trim_db(peak_dbtp)
    return (
        f"Decoded to float and measured: {overs} above 0 dBTP, the worst {places}; about {trim:.2f} dB less cures it."
    )


def _field(name: str) -> str:
    return words.plain(name).replace("_", " ").replace("isrc", "ISRC").replace("upc", "UPC")


def _line(step: Step) -> str:
    means = {StepKind.RATE: _converter, StepKind.REQUANTISE: _dither}.get(step.kind, lambda _step: "")(step)
    because = words.plain(step.because)
    return _sentence(words.plain(step.sentence), means and f", {means}", because and f": {because}")


def _converter(step: Step) -> str:
    return str(step.settings.get("converter") or CONVERTER)


def _dither(step: Step) -> str:
    """The dither by its full name; a noise-shaped curve by its own."""
    name = str(step.settings.get("dither", "tpdf"))
    return DITHERS.get(name, f"noise-shaped by '{words.plain(name)}' over triangular, 2 steps wide")


def _sentence(*pieces: str) -> str:
    text = "".join(pieces)
    return f"{text[:1].upper()}{text[1:]}" + ("" if text.endswith((".", "!", "?")) else ".")


def chains(delivery: Delivery) -> list[Chain]:
    """The chains of all parts."""
    return [part.chain for part in delivery.parts if part.chain]


def dithers(delivery: Delivery) -> list[str]:
    """Every dither used, in words, each once."""
    steps = [chain.step(StepKind.REQUANTISE) for chain in chains(delivery)]
    return list(words.unique(_dither(step) for step in steps if step))


def converts(delivery: Delivery) -> bool:
    """True if any file is resampled."""
    return any(chain.step(StepKind.RATE) for chain in chains(delivery))
