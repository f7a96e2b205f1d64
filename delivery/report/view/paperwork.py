"""Additional credits on a track's page: only what was supplied. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from delivery.model.codes import CODES
from delivery.model.fields import fields_kept
from delivery.model.fields.row import Kept
from delivery.model.release import Release, Track, Writer
from delivery.report.view import words
from delivery.report.view.elements import Fact
from delivery.report.view.label_copy import identities


def paperwork(track: Track, release: Release) -> tuple[Fact, ...]:
    """Works, shares, publishers, credits, places, samples, and codes of names."""
    names = [name for name in release.named_on(track) if name != release.artist]
    texts = (
        ("ISWC", CODES["iswc"].printed(track.iswc)),
        ("Writers", "; ".join(map(_writer, track.writers))),
        ("Publishers", words.listed(map(words.plain, track.publishers))),
        ("Credits", "; ".join(_credits(track))),
        ("Recorded", _recorded(track)),
        *((field.on_sheet, track.text(field.id)) for field in fields_kept(Kept.TEXT)),
        ("Language of title", track.title_language),
        ("Tempo and key", ", ".join(text for text in (_bpm(track.bpm), track.key) if text)),
        ("Preview from", "" if track.preview_start_s is None else words.clock(track.preview_start_s, 0)),
        ("Samples", _samples(track)),
        ("ISNI", identities(release, names)),
    )
    return tuple(Fact(label, words.plain(text)) for label, text in texts if words.plain(text))


def of_release(release: Release) -> tuple[Fact, ...]:
    """Facts of the release for its page."""
    texts = (
        ("Sub-genre", release.subgenre),
        ("Territories", words.listed(release.territories)),
        *((field.on_sheet, release.text(field.id)) for field in fields_kept(Kept.TEXT, of_release=True)),
        ("ISNI", identities(release, [release.artist])),
    )
    return tuple(Fact(label, words.plain(text)) for label, text in texts if words.plain(text))


def _writer(writer: Writer) -> str:
    """'Ilse Merrow (composer, lyricist) 60 %, SALT, IPI 00014107338'."""
    share = "" if writer.share_percent is None else f" {writer.share_percent:g} %"
    more = (writer.society, f"IPI {writer.ipi}" if writer.ipi else "")
    named = f"{words.plain(writer.name)} ({', '.join(writer.roles)}){share}"
    return ", ".join([named, *(words.plain(text) for text in more if text)])


def _credits(track: Track) -> Iterator[str]:
    for role in words.unique(credit.role for credit in track.credits):
        names = words.listed(words.plain(credit.name) for credit in track.credits if credit.role == role)
        yield f"{words.plain(role)}: {names}"


def _recorded(track: Track) -> str:
    year = str(track.recording_year or "")
    return ", ".join(text for text in (track.recording_studio, track.recording_country, year) if text)


def _bpm(bpm: float | None) -> str:
    return "" if bpm is None else f"{bpm:g} beats a minute"


def _samples(track: Track) -> str:
    if track.samples is None:
        return ""
    texts = (f"{sample.of} ({'cleared' if sample.cleared else 'not cleared'})" for sample in track.samples)
    return "; ".join(texts) or "none"
