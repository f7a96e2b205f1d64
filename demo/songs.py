"""What the band plays: the songs of the album as tables of keys, chords, grooves and forms."""

from __future__ import annotations

from dataclasses import dataclass, replace

MODES = {
    "ionian": (0, 2, 4, 5, 7, 9, 11),
    "dorian": (0, 2, 3, 5, 7, 9, 10),
    "aeolian": (0, 2, 3, 5, 7, 8, 10),
    "mixolydian": (0, 2, 4, 5, 7, 9, 10),
}


@dataclass(frozen=True, slots=True)
class Groove:
    """A bar of drums and bass on a grid of sixteenths: 'X' loud, 'x' soft, 'o' open, '.' nothing."""

    kick: str
    snare: str
    hat: str
    bass: str
    """'1' root, '5' fifth, '8' octave, '.' let it ring."""

    @property
    def steps(self) -> int:
        return len(self.kick)


FOUR = Groove("X.....x.X.x.....", "....X.......X..x", "x.x.x.x.x.x.x.o.", "1..1..1.5.1...8.")
HALF = Groove("X.......x.x.....", "........X.......", "x.xxx.x.x.xxx.o.", "1.....1...5.8...")
DRIVE = Groove("X...X...X...X...", "....X.......X...", "..x...x...x...o.", "1.1.1.8.1.1.5.8.")
WALTZ = Groove("X.......x...", "....x...X...", "x.x.x.x.x.o.", "1...5...8...")
BROKEN = Groove("X..x..X...x.....", "....X..x....X...", "x.xxx.xxx.xxx.xo", "1..1....5..8..1.")


@dataclass(frozen=True, slots=True)
class Part:
    """A stretch of the form: what it is called and how many bars it lasts."""

    name: str
    """'intro', 'verse', 'chorus' or 'outro'."""
    bars: int


FORM = (Part("intro", 2), Part("verse", 4), Part("chorus", 4), Part("verse", 4), Part("chorus", 4), Part("outro", 2))


@dataclass(frozen=True, slots=True)
class Song:
    seed: int
    bpm: float
    root: int
    """MIDI note of the key's root, around 45 to 56."""
    mode: str
    verse: tuple[int, ...]
    """Chord of each bar as a degree of the scale, 1 to 7."""
    chorus: tuple[int, ...]
    groove: Groove
    drive_db: float
    """How hard the mix is pushed into the last stage: the loudness of the song."""
    form: tuple[Part, ...] = FORM

    def note(self, degree: int) -> int:
        """MIDI note of a degree counted from 0 at the root, in either direction, through the octaves."""
        octave, step = divmod(degree, 7)
        return self.root + 12 * octave + MODES[self.mode][step]

    def chord(self, bar: int, part: str) -> tuple[int, ...]:
        """Degrees (from 0) of the bar's chord: root, third, fifth, seventh."""
        row = self.chorus if part in ("chorus", "outro") else self.verse
        first = row[bar % len(row)] - 1
        return (first, first + 2, first + 4, first + 6)

    @property
    def beat_s(self) -> float:
        return 60 / self.bpm

    @property
    def bar_s(self) -> float:
        return self.groove.steps / 4 * self.beat_s

    @property
    def bars(self) -> int:
        return sum(part.bars for part in self.form)

    def longer(self, times: int) -> Song:
        """The same song with its verses and choruses played *times* as often."""
        return replace(self, form=(self.form[0], *self.form[1:-1] * times, self.form[-1]))


SOUNDING_LINE = Song(1401, 116, 50, "dorian", (1, 4, 1, 7), (3, 7, 4, 1), FOUR, 8.5)
DROWNED_CLOCKS = Song(1402, 92, 48, "mixolydian", (1, 7, 4, 1), (4, 1, 5, 7), HALF, 8.0, (*FORM[:3], FORM[4], FORM[5]))
TALLY_OF_LAMPS = Song(1403, 126, 45, "aeolian", (1, 6, 3, 7), (6, 7, 1, 3), DRIVE, 9.0)
TIDE_SUMS = Song(1404, 104, 53, "ionian", (1, 6, 4, 5), (4, 5, 3, 6), WALTZ, 8.0)
EBB_LEDGER = Song(1405, 108, 47, "dorian", (1, 3, 4, 4), (6, 7, 1, 4), BROKEN, 8.5)
