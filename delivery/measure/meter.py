"""What every meter is: it says what it gives, takes blocks, and answers once."""

from __future__ import annotations

from typing import ClassVar, Protocol

import numpy as np
from numpy.typing import NDArray

from delivery.model.figure import Figure, Reading

Array = NDArray[np.float64]


class Meter(Protocol):
    """One file in this room holds one meter; being here is being registered.

    ``result`` answers in the order of ``gives``. The answer does not depend on how the sound was cut into blocks.
    """

    gives: ClassVar[tuple[Figure, ...]]

    def __init__(self, rate_hz: int, channels: int) -> None: ...

    def update(self, block: Array) -> None:
        """Take the next (frames, channels) float64, full scale 1.0; any number of frames."""

    def result(self) -> tuple[Reading, ...]: ...
