"""When a tyre was made: the date code at the end of the DOT number, and its age on a given day."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass

from conewise.errors import InputError

YEAR = 365.25  # days

# Years after which tyre makers ask for a yearly look, and after which a tyre is not used any more: common practice,
# from memory of tyre makers' advice. Heat, sun and many hard runs age a tyre sooner.
INSPECTED_FROM = 5.0
REPLACED_FROM = 10.0

_FOUR_DIGITS_FROM = 2000  # 49 CFR 574.5: four digits from the year 2000 on, three before
_CODE = re.compile(r"(?:^|\s)(\d{3,4})$")


class DateCodeError(InputError):
    """A date code that no tyre can have."""

    code = "date-code"
    default_hint = 'Write the last digits of the DOT number: week and year, such as "2319" for week 23 of 2019.'

    def __init__(self, value: object, problem: str, *, where: str = "") -> None:
        super().__init__(f'The date code is "{value}": {problem}.', where=where)


@dataclass(frozen=True, slots=True, kw_only=True)
class DateCode:
    """Week and year of a tyre. With three digits the decade is not told: `year` is then the latest that it can be."""

    text: str
    week: int
    year: int

    @property
    def is_before_2000(self) -> bool:
        """Whether the code has three digits, as it had before the year 2000."""
        return self.year < _FOUR_DIGITS_FROM

    @property
    def first_day(self) -> dt.date:
        """Sunday on which the week began; week 1 is the first full one of its year."""
        new_year = dt.date(self.year, 1, 1)
        first_sunday = new_year + dt.timedelta(days=6 - new_year.weekday())
        return first_sunday + dt.timedelta(weeks=self.week - 1)


def date_code(text: str, *, where: str = "") -> DateCode:
    """Week and year of a date code; the whole DOT number may stand before it.

    Parameters
    ----------
    text : str
        Four digits, week and year; or three, week and last digit of a year before 2000.
    where : str, default ""
        Place for the message.

    Returns
    -------
    DateCode

    Raises
    ------
    DateCodeError
        If it has other than three or four digits, or a week that no year has.

    References
    ----------
    49 CFR 574.5, Tire identification requirements (from memory): weeks run from Sunday to Saturday, week 01 is the
    first full one of the year.

    Examples
    --------
    >>> date_code("2319").first_day.isoformat()
    '2019-06-09'
    """
    found = _CODE.search(str(text).strip())
    if found is None:
        raise DateCodeError(text, "it does not end in three or four digits of their own", where=where)
    digits = found[1]
    week, year = int(digits[:2]), int(digits[2:])
    year += _FOUR_DIGITS_FROM if len(digits) == 4 else 1990
    if not 1 <= week <= 53:
        raise DateCodeError(text, f"there is no week {week}", where=where)
    return DateCode(text=digits, week=week, year=year)


def age(code: DateCode, day: dt.date, *, where: str = "") -> float:
    """Age of a tyre on a day, from the first day of its week; the least age where the code has three digits. [years]

    Raises
    ------
    DateCodeError
        If the tyre would be made after the day.
    """
    days = (day - code.first_day).days
    if days < 0:
        raise DateCodeError(code.text, f"week {code.week} of {code.year} lies after {day.isoformat()}", where=where)
    return days / YEAR
