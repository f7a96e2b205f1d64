"""The suspicion of pre-emphasis on real pieces, as they are and with the curve of 50 and 15 us on their spectrum.

Run ``python -m tests.benchmarks.pre_emphasis FOLDER...``; see `two_channels` for the pieces. The first minute of each
is measured once; the curve is added to its third octaves. pytest does not collect it.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

from delivery.audio.facts import BLOCK_FRAMES
from delivery.meters import measure_blocks
from delivery.meters.pre_emphasis import PreEmphasis
from delivery.model.figure import Reading
from tests.benchmarks.figures import record_values
from tests.benchmarks.two_channels import pieces
from tests.meters.memory import cut, facts

LONGEST_S = 60
RISE_S, FALL_S = 50e-6, 15e-6


def emphasised(middles_hz: Reading, levels_db: Reading) -> Reading:
    """The levels behind the curve; the reference of relative levels does not matter here."""
    turns = 2 * np.pi * np.asarray(middles_hz.value)
    curve_db = 10 * np.log10((1 + (turns * RISE_S) ** 2) / (1 + (turns * FALL_S) ** 2))
    return Reading(tuple((np.asarray(levels_db.value) + curve_db).tolist()))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folders", type=Path, nargs="+")
    false = found = count = 0
    for path, sound, rate_hz in pieces(parser.parse_args().folders):
        sound = sound[: LONGEST_S * rate_hz]
        measured = measure_blocks(facts(sound, rate_hz), cut(sound, BLOCK_FRAMES), only=PreEmphasis.needs)
        hz, levels = (measured[name] for name in PreEmphasis.needs)
        if not hz.exists:
            continue
        (as_it_is,), (with_curve,) = (
            PreEmphasis.derive(dict(zip(PreEmphasis.needs, (hz, each), strict=True)))
            for each in (levels, emphasised(hz, levels))
        )
        count, false, found = count + 1, false + bool(as_it_is.value), found + bool(with_curve.value)
        if as_it_is.value:
            print(path.name, flush=True)
    values = {"pieces": str(count), "false": str(false), "found": str(found)}
    print(values)
    record_values("history", "pre-emphasis", values)


if __name__ == "__main__":
    main()
