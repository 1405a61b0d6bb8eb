"""The clock at the place of an event."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from conewise.event.calendar import TimeZoneUnknownError

if TYPE_CHECKING:
    from collections.abc import Callable

    from conewise.event.day import Event


def clock_at(event: Event, now: Callable[[], datetime]) -> datetime:
    """What a clock at the place shows, in whole seconds; on the day of the event at the latest.

    What is written down afterwards was seen on the day itself.

    Parameters
    ----------
    event : Event
    now : callable
        The clock, with a time zone.

    Raises
    ------
    TimeZoneUnknownError
        If the event names a time zone that is not known.
    """
    try:
        zone = ZoneInfo(event.time_zone) if event.time_zone else None
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise TimeZoneUnknownError(event.time_zone) from None
    shown = now().astimezone(zone).replace(tzinfo=None, microsecond=0)
    return shown if shown.date() <= event.day else datetime.combine(event.day, shown.time())
