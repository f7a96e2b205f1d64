"""An album to five deliverables: ``delivery build`` against a shell chain of sox, lame and ffmpeg, in one run.

    .venv/bin/python tests/benchmarks/album.py [--songs 5] [--times 2] [--rounds 3]

Both sides make the same files from the same 24/96 masters: rate conversion at each program's best setting, dither, MP3
at 320 kbit/s, tags, MD5 and SHA-256 of every file, integrated loudness and true peak of every delivered file. What the
chain does not do, and ours does within its time: the masters' own measurement, every other meter, judging, reading tags
and sound back, the sheet and the bag. Ours is therefore never flattered. Once on one core with one worker, once on two
cores with two; rounds alternate and the best of each counts. Ours builds once before the clock starts, so that compiled
loops are on disk, as they are for anyone but a first-time user; no measurement is taken from the cache.
"""

from __future__ import annotations

import argparse
import os
import shlex
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from demo import album
from demo.artwork import draw_cover
from demo.environment import ROOT
from demo.music import length_s
from tests.benchmarks.figures import record_cells

DELIVERABLES = ("store-master-24", "cd-rate-16", "sync-48-24", "listening-mp3-320", "archive-bwf")
PROGRAMS = ("ffmpeg", "sox", "lame", "md5sum", "sha256sum", "xargs", "bash")
REACH, DREAM = 0.55, 0.4
"""Goals for ours / chain."""
ROWS = {1: "an album to five deliverables, one core", 2: "the same, two cores"}
"""Of the table in the guide."""
AGAINST = {
    1: "a chain of ffmpeg, sox, lame and checksum tools making the same files",
    2: "the same chain, two at a time",
}
AS_INSTALLED = {**os.environ, "PYTHONDONTWRITEBYTECODE": ""}
"""Installing compiles modules to bytecode, and a first run from a clone keeps it; no run compiles them again."""

CHAIN = r"""
set -euo pipefail
master={master}; out={out}; n={number}; title={title}; isrc={isrc}
ff() {{ ffmpeg -nostdin -v error -threads 1 -y "$@"; }}
tags=(-metadata title="$title" -metadata artist={artist} -metadata album={release})
tags+=(-metadata track="$n" -metadata ISRC="$isrc")
mkdir -p "$out"/{{store-master-24,cd-rate-16,sync-48-24,listening-mp3-320,archive-bwf}} "$out/work"
ff -i "$master" -map 0 -c copy "${{tags[@]}}" "$out/store-master-24/$n.wav"
ff -i "$master" -map 0 -c copy -write_bext 1 "${{tags[@]}}" -metadata description="$title" "$out/archive-bwf/$n.wav"
sox --single-threaded -V1 "$master" -b 16 "$out/work/cd-$n.wav" rate -v 44100 dither
ff -i "$out/work/cd-$n.wav" -map 0 -c copy "${{tags[@]}}" "$out/cd-rate-16/$n.wav"
sox --single-threaded -V1 "$master" -b 24 "$out/work/sync-$n.wav" rate -v 48000 dither
ff -i "$out/work/sync-$n.wav" -map 0 -c copy "${{tags[@]}}" "$out/sync-48-24/$n.wav"
sox --single-threaded -V1 "$master" -b 24 "$out/work/mp3-$n.wav" rate -v 48000
lame --quiet -b 320 --tt "$title" --ta {artist} --tl {release} --tn "$n" --ti {cover} --id3v2-only \
  "$out/work/mp3-$n.wav" "$out/listening-mp3-320/$n.mp3"
for made in "$out"/*-*/"$n".*; do
  md5sum "$made" >"$out/work/md5-$n"; sha256sum "$made" >"$out/work/sha-$n"
  ffmpeg -nostdin -hide_banner -nostats -threads 1 -i "$made" -map 0:a \
    -af ebur128=peak=true:framelog=verbose -f null - 2>"$out/work/ebu-$n"
done
"""


def scripts(release: Path, titles: tuple[album.Title, ...], folder: Path) -> list[Path]:
    """One shell script for each track, ready to run in any order."""
    made = []
    for number, title in enumerate(titles, 1):
        words = {
            "master": release.parent / title.file,
            "out": folder / "chain",
            "number": f"{number:02d}",
            "title": title.title,
            "isrc": title.isrc,
            "artist": "Merrow & the Glass Tide",
            "release": "Harbour Arithmetic",
            "cover": folder / "small.jpg",
        }
        script = folder / f"track-{number:02d}.sh"
        text = CHAIN.format(**{name: shlex.quote(str(word)) for name, word in words.items()})
        script.write_text(text, encoding="utf-8", newline="\n")
        made.append(script)
    draw_cover(folder / "small.jpg", 600, "Merrow & the Glass Tide", "Harbour Arithmetic")
    return made


def run_chain(tracks: list[Path], folder: Path, workers: int) -> None:
    shutil.rmtree(folder / "chain", ignore_errors=True)
    names = "\0".join(map(str, tracks)).encode()
    subprocess.run(["xargs", "-0", "-n", "1", "-P", str(workers), "bash"], input=names, check=True)


def run_ours(release: Path, folder: Path, workers: int) -> None:
    shutil.rmtree(folder / "ours", ignore_errors=True)
    (folder / "ours").mkdir()
    words = ["build", str(release), "--into", str(folder / "ours"), "--workers", str(workers), "--no-cache"]
    done = subprocess.run(
        [sys.executable, "-m", "delivery", *words],
        cwd=ROOT,
        env=AS_INSTALLED,
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    if done.returncode != 0:
        sys.exit(f"delivery build ended with {done.returncode}:\n{done.stdout}\n{done.stderr}")


def seconds(work: Callable[[], None]) -> tuple[float, float]:
    """Time by the clock, and processor time of every process it took; the second hardly depends on load."""
    started, before = time.perf_counter(), os.times()
    work()
    after = os.times()
    used = after.children_user + after.children_system - before.children_user - before.children_system
    return time.perf_counter() - started, used


def use_cores(count: int) -> bool:
    """Keep this process and its children on *count* cores; False where the system cannot."""
    if not hasattr(os, "sched_setaffinity"):
        return False
    cores = sorted(ALL_CORES)[:count]
    os.sched_setaffinity(0, cores)
    return len(cores) == count


@contextmanager
def prepared(songs: int, times: int) -> Iterator[tuple[Path, list[Path], Path]]:
    """The release file, a script for each track, and the folder both sides write into; ours has run once."""
    absent = [program for program in PROGRAMS if shutil.which(program) is None]
    if absent:
        sys.exit(f"This comparison needs {', '.join(absent)} as well.")
    with tempfile.TemporaryDirectory(prefix="album-") as name:
        folder = Path(name)
        titles = album.longer(album.ALBUM, songs, times)
        release = album.write_corrected(folder / "release", titles, DELIVERABLES)
        total_s = sum(length_s(title.song) for title in titles)
        print(f"{songs} masters at 24/96, {total_s:.0f} s of music, to {len(DELIVERABLES)} deliverables each")
        tracks = scripts(release, titles, folder)
        run_ours(release, folder, 1)
        yield release, tracks, folder


def compare(release: Path, tracks: list[Path], folder: Path, workers: int, rounds: int) -> tuple[float, float]:
    """Best times of both sides, alternating; prints them and returns ours and the chain's by the clock."""
    bound = use_cores(workers)
    chain, ours = [], []
    for _ in range(rounds):
        chain.append(seconds(lambda: run_chain(tracks, folder, workers)))
        ours.append(seconds(lambda: run_ours(release, folder, workers)))
    print(f"{workers} worker{'s' * (workers > 1)}, {f'bound to {workers}' if bound else 'cores not bound'}:")
    for sentence, each in (("processor", 1), ("clock", 0)):
        best = [min(times[each] for times in side) for side in (ours, chain)]
        every = "   ".join(" ".join(f"{times[each]:.1f}" for times in side) for side in (ours, chain))
        ratio = best[0] / best[1] if best[1] else float("nan")
        print(f"  {sentence:9}  ours {best[0]:6.1f} s  chain {best[1]:6.1f} s  ratio {ratio:.2f}  (all: {every})")
    return best[0], best[1]


def count_files(folder: Path) -> int:
    return sum(path.suffix in (".wav", ".flac", ".mp3") and path.parent.name != "work" for path in folder.rglob("*.*"))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--songs", type=int, default=5, help="number of tracks")
    parser.add_argument("--times", type=int, default=2, help="how often each song plays its verses and choruses")
    parser.add_argument("--rounds", type=int, default=3, help="rounds of each side; the best counts")
    parser.add_argument("--workers", type=int, nargs="+", default=[1, 2])
    options = parser.parse_args()
    with prepared(options.songs, options.times) as (release, tracks, folder):
        times = {workers: compare(release, tracks, folder, workers, options.rounds) for workers in options.workers}
        made = count_files(folder / "ours"), count_files(folder / "chain")
        print(f"files made: ours {made[0]}, chain {made[1]}")
    ratios = {workers: ours / chain for workers, (ours, chain) in times.items()}
    cells = {ROWS[workers]: f"{ratio:.2f}" for workers, ratio in ratios.items() if workers in ROWS}
    record_cells("speed", "against-other-tools", "ratio", cells)
    if 1 in ratios:
        print(f"on one core: {ratios[1]:.2f} of the chain's time (reach {REACH}, dream {DREAM})")


ALL_CORES = os.sched_getaffinity(0) if hasattr(os, "sched_getaffinity") else set()

if __name__ == "__main__":
    main()
