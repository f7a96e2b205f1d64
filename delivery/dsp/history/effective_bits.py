"""Number of bits in use in integer samples."""

from __future__ import annotations

from delivery.dsp.history._loops import used_bits as used_bits
from delivery.dsp.history._loops import whole_bits as whole_bits

INTEGER_BITS = 32
