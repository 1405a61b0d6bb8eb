"""Date codes of tyres: what is read, what is refused, and the age on a day."""

import datetime as dt

import pytest

from conewise.cars.date_code import DateCodeError, age, date_code

DAY = dt.date(2026, 11, 26)


@pytest.mark.parametrize(
    ("text", "week", "year"),
    # car makers' owner pages: "2501 means the 25th week of 2001", "0301 represents the 3rd week of 2001",
    # "317 means the 31st week of 1997"
    [("2501", 25, 2001), ("0301", 3, 2001), ("317", 31, 1997), ("DOT XY9Z 8ABC 2319", 23, 2019)],
)
def test_published_examples(text, week, year):
    code = date_code(text)
    assert (code.week, code.year) == (week, year)
    assert code.is_before_2000 == (year < 2000)


@pytest.mark.parametrize("week_and_day", [("0101", "2001-01-07"), ("0123", "2023-01-01"), ("5220", "2020-12-27")])
def test_a_week_begins_on_its_sunday(week_and_day):
    # 49 CFR 574.5: week 01 is the first full one from Sunday to Saturday; days from a calendar
    text, first = week_and_day
    assert date_code(text).first_day.isoformat() == first
    assert date_code(text).first_day.weekday() == 6


def test_age_on_a_day():
    assert age(date_code("4726"), DAY) == pytest.approx(4 / 365.25)  # week 47 of 2026 began on Sunday 22 November
    assert age(date_code("4716"), DAY) == pytest.approx(10.0, abs=0.03)
    assert age(date_code("239"), DAY) > 27.0  # at least since week 23 of 1999


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "three or four digits"),
        ("19", "three or four digits"),
        ("20190", "three or four digits"),
        ("5419", "no week 54"),
        ("0019", "no week 0"),
    ],
)
def test_impossible_codes_are_refused(text, words):
    with pytest.raises(DateCodeError, match=words) as caught:
        date_code(text, where="--date-code")
    assert caught.value.where == "--date-code"


def test_a_tyre_from_the_future_is_refused():
    with pytest.raises(DateCodeError, match="week 50 of 2026 lies after 2026-11-26"):
        age(date_code("5026"), DAY)
    with pytest.raises(DateCodeError, match="2099"):
        age(date_code("2399"), DAY)  # four digits began in 2000
