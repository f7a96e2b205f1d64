"""Runs of equal and of nearly equal samples at a channel's own extreme, as left by clipping."""

from __future__ import annotations

from delivery.dsp.peaks._loops import close_run as close_run
from delivery.dsp.peaks._loops import follow as follow
from delivery.dsp.peaks.layout import BASE as BASE
from delivery.dsp.peaks.layout import BEFORE as BEFORE
from delivery.dsp.peaks.layout import COUNT as COUNT
from delivery.dsp.peaks.layout import EXTREME as EXTREME
from delivery.dsp.peaks.layout import FLOATS as FLOATS
from delivery.dsp.peaks.layout import KEPT as KEPT
from delivery.dsp.peaks.layout import LISTED as LISTED
from delivery.dsp.peaks.layout import LONGEST as LONGEST
from delivery.dsp.peaks.layout import NEAR_COUNT as NEAR_COUNT
from delivery.dsp.peaks.layout import NEAR_LISTED as NEAR_LISTED
from delivery.dsp.peaks.layout import NEAR_LONGEST as NEAR_LONGEST
from delivery.dsp.peaks.layout import TOP as TOP
from delivery.dsp.peaks.layout import WHOLES as WHOLES
