"""What the terminal prints of a song beside a reference playlist, at 80 columns."""

from __future__ import annotations

from dataclasses import replace
from io import StringIO

from rich.console import Console

from delivery.compare.reference import beside
from delivery.model.reference import Place, PlaceKind, ReferenceComparison
from delivery.report.text.reference import comparison
from tests.compare.test_reference import boosted, figures, peers, playlist

PLACES = (
    Place(PlaceKind.THIN, 61.4, 78.2, 1584.9, 2511.9, -6.9, 2.3, "verse"),
    Place(PlaceKind.CROWDED, 120.0, 124.5, 12_589.3, 19_952.6, 16.6, 7.8, "chorus"),
    Place(PlaceKind.DROPS_OUT, 181.4, 193.5, 3162.3, 10_000.0, -7.7, None, "chorus"),
)


def lines(*, everything: bool) -> list[str]:
    reference = playlist(*peers(5))
    song = beside("Low Water", figures(-13.1, boosted(3000, 5100, 11.8)), reference)
    song = replace(song, places=PLACES, bar_s=2.0)
    output = StringIO()
    found = ReferenceComparison(reference, {}, (), (), (song,))
    Console(file=output, width=80).print(*comparison(found, everything=everything), sep="\n")
    return output.getvalue().splitlines()


def test_a_place_in_a_stated_section_has_one_line() -> None:
    """The farthest beyond the playlist first; arrangement is counted, and listed with --all."""
    shown = [line.rstrip() for line in lines(everything=False)]
    begin = next(at for at, line in enumerate(shown) if line.startswith("Bands over time"))
    assert " ".join(shown[begin + 1].split()) == "2:00.0 to 2:04.5 (chorus) 12.5 to 20 kHz crowded +16.6 dB 7.8 dB"
    assert " ".join(shown[begin + 2].split()) == "1:01.4 to 1:18.2 (verse) 1.6 to 2.5 kHz thin -6.9 dB 2.3 dB"
    assert shown[begin + 3].endswith("1 of arrangement: --all.")
    assert len(shown) <= 24
    assert any("arrangement" in line and "3 to 10 kHz" in line for line in lines(everything=True))
