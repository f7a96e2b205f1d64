"""What was written, read again: its figures, its samples, its name."""

from __future__ import annotations

from pathlib import Path

from delivery.errors import Unusable
from delivery.meters import identify, measure
from delivery.model.chain import Chain
from delivery.model.figure import Measurement
from delivery.model.spec import Spec
from delivery.pack.names_back import disagreements
from delivery.pipeline.cutting_figures import of_file
from delivery.tags.bare import mark_behind_id3


def measured(file: Path, master: Measurement, chain: Chain, rendered: str, spec: Spec) -> Measurement:
    """Measure the written file; an identical copy takes the master's figures.

    Identity is proven after tagging, when the file is read again. The same samples at another bit depth are measured,
    because some figures count in steps of the file's own bit depth.

    Parameters
    ----------
    rendered : audio hash of the samples handed to the writer; empty for lossy codings

    Raises
    ------
    Unusable : the file's samples differ from those rendered
    """
    if chain.identical and chain.target.bits == master.value("bits"):
        return master
    found = of_file(file, measure(file), spec)
    if rendered and found.value("audio_hash") != rendered:
        raise Unusable(file.name, "samples that were not rendered", "the rendered samples", "Please report it.")
    return found


def mark_of_sound(file: Path, measurement: Measurement) -> str:
    """Mark of the bytes that *measurement* is of, to be the same after tagging; empty where tags lie among them."""
    return mark_behind_id3(file) if measurement.value("container") == "mp3" else ""


def check_after_tagging(file: Path, before: Measurement, mark: str = "") -> Measurement:
    """Read the tagged file again: new container figures, and check that the samples are those measured.

    Parameters
    ----------
    mark : of *file* when it was measured, from `mark_of_sound`: the same bytes need not be decoded again

    Raises
    ------
    Unusable : they differ: the copy is not exact, or tagging changed them
    """
    same = mark and mark == mark_of_sound(file, before)
    after = identify(file, before if same else None)
    if after.value("audio_hash") != before.value("audio_hash"):
        wanted = "identical samples after tagging"
        raise Unusable(file.name, "samples that are not those measured", wanted, "Please report it.")
    return before.with_readings(after)


def check_name(spec: Spec, file: Path, measurement: Measurement) -> None:
    """Check that the rate and bit depth in the name are those of the file.

    Raises
    ------
    Unusable : they differ
    """
    stem = file.name.removesuffix(file.suffix)
    wrong = disagreements(spec.name_template, stem, measurement.value("rate_hz"), measurement.value("bits"))
    if wrong:
        raise Unusable(
            file.name, "; ".join(wrong), "a name that states the file's rate and bit depth", "Please report it."
        )
