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


def past_day(text: str, option: str = "--date") -> date:
    """The same, of something that has happened.

    Raises
    ------
    Unusable : it is no day written as year-month-day, or one still to come
    """
    day, today = stated_day(text, option), date.today()
    if day > today:
        raise Unusable(option, text, f"a day up to today, {today}", "Check the year, or this machine's clock.")
    return day
