"""Which songs share landmarks at one offset: an inverted index that is sorted, not searched. Time grows with its rows.

A song is compared with no other one. Its landmarks are rows of a table; sorted by key, equal landmarks are neighbours,
and each neighbourhood votes for two songs and the offset between them.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

LANDMARK = np.dtype([("key", "<u8"), ("song", "<u4"), ("frame", "<i4")])
VOTE = np.dtype([("one", "<u4"), ("other", "<u4"), ("offset", "<i4")])
PAIR = np.dtype([("one", "<u4"), ("other", "<u4"), ("offset", "<i4"), ("votes", "<u4")])
Rows = NDArray[Any]

NEIGHBOURS = 12
"""How many rows after it one landmark votes with. Forty copies of a song are linked through each other; a landmark that
all songs have gives no more votes than any other."""


def votes_of(landmarks: Rows) -> Rows:
    """VOTE rows for every two songs that share a key; ``one`` is the lower number.

    Parameters
    ----------
    landmarks : LANDMARK rows; all those of a key must be among them
    """
    rows = landmarks[np.lexsort((landmarks["frame"], landmarks["song"], landmarks["key"]))]
    found = []
    for step in range(1, NEIGHBOURS + 1):
        a, b = rows[:-step], rows[step:]
        shared = (a["key"] == b["key"]) & (a["song"] != b["song"])
        votes = np.empty(int(shared.sum()), VOTE)
        votes["one"], votes["other"] = a["song"][shared], b["song"][shared]
        votes["offset"] = b["frame"][shared] - a["frame"][shared]
        found.append(votes)
    return np.concatenate(found)


def elected(votes: Rows, least: int) -> Rows:
    """PAIR rows: every two songs with at least *least* votes for one offset, a frame more or less, and that offset.

    Parameters
    ----------
    votes : VOTE rows; all those of two songs must be among them
    """
    if not len(votes):
        return np.empty(0, PAIR)
    pair = (votes["one"].astype(np.uint64) << np.uint64(32)) | votes["other"]
    order = np.lexsort((votes["offset"], pair))
    pair, offset = pair[order], votes["offset"][order].astype(np.int64)
    new = np.append(True, (pair[1:] != pair[:-1]) | (offset[1:] != offset[:-1]))
    begins = np.flatnonzero(new)
    counts = np.diff(np.append(begins, len(pair)))
    pair, offset = pair[begins], offset[begins]
    around = counts.copy()
    beside = (pair[1:] == pair[:-1]) & (offset[1:] == offset[:-1] + 1)
    around[1:] += np.where(beside, counts[:-1], 0)
    around[:-1] += np.where(beside, counts[1:], 0)
    best = np.lexsort((offset, -around, pair))
    best = best[np.append(True, pair[best][1:] != pair[best][:-1])]
    best = best[around[best] >= least]
    made = np.empty(len(best), PAIR)
    made["one"], made["other"] = pair[best] >> np.uint64(32), pair[best] & np.uint64(0xFFFFFFFF)
    made["offset"], made["votes"] = offset[best], around[best]
    return made
