"""Velocity and acceleration of a cutting stylus."""

from delivery.dsp.processor import folders

__path__ = folders(__path__)
