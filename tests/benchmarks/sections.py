"""Sections found in sounds of known form: precision, recall and F measure of boundaries within 3 s.

    python -m tests.benchmarks.sections [FOLDER]

Songs made by code, with their parts as marks; real music joined to known forms (a Debian package of free music);
tracker modules whose form stands in their score (forms.yaml). FOLDER holds the modules where the Debian package
pingus-data is unpacked elsewhere; ffmpeg plays them.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import soundfile
from ruamel.yaml import YAML

from demo import songs
from tests.benchmarks.figures import record_values
from tests.forms import LONG, Hits, hits, joined, played
from tests.music import PIECES

MODULES = Path("/usr/share/games/pingus/data/music")
MADE = (songs.SOUNDING_LINE, songs.DROWNED_CLOCKS, songs.TALLY_OF_LAMPS, songs.TIDE_SUMS, songs.EBB_LEDGER)
FORMS = ("ABABCB", "AABA", "ABACA", "ABCAB")
SHORTEST_S, LONGEST_S = 14, 26


def made() -> Hits:
    found = Hits()
    for song in MADE:
        for form in (None, LONG):
            sound, marked = played(song, form)
            found += hits(sound, 44_100, marked)
    return found


def of_real_music() -> Hits:
    """Twelve forms of stretches that a seeded generator cuts out of the pieces; a stretch has changes of its own."""
    rng, found = np.random.default_rng(7), Hits()
    for turn in range(12 if len(PIECES) >= 3 else 0):
        form, chosen = FORMS[turn % len(FORMS)], rng.choice(len(PIECES), 3, replace=False)
        stretches = {}
        for letter, at in zip("ABC", chosen, strict=True):
            with soundfile.SoundFile(PIECES[at]) as file:
                rate_hz = int(file.samplerate)
                seconds = rng.uniform(SHORTEST_S, LONGEST_S)
                file.seek(int(rng.uniform(30, file.frames / rate_hz - 60) * rate_hz))
                stretches[letter] = file.read(int(seconds * rate_hz), always_2d=True)
        sound, marked = joined(stretches, form, rate_hz)
        found += hits(sound, rate_hz, marked)
    return found


def of_scores(folder: Path) -> Hits:
    forms = YAML(typ="safe").load(Path(__file__).with_name("forms.yaml"))
    found = Hits()
    with tempfile.TemporaryDirectory() as work:
        for name, marked in forms.items():
            if (folder / name).exists():
                wave = Path(work, "played.wav")
                command = ["ffmpeg", "-loglevel", "error", "-y", "-i", str(folder / name), "-ar", "44100", str(wave)]
                subprocess.run(command, check=True)
                sound, rate_hz = soundfile.read(wave, always_2d=True)
                found += hits(sound, rate_hz, marked)
    return found


def main(folder: Path) -> None:
    """Print each; the guide gets those whose music is there."""
    values = {}
    for key, title, found in (
        ("made", "songs made by code", made()),
        ("joined", "real music joined to known forms", of_real_music()),
        ("scores", "modules whose score is known", of_scores(folder)),
    ):
        if not found.marked:
            print(f"{title}: no such music here")
            continue
        print(f"{title}: {found.marked} marked, {found.found} found, {found}")
        values |= {f"{key}_precision": f"{found.precision:.2f}", f"{key}_recall": f"{found.recall:.2f}"}
        values[key] = f"{found.f_measure:.2f}"
    record_values("comparing", "boundaries", values)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else MODULES)
