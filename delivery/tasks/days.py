"""Days that people state on the command line."""

from __future__ import annotations

import re
from datetime import date

from delivery.errors import Unusable


def stated_day(text: str, option: str = "--date") -> date:
    """The day that *option* states.

    Raises
    ------
    Unusable : it is no day written as year-month-day
    """
    try:
        if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
            raise ValueError(text)
        return date.fromisoformat(text)
    except ValueError as error:
        raise Unusable(option, repr(text), "a day as year-month-day", "Write it like 2026-05-12.") from error
