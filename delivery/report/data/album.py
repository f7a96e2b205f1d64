"""Discs and sides, and songs compared, in the data document: every position in whole samples."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from delivery.model.album import Join, Likeness
from delivery.model.carrier import Programme, Song, msf
from delivery.model.cd_text import disc_text, flags, media_number, track_text
from delivery.model.part import Delivery, Selection
from delivery.model.release import Release


def selection(own: Selection) -> dict[str, Any]:
    """Tracks that some specs receive, their numbers, and their figures as one programme."""
    return {
        "specs": list(own.specs),
        "tracks": [
            {"track": track.position, "number": track.number, "disc": track.disc, "side": track.side}
            for track in own.release.tracks
        ],
        "album": dict(own.album),
        "joins": [_join(join) for join in own.joins],
    }


def joins(delivery: Delivery) -> list[dict[str, Any]]:
    """Joins between songs, as plain data."""
    return [_join(join) for join in delivery.joins]


def likenesses(delivery: Delivery) -> list[dict[str, Any]]:
    """Tracks with the same or nearly the same audio, as plain data."""
    return [_likeness(likeness) for likeness in delivery.likenesses]


def programme(laid_out: Programme, song_hashes: tuple[str, ...], release: Release) -> dict[str, Any]:
    """Positions of a disc or side; frames only if its carrier counts in them."""
    frames = laid_out.carrier.in_frames
    return {
        "part": laid_out.name,
        "kind": laid_out.carrier.kind,
        "size_inch": laid_out.pressing.size_inch,
        "speed_rpm": laid_out.pressing.speed_rpm,
        "rate_hz": laid_out.rate_hz,
        "frame_samples": laid_out.carrier.frame_samples,
        "length_samples": laid_out.length,
        "first_pause_frames": laid_out.first_pause,
        "lead_out": msf(laid_out.lead_out) if frames else None,
        "copy_permitted": laid_out.carrier.copy_permitted,
        "mark_early_frames": laid_out.carrier.mark_early_frames,
        "mark_late_frames": laid_out.carrier.mark_late_frames,
        "media_catalogue_number": media_number(release) if frames else None,
        "cd_text": asdict(disc_text(release)) if frames else None,
        "songs": [
            _song(laid_out, song, song_hashes[at] if at < len(song_hashes) else "", release)
            for at, song in enumerate(laid_out.songs)
        ],
    }


def _song(laid_out: Programme, song: Song, audio_hash: str, release: Release) -> dict[str, Any]:
    frames, track = laid_out.carrier.in_frames, release.track(song.position)
    control = flags(track, laid_out.carrier)
    index_0 = 0 if song.number == 1 else laid_out.on_carrier(song.pause)
    return {
        "track": song.position,
        "number": song.number,
        "begins_sample": song.begins,
        "samples": song.length,
        "padding_samples": song.padding,
        "pregap_samples": song.pregap,
        "mark_early_samples": laid_out.early(song),
        "runs_on": song.joined,
        "index_0": msf(index_0) if frames else None,
        "index_1": msf(laid_out.on_carrier(song.mark)) if frames else None,
        "index_0_in_image": msf(song.pause) if frames else None,
        "index_1_in_image": msf(song.mark) if frames else None,
        "end_late_frames": laid_out.late_frames(song) if frames else None,
        "index_points": [
            {
                "number": index.number,
                "at": msf(laid_out.on_carrier(index.frame)),
                "in_image": msf(index.frame),
                "early_samples": index.early,
            }
            for index in song.indices
            if frames
        ],
        "copy_permitted": control.copy_permitted if frames else None,
        "pre_emphasis": control.pre_emphasis if frames else None,
        "cd_text": asdict(track_text(track, release)) if frames else None,
        "audio_hash": audio_hash,
    }


def _join(join: Join) -> dict[str, Any]:
    return {
        "before": join.before,
        "after": join.after,
        "cut": join.cut.value,
        "gap_s": join.gap_s,
        "step_db": join.step_db,
    }


def _likeness(likeness: Likeness) -> dict[str, Any]:
    return {
        "one": likeness.one,
        "other": likeness.other,
        "exact": likeness.exact,
        "correlation": likeness.correlation,
        "offset_s": likeness.offset_s,
        "gain_db": likeness.gain_db,
        "share": likeness.share,
        "stretches": [asdict(stretch) for stretch in likeness.stretches],
    }
