"""What a revision costs beside a full build: a title fix in an album of 14 songs at 24/96 for five specs.

    python -m tests.benchmarks.incremental [--songs 14] [--seconds 180] [--workers 2] [--folder FOLDER]

Masters are measured already, as after a check, and the ledger lies in its ordinary place, where it keeps a write-ahead
log. Wall clock and processor time of each build, and their shares of the full build's; the bytes of the incremental
package are compared with those of a full build of the same revision.
"""

from __future__ import annotations

import argparse
import os
import resource
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from unittest.mock import patch

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command does: NumPy's threads would spin for small sums

import numpy as np
import soundfile as sf

from delivery.ledger import store
from delivery.ledger.cache import MeasurementCache
from delivery.pipeline import Options, build, check, resolve_request
from tests.albums import Song, hashes, write_album
from tests.signals import noise

SPECS = ("store-master-24", "cd-rate-16", "sync-48-24", "listening-mp3-320", "archive-bwf")
RATE_HZ = 96_000


def measured(work: Callable[[], object]) -> tuple[float, float]:
    """Wall clock and processor time, children included, in seconds."""

    def spent() -> float:
        used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
        return sum(each.ru_utime + each.ru_stime for each in used)

    wall, processor = time.perf_counter(), spent()
    work()
    return time.perf_counter() - wall, spent() - processor


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--songs", type=int, default=14)
    parser.add_argument("--seconds", type=float, default=180)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--folder", type=Path)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="incremental-", dir=given.folder) as name:
        compare(Path(name), given.songs, given.seconds, given.workers)


def compare(folder: Path, songs: int, seconds: float, workers: int) -> None:
    masters = folder / "masters"
    titles = [Song(f"Song {at}", RATE_HZ, 0.5, seed=at) for at in range(1, songs + 1)]
    release = write_album(masters, titles, SPECS)
    for at, file in enumerate(sorted(masters.glob("*.wav")), start=1):
        sf.write(file, music(at, seconds), RATE_HZ, subtype="PCM_24")
    with patch.object(store, "data_folder", lambda: folder), MeasurementCache(folder / "ledger.sqlite3") as cache:

        def run(known: MeasurementCache | None = cache, *, replace: bool = False) -> None:
            options = Options(workers, known, replace=replace)
            assert build(resolve_request(release), folder / "out", options).package

        check(resolve_request(release), Options(workers, cache))
        full = measured(run)
        revise(release, "title: Song 1\n", "title: Song One\n")
        fix = measured(run)
        (made,) = (path for path in (folder / "out").iterdir() if path.name.endswith("rev 2") and path.is_dir())
        incremental = hashes(made)
        shutil.rmtree(made)
        other = measured(lambda: full_build(release, folder, cache, workers))
        assert hashes(made) == incremental, "the bytes of a full build"
    print(f"{songs} songs of {seconds:g} s at 24/96, {len(SPECS)} specs, {workers} workers; seconds")
    print(f"{'':32}{'wall':>8}{'share':>8}{'processor':>11}{'share':>8}")
    for says, (wall, processor) in (("full build", full), ("title fix", fix), ("full build, revision 2", other)):
        print(f"{says:32}{wall:8.1f}{wall / full[0]:8.1%}{processor:11.1f}{processor / full[1]:8.1%}")


def full_build(release: Path, folder: Path, cache: MeasurementCache, workers: int) -> None:
    """Revision 2 with nothing to take over: the earlier package is in the folder, without its sound files' bytes."""
    from delivery.pipeline import from_masters

    with patch.object(from_masters, "files_of", lambda _known: {}):
        assert build(resolve_request(release), folder / "out", Options(workers, cache)).package


def revise(release: Path, old: str, new: str) -> None:
    text = release.read_text(encoding="utf-8").replace(old, new)
    release.write_text(f"{text}revision: 2\n", encoding="utf-8", newline="\n")


def music(seed: int, seconds: float) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Noise of falling treble in stereo that swells, as loud as a quiet master."""
    white = noise(RATE_HZ, seconds, level_dbfs=-14.0, seed=seed)
    dark = white.copy()
    for delay in (1, 2, 4, 8):
        dark[delay:] += white[:-delay]
    swell = 0.6 + 0.4 * np.sin(np.linspace(0, 40, len(dark)))[:, None] ** 2
    return 0.3 * swell * dark


if __name__ == "__main__":
    main()
