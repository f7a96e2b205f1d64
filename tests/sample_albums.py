"""Made-up deliveries of albums: cuts, likenesses, a stray file, two sides of vinyl and a disc. See ``samples``."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from delivery.model.album import Cut, Join, Likeness
from delivery.model.carrier import Carrier, Pressing, Programme, Song
from delivery.model.chain import Target
from delivery.model.part import Delivery, Image
from delivery.model.spec import Spec
from tests import samples

RATE_HZ = 44_100
LP = Pressing(12, 33)
VINYL = samples.spec(
    "vinyl-sides",
    "Vinyl sides",
    carrier=Carrier("vinyl", pressing=LP),
    requirements=(
        samples.requirement(
            "part_length_good",
            (
                {"size_inch": 7, "speed_rpm": 45, "at_most_s": 240},
                {"size_inch": 12, "speed_rpm": 33, "at_most_s": 1170},
            ),
            must=False,
        ),
        samples.requirement("part_length_max", ({"size_inch": 12, "speed_rpm": 33, "at_most_s": 1380},)),
    ),
)
DISC = samples.spec("cd-master", "CD master", carrier=Carrier("cd", frame_samples=588, first_pause_s=2.0))


def joined(whole: Delivery) -> Delivery:
    """Every answer a cut may have, two pairs of songs that are alike, and a file that no track names."""
    cuts = tuple(Cut)
    joins = tuple(
        Join(
            earlier.track.position,
            later.track.position,
            cut := cuts[at % len(cuts)],
            None if at % 7 == 3 else 0.0,
            22.0 if cut is Cut.STEP else None,
        )
        for at, (earlier, later) in enumerate(pairwise(whole.sources))
    )
    alike = (Likeness(1, 2, exact=True), Likeness(1, 4, exact=False, correlation=0.998, offset_s=-0.4, gain_db=-6.0))
    return replace(whole, joins=joins, likenesses=alike, unnamed=("take 7.wav",))


def sided(whole: Delivery, first: int) -> Delivery:
    """With sides of vinyl, the first of them *first* songs long, and all songs on a disc; laid out, not written."""
    positions = [source.track.position for source in whole.sources]
    images = (
        _image(whole, VINYL, "A", LP, positions[:first]),
        _image(whole, VINYL, "B", LP, positions[first:]),
        _image(whole, DISC, "1", Pressing(), positions),
    )
    return replace(whole, specs=(*whole.specs, VINYL, DISC), images=images)


def album(count: int = 11) -> Delivery:
    """All of it."""
    return sided(joined(samples.delivery(count)), 5)


def _image(whole: Delivery, spec: Spec, label: str, pressing: Pressing, positions: list[int]) -> Image:
    assert spec.carrier
    frame = spec.carrier.frame_samples
    songs: list[Song] = []
    begins = 0
    for number, position in enumerate(positions, start=1):
        known = whole.sources[position - 1].measurement
        length = round(known.value("duration_s") * RATE_HZ) if known else RATE_HZ
        padding = -length % frame
        songs.append(Song(position, number, begins, length, padding, begins // frame, begins // frame, joined=False))
        begins += length + padding
    programme = Programme(
        spec.id, label, spec.carrier, pressing, RATE_HZ, tuple(songs), begins, 150 if spec.carrier.in_frames else 0
    )
    bits = 16 if spec.carrier.in_frames else 24
    return Image(programme, Target("wav", "pcm", RATE_HZ, 2, bits), f"OSL-014 {programme.name}.wav")
