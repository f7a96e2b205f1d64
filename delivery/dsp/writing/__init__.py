"""From floating point to integer samples: dither, noise shaping, rounding."""
