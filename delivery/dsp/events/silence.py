"""Start, end and pauses of the audio."""

from __future__ import annotations

from delivery.dsp.events._loops import find_pauses as find_pauses
from delivery.dsp.events.layout import BEFORE as BEFORE
from delivery.dsp.events.layout import BEHIND as BEHIND
from delivery.dsp.events.layout import FIRST as FIRST
from delivery.dsp.events.layout import LAST as LAST
from delivery.dsp.events.layout import PAUSE as PAUSE
from delivery.dsp.events.layout import PAUSE_AT as PAUSE_AT
from delivery.dsp.events.layout import PLACES as PLACES
