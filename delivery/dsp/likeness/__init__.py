"""Whether two files hold the same recording, as a whole or in part."""

from delivery.dsp.processor import folders

__path__ = folders(__path__)
