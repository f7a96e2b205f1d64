"""One view (every sentence and every rounding), and one module for each output."""

import sys
from types import ModuleType

for _settings in ("reportlab_mods", "reportlab_settings"):
    # ReportLab runs files of these names from a user's home: no page may depend on them, or fail without a home.
    sys.modules.setdefault(_settings, ModuleType(_settings))
