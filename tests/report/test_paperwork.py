"""A track's page has what was supplied on writing and recording, and nothing else."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from delivery.model.release import Credit, Identity, Release, Sample, Track, Writer
from delivery.report.view.elements import Fact
from delivery.report.view.paperwork import of_release, paperwork

BARE = Track(1, Path("a.wav"), "Low Water")
ALONE = Release(Path("r.yaml"), "T", "A", (BARE,))


def test_nothing_supplied_gives_no_remark() -> None:
    assert paperwork(BARE, ALONE) == ()
    assert of_release(ALONE) == ()


def test_all_of_it() -> None:
    track = replace(
        BARE, iswc="T0345246801", publishers=("Quayside", "Other"),
        texts=(("original_artist", "Low Lantern"),), title_language="pt",
        writers=(
            Writer("Ilse Merrow", ("composer", "lyricist"), 62.5, "Quayside", "SALT", "00014107338"),
            Writer("Tam V"),
        ),
        credits=(Credit("P", "producer"), Credit("M", "mixer"), Credit("Q", "producer")), bpm=92.5, key="D minor",
        recording_studio="Chapel", recording_country="PT", recording_year=2025, preview_start_s=75.0,
        samples=(Sample("X: Y", True), Sample("Z\u202e", False)),
    )  # fmt: skip
    assert paperwork(track, ALONE) == (
        Fact("ISWC", "T-034.524.680-1"),
        Fact("Writers", "Ilse Merrow (composer, lyricist) 62.5 %, SALT, IPI 00014107338; Tam V (composer)"),
        Fact("Publishers", "Quayside and Other"),
        Fact("Credits", "producer: P and Q; mixer: M"),
        Fact("Recorded", "Chapel, PT, 2025"),
        Fact("First recorded by", "Low Lantern"),
        Fact("Language of title", "pt"),
        Fact("Tempo and key", "92.5 beats a minute, D minor"),
        Fact("Preview from", "1:15"),
        Fact("Samples", "X: Y (cleared); Z (not cleared)"),
    )
    assert paperwork(replace(BARE, samples=()), ALONE) == (Fact("Samples", "none"),)


def test_the_release() -> None:
    release = Release(Path("r.yaml"), "T", "A", (BARE,), subgenre="Sea songs", territories=("PT", "JP"))
    assert of_release(release) == (Fact("Sub-genre", "Sea songs"), Fact("Territories", "PT and JP"))


def test_isni_are_printed_in_groups_of_four() -> None:
    """ISO 27729: shown in four groups of four. The release's artist has it once, not on every page."""
    codes = (Identity("A", "000000012281955X"), Identity("Ilse", "0000000218250097"), Identity("Elsewhere", "0" * 16))
    track = replace(BARE, composers=("Ilse",))
    release = replace(ALONE, tracks=(track,), identities=codes)
    assert paperwork(track, release) == (Fact("ISNI", "Ilse: 0000 0002 1825 0097"),)
    assert of_release(release) == (Fact("ISNI", "A: 0000 0001 2281 955X"),)
