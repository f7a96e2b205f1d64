"""A made-up but lifelike Delivery for the tests of reports; figures come from seeded noise, not from sound."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from delivery.model.chain import Chain, Step, StepKind, Target
from delivery.model.figure import Figure, Measurement, Reading
from delivery.model.finding import Answer, Finding, Result, Weight
from delivery.model.part import Delivery, Part, Shipped, Source, TagReport
from delivery.model.release import Acceptance, Artwork, LogEntry, Release, Studio, Track, Waiver
from delivery.model.spec import Conversions, Requirement, Spec
from delivery.rules.bounds import bounded

BS1770 = "ITU-R BS.1770-5, Annex 1; EBU Tech 3341"
TRUE_PEAK = "ITU-R BS.1770-5, Annex 2, with finer phases near the candidates"
PRACTICE = "common practice, no source"

FIGURES: dict[str, Figure] = {
    figure.name: figure
    for figure in (
        Figure("integrated_lufs", "LUFS", 1, "Loudness of the whole file.", BS1770),
        Figure("short_term_max_lufs", "LUFS", 1, "Loudest three seconds.", BS1770),
        Figure("short_term_max_at_s", "s", 1, "Where they are.", BS1770),
        Figure("momentary_max_lufs", "LUFS", 1, "Loudest 400 ms.", BS1770),
        Figure("loudness_range_lu", "LU", 1, "Spread of loudness.", "EBU Tech 3342"),
        Figure("true_peak_dbtp", "dBTP", 2, "Highest reconstructed peak.", TRUE_PEAK),
        Figure("overs_count", "", 0, "Separate events above 0 dBTP.", TRUE_PEAK),
        Figure("sample_peak_dbfs", "dBFS", 2, "Highest sample.", "AES17"),
        Figure("plr_db", "dB", 1, "True peak over integrated loudness.", "derived from the two above"),
        Figure("clip_run_count", "", 0, "Runs of equal samples at full scale.", PRACTICE),
        Figure("dc_offset_percent", "%", 3, "Largest mean of any channel.", PRACTICE),
        Figure("correlation", "", 2, "Between left and right.", PRACTICE),
        Figure("balance_db", "dB", 1, "Channel balance.", PRACTICE),
        Figure("mono_loss_db", "dB", 1, "What summing to one channel costs.", PRACTICE),
        Figure("band_edge_hz", "Hz", 0, "Highest frequency above the floor.", PRACTICE),
        Figure("lead_in_s", "s", 3, "Silence before the first sound.", PRACTICE),
        Figure("tail_s", "s", 3, "Silence after the last sound.", PRACTICE),
        Figure("effective_bits", "bit", 0, "Word length that the samples use.", PRACTICE),
        Figure("duration_s", "s", 3, "Length of the file.", "frames divided by rate"),
    )
}

TITLES = (
    "Low Water, Long Shadow",
    "The Arithmetic of Harbours",
    "Salt Ledger",
    "Every Lamp in the Lighthouse Has a Name and Not One of Them Is Ours (For the Keepers, Both)",
    "Tidal",
    "Glass, Counted Twice",
    "Øresund för två",
    "Pilot Boat",
    "Slack Water",
    "Nine Cables Out",
    "Remainder",
    "What the Bell Buoy Said",
)
"""Invented, as everything here."""

HOSTILE = (
    "<b>bold</b> & <font color='red'>red</font> <para>",
    "</text> %PDF-1.7 (unbalanced \\) paren \x00\x07\x1b[31m",
    "abc\u202egnihton\u202c \u2066isolated\u2069 \u200fmark",
    '=HYPERLINK("http://invalid","click")',
    "{{ jinja }} ${env} [red]rich[/red] [/]",
    "A" * 180,
    "lone \ud800 surrogate, \ufffe noncharacter, \ue123 private",
    "\u0301\u0301 marks first, line\nbreak\r\nand\ttab\u2028sep",
    "   ",
    "\U0001f30a wave \U0001f469\u200d\U0001f680 pilot",
)

SCRIPTS = {
    "Arabic": "بحر الليل",
    "Hebrew": "ים הלילה",
    "Devanagari": "क्षितिज की लहरें",
    "Japanese": "港の算術",
    "Korean": "항구의 산술",
    "Traditional": "港灣算術與燈塔",
    "Simplified": "海港算术与灯塔",
    "Thai": "น้ำขึ้นน้ำลง",
    "Tamil": "துறைமுகம்",
    "Greek": "Αριθμητική του λιμανιού",
    "Cyrillic": "Портовая арифметика",
    "Mixed": "Harbour بحر الليل 24 (ים)",
}
"""Two words where direction matters: 'sea of the night'."""


def requirement(requires: str, limit: Any, *, must: bool = True) -> Requirement:
    return Requirement(requires, limit, must, PRACTICE, date(2026, 2, 11), "sample", "sample.yaml:1")


def spec(id: str, title: str, **changes: Any) -> Spec:
    known: dict[str, Any] = {
        "about": "For tests of reports.",
        "checked": date(2026, 2, 11),
        "requirements": (requirement("true_peak_max_dbtp", -1.0), requirement("tail_s", {"at_most": 10})),
        "digest": hashlib.sha256(id.encode()).hexdigest(),
        "lineage": ("common",),
    }
    return bounded(Spec(id, title, **{**known, **changes}), FIGURES)


STORE = spec("store-master-24", "Store master, 24-bit", about="The master's own rate, nothing raised.")
CD = spec(
    "cd-rate-16",
    "CD-rate files",
    about="16-bit 44.1 kHz from the hi-res master, one dither pass.",
    conversions=Conversions(rate="lower", depth="lower"),
)
REFERENCE = spec(
    "reference-mp3", "Listening copy", about="To listen to on the way home.", reference_only=True, bitrate_kbps=320
)
SPECS = (STORE, CD, REFERENCE)


def digest(*names: object) -> str:
    return hashlib.sha256("/".join(map(str, names)).encode()).hexdigest()


def measurement(seed: int, *, rate_hz: int = 96_000, bits: int | None = 24, **changes: Reading) -> Measurement:
    """Every figure of a stereo song of three to five minutes."""
    chance = np.random.default_rng(seed)
    duration_s = round(float(chance.uniform(150, 310)), 3)
    curve = _short_term(chance, duration_s)
    envelope = np.interp(np.linspace(0, 1, 800), np.linspace(0, 1, len(curve)), 10 ** (np.array(curve) / 20)) * 3.4
    shape = np.clip(envelope * chance.uniform(0.75, 1.0, 800), 0, 0.89)
    integrated, peak = float(np.mean(sorted(curve)[len(curve) // 3 :])), float(chance.uniform(-1.6, -1.02))
    hz = tuple(round(1000 * 10 ** (k / 10), 4) for k in range(-17, 14))
    slope = -6 - 0.012 * (np.arange(31) - 8.0) ** 2 * 5 + chance.normal(0, 1.2, 31)
    values: dict[str, Any] = {
        "container": "wav",
        "coding": "pcm",
        "rate_hz": rate_hz,
        "channels": 2,
        "bits": bits,
        "frames": round(duration_s * rate_hz),
        "duration_s": duration_s,
        "size_bytes": round(duration_s * rate_hz) * 6 + 44,
        "extensible": True,
        "audio_hash": digest("audio", seed, rate_hz, bits),
        "integrated_lufs": integrated,
        "momentary_max_lufs": max(curve) + 1.3,
        "momentary_max_at_s": duration_s * 0.62,
        "short_term_max_lufs": max(curve),
        "short_term_max_at_s": float(np.argmax(curve)) * 0.1,
        "loudness_range_lu": float(chance.uniform(4, 9)),
        "short_term_curve_lufs": tuple(curve[: round(duration_s * 10) - 30 : 10]),
        "curve_step_s": 1.0,
        "gating_powers": tuple(10 ** (np.array(curve) / 10)),
        "sample_peak_dbfs": peak - 0.2,
        "true_peak_dbtp": peak,
        "true_peak_at_s": duration_s * 0.7,
        "overs_count": 0,
        "overs": (),
        "plr_db": peak - integrated,
        "clip_run_count": 0,
        "dc_offset_percent": 0.004,
        "correlation": float(chance.uniform(0.3, 0.8)),
        "balance_db": float(chance.normal(0, 0.2)),
        "mono_loss_db": 0.8,
        "band_edge_hz": 21_400.0,
        "third_octave_hz": hz,
        "third_octave_db": tuple(float(v) for v in slope),
        "lead_in_s": 0.21,
        "tail_s": 1.04,
        "effective_bits": bits or 24,
        "dead_channels": (),
        "identical_channels": False,
        "waveform_low": tuple(-float(v) for v in shape * 0.97),
        "waveform_high": tuple(float(v) for v in shape),
    }
    return Measurement({name: Reading(value) for name, value in values.items()}).with_readings(changes)


def _short_term(chance: np.random.Generator, duration_s: float) -> list[float]:
    """Verses, choruses, a bridge; fades at both ends. One value each 0.1 s."""
    count = int(duration_s / 0.1)
    sections = np.repeat(chance.choice([-15.5, -11.2, -12.4, -18.0, -10.4], 12), math.ceil(count / 12))[:count]
    smooth = np.convolve(np.pad(sections, 30, mode="edge"), np.ones(61) / 61, mode="valid")[:count]
    wobble = np.convolve(chance.normal(0, 1.6, count + 40), np.ones(41) / 41, mode="valid")[:count]
    ends = np.minimum(np.arange(count), np.arange(count)[::-1]) * 0.1
    fade = np.where(ends < 6, -34 * (1 - np.minimum(ends, 6) / 6) ** 2, 0)
    return [float(v) for v in np.maximum(smooth + wobble + fade, -120)]


def finding(rule: str, spec: str, track: int | None, answer: Answer = Answer.MET, **more: Any) -> Finding:
    known = {"must": True, "weight": Weight.FACT}
    return Finding(rule=rule, spec=spec, track=track, answer=answer, **{**known, **more})


def met(spec: str, track: int | None) -> tuple[Finding, ...]:
    rules = ("container", "rate_hz", "true_peak_max_dbtp", "tail_s", "finite_samples")
    return tuple(finding(rule, spec, track) for rule in rules)


def over_ceiling(spec: str, track: int) -> Finding:
    return finding(
        "true_peak_max_dbtp",
        spec,
        track,
        Answer.NOT_MET,
        found="+0.32 dBTP",
        wanted="at most -1.00 dBTP",
        remedy="a master 1.32 dB lower, or a waiver",
        at_s=(12.44, 61.02, 118.3, 119.0, 121.7, 140.2),
    )


def chain(spec: str, came: Measurement) -> Chain:
    rate_hz = came.value("rate_hz")
    if spec == "store-master-24":
        step = Step(StepKind.COPY, "samples copied bit for bit", "the master already is what the spec requires")
        return Chain((step,), Target("wav", "pcm", rate_hz, 2, 24))
    rate = Step(
        StepKind.RATE,
        f"rate {rate_hz / 1000:g} -> 44.1 kHz",
        f"the spec requires 44.1 kHz, the master has {rate_hz / 1000:g} kHz",
        {"from_hz": rate_hz, "to_hz": 44_100},
    )
    if spec == "cd-rate-16":
        why = "earlier processing needs more bits than the file has"
        dither = Step(
            StepKind.REQUANTISE, "TPDF dither to 16 bit", why, {"bits": 16, "dither": "tpdf", "from_bits": 24}
        )
        return Chain((rate, dither), Target("wav", "pcm", 44_100, 2, 16))
    settings = {"coding": "mp3", "bitrate_kbps": 320}
    encode = Step(StepKind.ENCODE, "encode MP3 at 320 kbit/s", "the spec requires MP3", settings)
    return Chain((rate, encode), Target("mp3", "mp3", 44_100, 2, None, 320))


def shipped(spec: str, track: Track, made: Chain, came: Measurement) -> Shipped:
    suffix = ".mp3" if spec == "reference-mp3" else ".wav"
    name = f"{track.position:02} {track.title.strip() or 'untitled'}{suffix}".replace("/", "_")
    measured = came
    if not made.identical:
        peak = came.value("true_peak_dbtp") + 0.02
        measured = came.with_readings(
            {
                "rate_hz": Reading(44_100),
                "bits": Reading(made.target.bits) if made.target.bits else Reading.missing("a lossy coding has none"),
                "audio_hash": Reading(digest(spec, track.position)),
                "true_peak_dbtp": Reading(peak),
                "sample_peak_dbfs": Reading(peak - 0.3),
                "effective_bits": Reading(16) if made.target.bits else Reading.missing("a lossy coding has none"),
            }
        )
    tags = TagReport({"title": track.title}, not_stored=("isrc",) if spec == "cd-rate-16" else ())
    return Shipped(
        f"data/{spec}/{name}",
        1_000_000 + track.position,
        digest("file", spec, track.position),
        hashlib.md5(f"{spec}{track.position}".encode(), usedforsecurity=False).hexdigest(),
        measured,
        tags,
    )


def part(spec: Spec, source: Source) -> Part:
    track = source.track
    if source.measurement is None:
        return Part(spec.id, track.position, None, (), f"track {track.position}", problem=source.problem)
    made = chain(spec.id, source.measurement)
    file = shipped(spec.id, track, made, source.measurement)
    name = file.path.rpartition("/")[2]
    return Part(spec.id, track.position, made, met(spec.id, track.position), name, file)


def release(titles: tuple[str, ...], folder: Path = Path("album"), **changes: Any) -> Release:
    tracks = tuple(
        Track(
            position=position,
            file=folder / f"{position:02} master.wav",
            title=title,
            number=position,
            isrc=f"ZZOSL26{position:05}",
            composers=("Ada Merrow", "Ivo Quill"),
            language="en",
            explicit="no",
            gap_before_s=2.0 if position > 1 else None,
        )
        for position, title in enumerate(titles, start=1)
    )
    known: dict[str, Any] = {
        "label": "Ostrelune Records",
        "catalogue_number": "OSL-014",
        "upc": "2000000140018",
        "release_date": date(2026, 10, 2),
        "p_line": "2026 Ostrelune Records",
        "c_line": "2026 Ostrelune Records",
        "genre": "Alternative",
        "language": "en",
        "client": "Ostrelune Records, Idris Pell",
        "revision": 3,
        "dated": date(2026, 8, 14),
    }
    return Release(
        folder / "release.yaml", "Harbour Arithmetic", "Merrow & the Glass Tide", tracks, **{**known, **changes}
    )


STUDIO = Studio("Nell Arkwright", "Lantern Room Mastering", "14 Quay Street\n+00 555 0114\nnell@lanternroom.invalid")


def delivery(count: int = 12, specs: tuple[Spec, ...] = SPECS, **of_release: Any) -> Delivery:
    """All is well: *count* tracks for every spec, one answer waived."""
    titles = tuple(TITLES[i % len(TITLES)] + (f" {i // len(TITLES) + 1}" if i >= 12 else "") for i in range(count))
    return of_titles(titles, specs, **of_release)


def of_titles(titles: tuple[str, ...], specs: tuple[Spec, ...] = SPECS, **of_release: Any) -> Delivery:
    album = release(titles, **of_release)
    sources = tuple(
        Source(track, measurement(track.position), digest("master", track.position)) for track in album.tracks
    )
    return Delivery(
        release=album,
        studio=STUDIO,
        specs=specs,
        sources=sources,
        parts=tuple(part(each, source) for each in specs for source in sources),
        findings=tuple(finding for each in specs for finding in met(each.id, None)[:2]),
        version="0.1.0",
        built=True,
        album={"integrated_lufs": -12.64, "duration_s": 2731.25, "true_peak_dbtp": -1.02},
    )


def troubled(count: int = 12) -> Delivery:
    """The same with a refused part, an unusable master, remarks, waivers and something not measured."""
    whole = delivery(count)
    loud = measurement(2).with_readings(
        {
            "true_peak_dbtp": Reading(0.3172),
            "overs_count": Reading(14),
            "overs": Reading(((12.44, 1, 0.21), (61.02, 2, 0.3172), (118.3, 1, 0.11))),
        }
    )
    sources = tuple(_troubled_source(source, loud) for source in whole.sources)
    parts = tuple(_troubled_part(each, sources[each.track - 1]) for each in whole.parts)
    waiver = Waiver("tail_s", "Ada Merrow, artist", "the sea goes on; the silence is meant", 5)
    missing_code = finding(
        "upc_check_digit",
        "store-master-24",
        None,
        Answer.NOT_MET,
        found="2000000140019",
        wanted="check digit 8",
        remedy="ask the client for the code again",
        place="release.yaml:7",
        must=False,
    )
    return replace(
        whole,
        release=replace(whole.release, waivers=(waiver,), upc="2000000140019"),
        sources=sources,
        parts=parts,
        findings=(*whole.findings, missing_code),
        remarks=("Spec 'reference-mp3' was checked more than 12 months ago.",),
        artwork_problem="cover.jpg: found 800 × 790 px JPEG data that end early",
    )


def _troubled_source(source: Source, loud: Measurement) -> Source:
    if source.track.position == 2:
        return replace(source, measurement=loud)
    if source.track.position == 3:
        found = "12.1 s of sound where the header promises 214.0 s"
        problem = f"03 master.wav: found {found}, wanted a whole file. Copy it again."
        return Source(source.track, None, problem=problem)
    return source


def _troubled_part(each: Part, source: Source) -> Part:
    if source.measurement is None:
        return replace(each, chain=None, findings=(), shipped=None, problem=source.problem)
    if each.track == 2:
        return replace(each, findings=(*each.findings[:2], over_ceiling(each.spec, 2)), shipped=None)
    if each.track == 5:
        why = "Ada Merrow, artist: the sea goes on; the silence is meant"
        waived = finding("tail_s", each.spec, 5, Answer.WAIVED, found="14.20 s", wanted="at most 10.00 s", why=why)
        return replace(each, findings=(*each.findings, waived))
    if each.track == 6:
        unknown = finding(
            "not_upsampled",
            each.spec,
            6,
            Answer.NOT_MEASURED,
            weight=Weight.STRONG_SIGN,
            must=False,
            why="the music has too little above 15 kHz to tell",
        )
        return replace(each, findings=(*each.findings, unknown))
    return each


def pictured(whole: Delivery, artwork: Artwork | None = None, logo: Path | None = None) -> Delivery:
    return replace(whole, artwork=artwork, studio=replace(whole.studio, logo=logo))


def logged(whole: Delivery) -> Delivery:
    """With a QC log, and with remarks that are accepted: one that applies, one that is silent, one for other audio."""
    hashes = [str(source.measurement.value("audio_hash")) for source in whole.sources if source.measurement]
    acceptances = (
        Acceptance(
            "inner_silence_max_s", 1, hashes[0], "Ada Merrow, artist", "the rest before the coda is part of the song"
        ),
        Acceptance("dc_offset_max_percent", 1, hashes[0][:8], "Ada Merrow, artist", "an old converter's"),
        Acceptance("clip_runs_max", 1, "0" * 64, "Nell Arkwright", "the distortion was asked for"),
    )
    log = (
        LogEntry("Click at the edit", "Nell Arkwright", "repaired in the master", 1, 83.45, "left"),
        LogEntry("Breath before the last line", "Ada Merrow, artist", "stays", 1, 12.0, "both"),
        LogEntry("Chair creaks in the fade", "Nell Arkwright", "", 1, 7_000.5),
        LogEntry("Hiss throughout: the tape", "Nell Arkwright", "stays"),
    )
    why = "Ada Merrow, artist: the rest before the coda is part of the song"
    meant = {"found": "11.2 s", "wanted": "at most 10.0 s", "why": why, "at_s": (101.3,), "must": False}
    parts = tuple(
        replace(each, findings=(*each.findings, finding("inner_silence_max_s", each.spec, 1, Answer.ACCEPTED, **meant)))
        if each.track == 1 and each.spec != "reference-mp3"
        else each
        for each in whole.parts
    )
    return replace(whole, parts=parts, release=replace(whole.release, accepted=acceptances, qc_log=log))


def windowed(count: int = 1) -> Delivery:
    """For a broadcaster: a loudness window, and a ceiling well below full scale."""
    requested = (
        requirement("integrated_lufs", {"at_least": -13.5, "at_most": -12.5}),
        requirement("true_peak_max_dbtp", -1.0),
    )
    return delivery(count, (spec("store-master-24", "Programme at a set loudness", requirements=requested),))


def bare() -> Delivery:
    """One track, nothing supplied, nothing built."""
    track = Track(1, Path("album/take.wav"), "")
    album = Release(Path("album/release.yaml"), "", "", (track,))
    source = Source(track, measurement(9), digest("master", 9))
    planned = replace(part(STORE, source), shipped=None)
    return Delivery(album, Studio(), (STORE,), (source,), (planned,))


def results(whole: Delivery) -> Mapping[str, Result]:
    return {each.id: whole.spec_result(each.id) for each in whole.specs}
