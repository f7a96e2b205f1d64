"""Events to listen to: mains hum, under quiet parts and under continuous music."""

from __future__ import annotations

from bisect import insort
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.dsp.blocks.framing import Framing
from delivery.dsp.events.hum import LOUDEST_DBFS, Tone, hum
from delivery.dsp.events.hum_lines import FAR_HZ, HIGHEST_HZ, Lines, hum_of_channels, powers_of
from delivery.dsp.events.hum_lines import WINDOW_S as LONG_S
from delivery.dsp.median import median, medians
from delivery.meters.low_rate import LowRate
from delivery.meters.meter import NO_SOUND, SILENT, Array, all_missing
from delivery.model.figure import Figure, Reading, Subject

Singles = NDArray[np.float32]
PRACTICE = "common practice, no source; limits tuned on planted faults"
WINDOW_S = 2
KEPT = 24
QUIETEST_DBFS = -90.0
LEAST_WINDOWS = 3
KEPT_LONG = 256
"""Long windows; of a file with more, every second one, fourth one ... is kept."""
HALVED = 2
"""Long windows need half the rate only."""
TOGETHER = 8
"""Long windows that are transformed at once: one at a time takes twice as long."""
EASY = 512
"""Long windows are of a multiple of this many samples, which is quickly transformed."""
MOST_APART_DB = 6.0
MOST_APART_HZ = 0.15
PLACES = 20


class Quiet(NamedTuple):
    """A quiet window of one channel."""

    power: float
    second: int
    sound: Singles
    """Of one channel, decimated."""


class HumTone(NamedTuple):
    """Hum found in one quiet window."""

    second: int
    channel: int
    tone: Tone


class Hum:
    """A steady tone of 50, 60 or 16.7 Hz, or twice that, with harmonics in three of a channel's quietest windows.

    Examined are the 24 windows of 2 s, a second apart, with the least power at low frequencies (below half of a low
    rate, 600 to 1200 Hz) that are not silent. Loud audio masks hum, and a bass playing mains frequencies is not steady.

    Under continuous music of 25 s or more: windows of 8 s, half overlapping, and lines of 50, 60 or 16.7 Hz and their
    multiples that stand out with the same level and frequency in the fifth of them that is softest beside the line. A
    drone that is held all through the piece at one of these frequencies looks the same. Where there are lines of 50 and
    of 60 Hz, they are of music. Lines between the harmonics, in either kind of window, tell strokes from hum that come
    evenly, 0.08 to 0.28 s apart.
    """

    subject = Subject.LISTEN
    least_rate_hz = 1000
    shares = LowRate
    gives = (
        Figure(
            "hum_places",
            "",
            0,
            "Stretches of quiet sound with mains hum, or one if it is under all.",
            PRACTICE,
        ),
        Figure("hum_places_at_s", "", None, "Where the first twenty of them begin.", PRACTICE),
        Figure("hum_hz", "Hz", 2, "Frequency of the hum's fundamental.", PRACTICE),
        Figure("hum_dbfs", "dBFS", 1, "Rms of the hum with its harmonics, in its strongest channel.", PRACTICE),
        Figure("hum_throughout", "", None, "Whether the hum shows under the music too, all through.", PRACTICE),
    )

    def __init__(self, sound: SoundFacts, low: LowRate | None = None) -> None:
        self._low = low or LowRate(sound)
        self._rate_hz = self._low.rate_hz
        self._hop = round(self._rate_hz)
        self._windows = Framing(sound.channels, WINDOW_S * self._hop, lambda k: k * self._hop, np.float32)
        self._second = self._frames = 0
        self._quiet: list[list[Quiet]] = [[] for _ in range(sound.channels)]
        long = EASY * max(1, round(LONG_S * self._rate_hz / HALVED / EASY))
        self._bin_hz = self._rate_hz / HALVED / long
        self._shape = np.hanning(long + 1)[:-1]
        self._shape *= 2 / self._shape.sum()
        self._bins = min(int((HIGHEST_HZ + FAR_HZ) / self._bin_hz) + 2, long // 2)
        self._longs = Framing(sound.channels, HALVED * long, lambda k: k * long, np.float32)
        self._waiting: list[Singles] = []
        self._powers: list[Singles] = []
        self._stride, self._long_number = 1, 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        self._frames += len(block)
        samples = self._low.samples(block)
        for _start, window in self._windows.windows(samples):
            self._keep(window)
            self._second += 1
        for _start, window in self._longs.windows(samples):
            self._keep_long(window)

    def _keep(self, window: Singles) -> None:
        """Keep it if it is one of the quietest so far, and not silent."""
        for channel, sound in enumerate(window):
            power = float(np.dot(sound, sound)) / len(sound)
            kept = self._quiet[channel]
            if power > 10 ** (QUIETEST_DBFS / 10) and (len(kept) < KEPT or power < kept[-1].power):
                insort(kept, Quiet(power, self._second, sound.copy()), key=lambda quiet: quiet[:2])
                del kept[KEPT:]

    def _keep_long(self, window: Singles) -> None:
        """Keep one window of 8 s for its spectra; where there are too many, every second one."""
        if self._long_number % self._stride == 0:
            if len(self._powers) + len(self._waiting) == KEPT_LONG:
                self._transform()
                self._powers = self._powers[::2]
                self._stride *= 2
            if self._long_number % self._stride == 0:
                self._waiting.append((window[:, ::HALVED] + window[:, 1::HALVED]) / np.float32(HALVED))
                if len(self._waiting) == TOGETHER:
                    self._transform()
        self._long_number += 1

    def _transform(self) -> None:
        if self._waiting:
            together = powers_of(np.stack(self._waiting), self._shape, self._bins)
            self._powers.extend(powers.copy() for powers in together)  # as views they would keep those left out later
            self._waiting.clear()

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if not self._second:
            return all_missing(self.gives, f"too short: under {WINDOW_S} s" if self._frames else NO_SOUND)
        if not any(self._quiet):
            return all_missing(self.gives, SILENT)
        tones_found = [one for channel in range(len(self._quiet)) for one in self._in_channel(channel)]
        throughout = self._throughout()
        if not tones_found and not throughout:
            return Reading(0), Reading(()), *all_missing(self.gives[2:], "no hum found")
        seconds = sorted({one.second for one in tones_found})
        starts = [at for at in seconds if not {at - 1, at - 2} & set(seconds)]
        at_s = tuple(at * self._hop / self._rate_hz for at in starts[:PLACES])
        if not tones_found:
            loudest_line = max(throughout, key=lambda lines: lines.power)
            at_s = (loudest_line.softest * self._stride / self._bin_hz / 2,)
            dbfs = 10 * float(np.log10(loudest_line.power))
            return Reading(1), Reading(at_s), Reading(loudest_line.hz), Reading(dbfs), Reading(True)
        loudest = max(tones_found, key=lambda one: (one.tone.dbfs, -one.second)).channel
        tones = [one.tone for one in tones_found if one.channel == loudest]
        hz, dbfs = (median([getattr(tone, name) for tone in tones]) for name in ("hz", "dbfs"))
        if throughout:  # longer windows: more exact
            hz = max(throughout, key=lambda lines: lines.power).hz
        return Reading(len(starts)), Reading(at_s), Reading(hz), Reading(dbfs), Reading(bool(throughout))

    def _throughout(self) -> list[Lines]:
        """Lines of hum in all long windows; louder ones are part of the music."""
        self._transform()
        if not self._powers:
            return []
        found = hum_of_channels(self._powers, self._bin_hz)
        return [lines for lines in found if lines.power < 10 ** (LOUDEST_DBFS / 10)]

    def _in_channel(self, channel: int) -> list[HumTone]:
        """Windows with the same hum in all of them; none unless there are enough."""
        tones = [(quiet.second, hum(quiet.sound, self._rate_hz, self._low.response)) for quiet in self._quiet[channel]]
        tones_found = [HumTone(second, channel, tone) for second, tone in tones if tone is not None]
        if not tones_found:
            return []
        hz, dbfs = medians(np.transpose([(one.tone.hz, one.tone.dbfs) for one in tones_found]))
        same = [
            one
            for one in tones_found
            if abs(one.tone.hz - hz) < MOST_APART_HZ and abs(one.tone.dbfs - dbfs) < MOST_APART_DB / 2
        ]
        return same if len(same) >= LEAST_WINDOWS else []
