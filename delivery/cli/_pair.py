"""`delivery compare ONE OTHER`: two files beside each other."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from delivery.cli import _edge

if TYPE_CHECKING:
    from delivery.model.pair import Pair


def compare_pair(
    one: Path,
    other: Path,
    *,
    listen: Path | None,
    blind: bool,
    page: Path | None,
    as_json: bool,
    everything: bool,
    no_cache: bool,
    workers: int,
) -> None:
    """Compare and print; with *listen* matched copies and a page are written there.

    Raises
    ------
    Unusable : one of them is no sound file, or copies are wanted of two recordings
    Occupied : *listen* or *page* exists
    """
    from delivery import figures
    from delivery.report.text.pair import pair_table
    from delivery.report.view.pair import pair_view
    from delivery.tasks import pair as pairs

    with _edge.measurement_cache(no_cache) as cache, _edge.progress(as_json) as progress:
        spectra = everything or as_json or page is not None  # a screen shows nothing of them
        found = pairs.compare_pair(one, other, cache, spectra=spectra, workers=workers, progress=progress)
    written = _listening(found, one, other, listen, blind=blind) if listen else ()
    view = pair_view(found, one.name, other.name, figures())
    if page:
        from delivery.report.html.pair import render

        _edge.write_page(page, render(found, view, one.name, other.name))
    if as_json:
        from delivery.report.data import pair as data

        _edge.print_bytes(data.render(found))
        return
    _edge.show(pair_table(view, one.name, other.name, everything=everything))
    if written:
        print(f"Wrote {len(written)} files; open {_edge.here(written[0])} in a browser. Turn your monitors down first.")


def _listening(found: Pair, one: Path, other: Path, folder: Path, *, blind: bool) -> tuple[Path, ...]:
    from delivery.tasks.listening import write_listening  # loads the templates of pages

    return write_listening(found, one, other, folder, blind=blind)
