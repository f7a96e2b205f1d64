"""A song as sound: the players read the tables, a room is added, the last stage makes it loud. Seeded: same bits."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache

import numpy as np

from demo import instruments as play
from demo.finish import finished
from demo.instruments import Array
from demo.songs import Song

LEAD_IN_S = 0.2
"""Silence before the first note."""
RING_S = 2.5
"""What the last bar rings on for, faded out."""
TAIL_S = 1.0
"""Silence after the fade."""

LOUD = {"X": 1.0, "x": 0.55, "o": 0.8, ".": 0.0}
LEVEL = {"intro": 0.55, "verse": 0.6, "chorus": 1.0, "outro": 0.6}
PHRASES = ((4, 2, 2, 4, 4), (6, 2, 4, 4), (2, 2, 4, 2, 2, 4), (3, 3, 2, 8))
"""Lengths of a melody's notes in sixteenths; cut at the bar's end."""


def sections(song: Song) -> Iterator[tuple[str, float, float]]:
    """Name, start and end of each part of the form, seconds from the file's start."""
    at_s = LEAD_IN_S
    for part in song.form:
        yield part.name, at_s, at_s + part.bars * song.bar_s
        at_s += part.bars * song.bar_s


def length_s(song: Song) -> float:
    return LEAD_IN_S + song.bars * song.bar_s + RING_S + TAIL_S


class Desk:
    """A stereo tape with a send to the room: players put sounds on it at a time, with a level and a side."""

    def __init__(self, rate_hz: int, seconds: float) -> None:
        self.rate_hz = rate_hz
        self.dry = np.zeros((2, round(seconds * rate_hz)))
        self.send = np.zeros(self.dry.shape[1])

    def put(self, sound: Array, at_s: float, level: float, pan: float = 0.0, room: float = 0.0) -> None:
        """Add *sound*, (frames,) or (2, frames). *pan* runs from -1 (left) to 1 (right), constant power."""
        start = max(round(at_s * self.rate_hz), 0)
        frames = min(sound.shape[-1], self.dry.shape[1] - start)
        heard = level * sound[..., :frames]
        angle = (pan + 1) * np.pi / 4
        self.dry[:, start : start + frames] += np.sqrt(2) * np.array([[np.cos(angle)], [np.sin(angle)]]) * heard
        if room:
            self.send[start : start + frames] += room * (heard.mean(axis=0) if heard.ndim == 2 else heard)


def bars(song: Song) -> Iterator[tuple[int, str, float, bool]]:
    """Every bar: its number within its part, the part, its start in seconds, whether the part ends with it."""
    for part, (name, start_s, _) in zip(song.form, sections(song), strict=True):
        for bar in range(part.bars):
            yield bar, name, start_s + bar * song.bar_s, bar == part.bars - 1


def drums(song: Song, desk: Desk, rng: np.random.Generator, made_of: np.random.Generator) -> None:
    """The groove with human timing and touch; a bar of hats alone in the intro, nothing but a crash in the outro."""
    kit = {made.__name__: made(made_of, desk.rate_hz) for made in (play.kick, play.snare, play.open_hat, play.crash)}
    hats = [play.hat(made_of, desk.rate_hz) for _ in range(3)]
    step_s = song.bar_s / song.groove.steps
    for bar, part, start_s, last in bars(song):
        level = LEVEL[part]
        if bar == 0 and part in ("chorus", "outro"):
            desk.put(kit["crash"], start_s, 0.5 * level)
        if part == "outro":
            continue
        for step in range(song.groove.steps):
            at_s = start_s + step * step_s + rng.normal(0, 0.0015)
            touch = level * rng.uniform(0.88, 1.0)
            hat_mark, fill = song.groove.hat[step], last and step >= song.groove.steps - 3
            if hat_mark != ".":
                hat = kit["open_hat"] if hat_mark == "o" and part == "chorus" else hats[step % len(hats)]
                desk.put(hat, at_s, 0.5 * LOUD[hat_mark] * touch, pan=0.3)
            if part == "intro":
                continue
            if song.groove.kick[step] != ".":
                desk.put(kit["kick"], at_s, 0.85 * LOUD[song.groove.kick[step]] * touch)
            if song.groove.snare[step] != "." or fill:
                desk.put(kit["snare"], at_s, 0.75 * max(LOUD[song.groove.snare[step]], 0.5 * fill) * touch, -0.1, 0.3)


def bassist(song: Song, desk: Desk, bass: Callable[[int, float], Array]) -> None:
    step_s = song.bar_s / song.groove.steps
    for bar, part, start_s, _ in bars(song):
        root = song.note(song.chord(bar, part)[0])
        root -= 12 * (root >= 52)
        if part == "outro":
            desk.put(bass(root - 12, song.bar_s), start_s, 0.4 * LEVEL[part])
        if part not in ("verse", "chorus"):
            continue
        marks = [(step, mark) for step, mark in enumerate(song.groove.bass) if mark != "."]
        ends = [step for step, _ in marks[1:]] + [song.groove.steps]
        for (step, mark), end in zip(marks, ends, strict=True):
            midi = root - 12 + {"1": 0, "5": 7, "8": 12}[mark]
            desk.put(bass(midi, (end - step) * step_s), start_s + step * step_s, 0.5 * LEVEL[part])


def harmony(song: Song, desk: Desk, pad: Callable[[tuple[int, ...], float], Array], keys: Callable[..., Array]) -> None:
    """Pads hold the chord; keys break it in the intro and verse, strike it in the chorus."""
    step_s = song.bar_s / song.groove.steps
    for bar, part, start_s, last in bars(song):
        degrees = song.chord(bar, part)
        notes = tuple(song.note(degree) for degree in degrees)
        voiced = tuple(note + 12 * (note < 55) for note in notes)
        ring_s = RING_S if part == "outro" and last else 0.4
        desk.put(pad(voiced, song.bar_s + ring_s), start_s, (0.34 if part == "chorus" else 0.4) * LEVEL[part], room=0.5)
        for step in range(0, song.groove.steps, 2):
            at_s, pan = start_s + step * step_s, -0.45 + 0.1 * (step // 2 % 4)
            if part in ("intro", "verse"):
                desk.put(keys(voiced[step // 2 % 4] + 12, 0.9), at_s, 0.22 * LEVEL[part], pan, room=0.4)
            elif step in (0, 6) or (part == "chorus" and step == 10):
                for midi in voiced[:3]:
                    desk.put(keys(midi + 12, 0.9), at_s, 0.15 * LEVEL[part], pan, room=0.4)


def tune(song: Song, rng: np.random.Generator) -> list[list[tuple[int, int, int]]]:
    """Four bars of melody: (step, length in steps, degree above the chord's root) for each note of each bar.

    Bars 1 and 3 share a rhythm and their first notes; every bar begins on a chord tone and moves mostly by step.
    """
    rhythms = [PHRASES[i] for i in rng.permutation(len(PHRASES))[:2]]
    made: list[list[tuple[int, int, int]]] = []
    for bar in range(4):
        step, degree = 0, int(rng.choice((0, 2, 4))) if bar != 2 else made[0][0][2]
        notes = []
        for length in rhythms[bar % 2]:
            if step >= song.groove.steps:
                break
            length = min(length, song.groove.steps - step)
            if rng.random() < 0.88:
                notes.append((step, length, degree))
            step += length
            degree = int(np.clip(degree + rng.choice((-2, -1, -1, 1, 1, 2, 3)), -2, 7))
        made.append(notes or [(0, song.groove.steps, degree)])
    return made


def singer(song: Song, desk: Desk, rng: np.random.Generator, lead: Callable[[int, float], Array]) -> None:
    """The verse's tune low and alone, the chorus's an octave up with a third under it."""
    tunes = {"verse": tune(song, rng), "chorus": tune(song, rng)}
    step_s = song.bar_s / song.groove.steps
    for bar, part, start_s, _ in bars(song):
        for step, length, degree in tunes.get(part, [[]])[bar % 4] if part in tunes else ():
            at_s, seconds = start_s + step * step_s, max(0.9 * length * step_s, 0.15)
            above = song.chord(bar, part)[0] + degree + (7 if part == "verse" else 14)
            above -= 7 * (song.note(above) > 88)
            desk.put(lead(song.note(above), seconds), at_s, 0.3 * LEVEL[part], pan=0.08, room=0.5)
            if part == "chorus":
                desk.put(lead(song.note(above - 2), seconds), at_s, 0.16, pan=-0.35, room=0.6)


def mix(song: Song, rate_hz: int) -> Array:
    """The song before its last stage, (2, frames) float64 at *rate_hz*; no level promised.

    Each player draws from its own chance, so that the notes are the same at every rate.
    """
    desk = Desk(rate_hz, length_s(song))
    written, touch, kit, room = (np.random.default_rng([song.seed, player]) for player in range(4))

    @cache
    def bass(midi: int, seconds: float) -> Array:
        return play.bass(midi, seconds, rate_hz)

    @cache
    def pad(chord: tuple[int, ...], seconds: float) -> Array:
        return play.pad(chord, seconds, rate_hz)

    @cache
    def keys(midi: int, seconds: float) -> Array:
        return play.keys(midi, seconds, rate_hz)

    @cache
    def lead(midi: int, seconds: float) -> Array:
        return play.lead(midi, seconds, rate_hz)

    singer(song, desk, written, lead)
    drums(song, desk, touch, kit)
    bassist(song, desk, bass)
    harmony(song, desk, pad, keys)
    return with_room(desk, room)


def with_room(desk: Desk, rng: np.random.Generator) -> Array:
    """The dry tape plus its send through a decaying noise, each side its own; block by block (overlap-add)."""
    t = play.time_s(desk.rate_hz, 1.3)
    reply = np.stack([play.shaped_noise(rng, desk.rate_hz, 1.3, 500, 4_500) for _ in range(2)])
    reply *= np.exp(-t / 0.28) * np.clip(t / 0.012, 0, 1)
    reply /= np.sqrt((reply**2).sum(axis=1, keepdims=True))
    size = 1 << 18
    hop = size - len(t)
    spectrum = np.fft.rfft(reply, size)
    heard = desk.dry
    frames = heard.shape[1]
    for start in range(0, frames, hop):
        wet = np.fft.irfft(np.fft.rfft(desk.send[start : start + hop], size) * spectrum, size)
        end = min(start + size, frames)
        heard[:, start:end] += 0.55 * wet[:, : end - start]
    return heard


def perform(song: Song, rate_hz: int) -> Array:
    """The finished song: (frames, 2) float64 at *rate_hz*, full scale 1.0, ready to be written."""
    return finished(mix(song, rate_hz), rate_hz, song.drive_db, fade_s=RING_S, silence_s=TAIL_S).T
