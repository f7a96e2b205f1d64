"""Find the highest values between samples, computing only where they can occur.

Each step uses a strict bound (``interpolation.bounds``): between two known values of the waveform nothing exceeds the
larger one by more than a known share of the largest second difference nearby. Music has small second differences, so
few positions are left.

1. A stretch is skipped when its largest sample and its largest second difference cannot reach what is looked for.
2. In the rest the bound is that of each interval. Where one of sixteen neighbours may be high enough, the values
   half-way between samples are computed for these, in single precision, and the bound is half-way's.
3. What is left is halved again, and then gets all 16 places, in double precision.
"""

from __future__ import annotations

from delivery.dsp.peaks._search import look_again as look_again
from delivery.dsp.peaks._search import scan as scan
from delivery.dsp.peaks.layout import AT as AT
from delivery.dsp.peaks.layout import CELLS_A_SECOND as CELLS_A_SECOND
from delivery.dsp.peaks.layout import CHANNEL as CHANNEL
from delivery.dsp.peaks.layout import HEIGHT as HEIGHT
