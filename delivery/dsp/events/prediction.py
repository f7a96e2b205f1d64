"""Linear prediction around one event: a fault of a few samples, or part of the music?

The prediction of order 12 from before and after the event is subtracted; a click or a jump leaves a short, high peak in
the residual. Then the samples around the peak are treated as unknown, and the values with the smallest residual are
found: for a click nothing remains, since the audio beyond its few samples is unchanged; for a jump, an attack, the edge
of a square wave or the ringing of a drum most of the residual remains. Source of the methods: S. V. Vaseghi, detection
of impulsive noise by inverse filtering, and least-squares interpolation of autoregressive sound (Janssen, Veldhuis,
Vries 1986), as described in textbooks; limits are tuned here.
"""

from __future__ import annotations

from delivery.dsp.events._prediction import examine as examine
from delivery.dsp.events.layout import AT as AT
from delivery.dsp.events.layout import BACK as BACK
from delivery.dsp.events.layout import BACKGROUND_PEAK as BACKGROUND_PEAK
from delivery.dsp.events.layout import DEPARTURE as DEPARTURE
from delivery.dsp.events.layout import EXPLAINED as EXPLAINED
from delivery.dsp.events.layout import FINDINGS as FINDINGS
from delivery.dsp.events.layout import FLAT_SAMPLES as FLAT_SAMPLES
from delivery.dsp.events.layout import HALF as HALF
from delivery.dsp.events.layout import NEAR as NEAR
from delivery.dsp.events.layout import NEARBY_PEAK as NEARBY_PEAK
from delivery.dsp.events.layout import ORDER as ORDER
from delivery.dsp.events.layout import OVER_TOP as OVER_TOP
from delivery.dsp.events.layout import PEAK as PEAK
from delivery.dsp.events.layout import REACH as REACH
from delivery.dsp.events.layout import RESIDUAL_PEAK as RESIDUAL_PEAK
from delivery.dsp.events.layout import SIDE_MISMATCH as SIDE_MISMATCH
from delivery.dsp.events.layout import SIGMA as SIGMA
from delivery.dsp.events.layout import UNKNOWN as UNKNOWN
