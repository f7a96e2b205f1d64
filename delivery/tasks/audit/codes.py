"""One ISRC on several recordings, several ISRCs on one recording. Pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

from delivery.model.audit import CodeClash


def clashes(
    codes: Mapping[int, tuple[str, ...]], recordings: Mapping[int, int], paths: Sequence[str]
) -> tuple[CodeClash, ...]:
    """Clashes, those of one code first, each in order of its first file.

    Parameters
    ----------
    codes : file number -> its ISRCs, for measured files that have any
    recordings : file number -> number of its recording; a file that is missing here is a recording of its own
    paths : by file number
    """
    by_code: dict[str, dict[int, int]] = defaultdict(dict)
    by_recording: dict[int, dict[str, int]] = defaultdict(dict)
    for number, isrcs in codes.items():
        recording = recordings.get(number, number)
        for isrc in isrcs:
            by_code[isrc].setdefault(recording, number)
            by_recording[recording].setdefault(isrc, number)
    one_code = (
        CodeClash((isrc,), tuple(paths[number] for number in first.values()))
        for isrc, first in by_code.items()
        if len(first) > 1
    )
    one_recording = (
        CodeClash(tuple(first), tuple(dict.fromkeys(paths[number] for number in first.values())))
        for first in by_recording.values()
        if len(first) > 1
    )
    return (*one_code, *one_recording)
