"""Compare the codes of a release with everything delivered before: remarks for a person, never verdicts. Pure.

ISO 3901 and its handbook: one code for one recording; another mix, edit or playing time has a code of its own, another
file format has not.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence

from delivery.model.recording import Recording

SAME_S = 1.0
"""Playing times this close count as equal; a new master may have a different tail. Common practice, no source."""


FEW = 3
"""Up to this many tracks have a sentence each."""


def codes_delivered(now: Sequence[Recording], before: Sequence[Recording]) -> tuple[str, ...]:
    """One sentence for each code that now names something else than before, in track order.

    An album delivered many times is named once for each code and kind of difference, by its last delivery in *before*.
    More than FEW tracks with one kind of difference from one album are one sentence, about the first of them.
    """
    differences = {
        (recording.position, kind, earlier.album): text
        for recording in now
        for earlier in _still_true(recording, before)
        for kind, text in _compared(recording, earlier)
    }
    alike: dict[tuple[str, str], list[int]] = {}
    for position, kind, album in differences:
        alike.setdefault((kind, album), []).append(position)
    return tuple(
        text + _likewise(alike[kind, album])
        for (position, kind, album), text in differences.items()
        if len(alike[kind, album]) <= FEW or position == alike[kind, album][0]
    )


def _still_true(now: Recording, before: Sequence[Recording]) -> Sequence[Recording]:
    """Without what was delivered at the same place under the same code before the delivery of just this sound.

    The difference from it was reported then.
    """

    def replaced(earlier: Recording) -> bool:
        return (now.release, now.position, now.isrc) == (earlier.release, earlier.position, earlier.isrc)

    again = [at for at, each in enumerate(before) if replaced(each) and each.audio_hash == now.audio_hash]
    last = max(again, default=0)
    return [each for at, each in enumerate(before) if at >= last or not replaced(each)]


def _likewise(positions: Sequence[int]) -> str:
    return f" Likewise tracks {', '.join(map(str, positions[1:]))}." if len(positions) > FEW else ""


def release_code_delivered(
    kind: str, code: str, album: str, release: str, before: Sequence[Recording]
) -> tuple[str, ...]:
    """A sentence for each other release that was delivered under this code.

    Parameters
    ----------
    kind : 'bar code', 'catalogue number'
    before : what was delivered under *code*
    """
    others = dict.fromkeys(
        earlier.album for earlier in before if earlier.release != release and not _alike(earlier.album, album)
    )
    return tuple(f"The {kind} {code} was delivered before as {other!r}." for other in others)


def _compared(now: Recording, then: Recording) -> Iterator[tuple[str, str]]:
    """Kind of difference, and the sentence about it."""
    where = f"{then.album!r}, revision {then.revision}, track {then.position}"
    track = f"{now.isrc}, track {now.position} {now.named!r}"
    same_place = (now.release, now.position) == (then.release, then.position)
    if now.isrc and now.isrc == then.isrc:
        off_s = now.duration_s - then.duration_s
        if abs(off_s) > SAME_S and now.audio_hash != then.audio_hash:
            more = "longer" if off_s > 0 else "shorter"
            yield (
                "playing time",
                f"{track}: {abs(off_s):.1f} s {more} than what was delivered "
                f"under this code ({where}); another playing time has a code of its own.",
            )
        elif not same_place and not _alike(now.named, then.named):
            yield "title", f"{track}: delivered before as {then.named!r} ({where})."
    elif now.isrc and then.isrc and now.audio_hash == then.audio_hash:
        yield "code", f"{track}: the same recording was delivered as {then.isrc} ({where})."


def _alike(one: str, other: str) -> bool:
    return _key(one) == _key(other)


def _key(text: str) -> str:
    return "".join(c for c in unicodedata.normalize("NFKD", text.casefold()) if c.isalnum())
