"""The guide: Markdown pages installed with the program."""

from __future__ import annotations

from pathlib import Path

ABOUT = {
    "session": "a first session, from a folder of masters to a verified package",
    "desk": "check, complete, accept and build in the browser",
    "specs": "write and change what a recipient requires",
    "label-copy": "the client's sheet in, checked, and out again",
    "sheet": "the delivery sheet, the QC log, accepting, waiving, approval",
    "ledger": "what was delivered: which file went to whom, what is out, a month's count",
    "revisions": "what changed since the last delivery, and building only that",
    "comparing": "a song beside a reference playlist, a mix beside its master, two candidates",
    "many": "a shelf of releases in one run, and folders that are watched",
    "audit": "a whole catalogue: what is not met, copies of one recording, clashes of codes",
    "volume": "files on other machines, clusters, and what a million songs take",
    "discs-and-sides": "CDs, records and cassettes",
    "conversion": "dither, rate conversion, encoders, songs without a gap: measured",
    "accuracy": "how well the meters measure",
    "history": "signs of earlier rates, bit depths and lossy coders",
    "detectors": "clicks, dropouts, hum: how often they are right",
    "speed": "how long it takes, against general tools",
    "safety": "what the program refuses to do, and its exit codes",
    "news": "what changed in each version",
}
"""Topic -> what its page is about, in reading order."""


def page(topic: str) -> str:
    """Return the Markdown of the page about *topic*.

    Raises
    ------
    KeyError : unknown topic
    """
    if topic not in ABOUT:
        raise KeyError(topic)
    return (Path(__file__).parent / f"{topic}.md").read_text(encoding="utf-8")
