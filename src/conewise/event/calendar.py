"""An event as a calendar file: RFC 5545, Internet Calendaring and Scheduling Core Object Specification, 2009."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from conewise.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from conewise.event.day import Event
    from conewise.event.plan import DayPlan, Step

_MOST_OCTETS = 75  # of a line without its end; RFC 5545, 3.1


class TimeZoneUnknownError(InputError):
    """The event names a time zone that this machine does not know."""

    code = "time-zone-unknown"
    default_hint = 'Write a name of the IANA data base, such as time_zone = "Europe/Dublin", or leave it out.'

    def __init__(self, name: str) -> None:
        super().__init__(f"There is no time zone '{name}'.", where="event, time_zone")


def calendar_text(event: Event, plan: DayPlan | None, *, stamp: datetime, person: str = "") -> str:
    """The event as a calendar file.

    With a time zone the times are given in UTC; without one they float: they are those of the clock at the place (RFC
    5545, 3.3.5). Without a plan the event is one entry for the whole day.

    Parameters
    ----------
    event : Event
    plan : DayPlan, optional
        Of the day; each of its steps becomes an entry.
    stamp : datetime
        When the file is made, with its offset from UTC.
    person : str, default ""
        Id of a person, whose own steps are taken; those of everybody otherwise.

    Returns
    -------
    str
        With lines that end in CR LF and have at most 75 octets.

    Raises
    ------
    TimeZoneUnknownError
        If the event names a time zone that is not known.
    """
    zone = _zone(event.time_zone)
    made = stamp.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//conewise//event day//EN", "CALSCALE:GREGORIAN"]
    if plan is None:
        lines += _entry(event, made, key="day", summary=event.name)
        lines[-1:-1] = [f"DTSTART;VALUE=DATE:{event.day:%Y%m%d}"]
    for number, step in enumerate(_steps(plan, person), start=1):
        key = f"{person or 'all'}-{number}"
        lines += _entry(event, made, key=key, summary=f"{event.name}: {said(step)}")
        lines[-1:-1] = [f"DTSTART:{_moment(step.begin, zone)}", f"DTEND:{_moment(step.end, zone)}"]
    lines.append("END:VCALENDAR")
    return "".join(f"{folded}\r\n" for line in lines for folded in _folded(line))


def said(step: Step) -> str:
    """A step in words: "run, heat A", "work, heat B, station 3"."""
    parts = [step.name, f"heat {step.heat}" if step.heat else "", f"station {step.station}" if step.station else ""]
    return ", ".join(part for part in parts if part)


def _steps(plan: DayPlan | None, person: str) -> tuple[Step, ...]:
    if plan is None:
        return ()
    return next((one.steps for one in plan.people if one.person == person), plan.steps)


def _zone(name: str) -> ZoneInfo | None:
    if not name:
        return None
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise TimeZoneUnknownError(name) from None


def _moment(moment: datetime, zone: ZoneInfo | None) -> str:
    if zone is None:
        return moment.strftime("%Y%m%dT%H%M%S")
    return moment.replace(tzinfo=zone).astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")


def _entry(event: Event, made: str, *, key: str, summary: str) -> list[str]:
    """One VEVENT, its times still to come before the last line."""
    lines = ["BEGIN:VEVENT", f"UID:{event.id}-{key}@conewise", f"DTSTAMP:{made}", f"SUMMARY:{_text(summary)}"]
    if event.place:
        lines.append(f"LOCATION:{_text(event.place)}")
    return [*lines, "END:VEVENT"]


def _text(value: str) -> str:
    """A text value; RFC 5545, 3.3.11."""
    escaped = value.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    return escaped.replace("\r\n", "\\n").replace("\n", "\\n")


def _folded(line: str) -> Iterator[str]:
    """A line in pieces of at most 75 octets, no character cut; RFC 5545, 3.1."""
    piece, size = "", 0
    for character in line:
        octets = len(character.encode())
        if size + octets > _MOST_OCTETS:
            yield piece
            piece, size = " ", 1
        piece, size = piece + character, size + octets
    yield piece
