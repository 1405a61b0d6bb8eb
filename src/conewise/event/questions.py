"""The questions of `event new`, and the commented event file that their answers make."""

from __future__ import annotations

from datetime import date, time
from typing import TYPE_CHECKING

from conewise.questions import NEEDED, AnswerError, Question, given
from conewise.records import id_of
from conewise.toml_writing import toml_string, toml_value

if TYPE_CHECKING:
    from collections.abc import Mapping

_NO_ANSWER = {"none", NEEDED}  # what stands for a question without a usual answer

QUESTIONS = (
    Question(key="name", text="What is the event called?", typical="Club day", wanted="a name"),
    Question(key="day", text="On which day, such as 2026-05-17?", typical=NEEDED, wanted="a day such as 2026-05-17"),
    Question(key="place", text="Where?", typical="none", wanted="a place"),
    Question(key="first_car", text="When does the first car start?", typical="09:30", wanted="a time such as 09:30"),
    Question(
        key="course_length",
        text="How long is the course?",
        typical="800 m",
        wanted="a length from 50 to 5000 m",
        dimension="length",
        low=50.0,
        high=5000.0,
    ),
    Question(
        key="runs",
        text="How many runs has each driver?",
        typical="4",
        wanted="a number from 1 to 30",
        dimension="ratio",
        low=1,
        high=30,
        is_count=True,
    ),
    Question(key="heats", text="Which heats are there?", typical="A B", wanted="names, with blanks between"),
    Question(key="rules", text="Which rule set holds?", typical="club", wanted="club, student or a rule file"),
)


def check_answer(question: Question, answer: str) -> None:
    """Refuse an answer that cannot be used; AnswerError says what is wanted."""
    told = given({question.key: answer}, [question])
    if question.key == "day" and not told:
        raise AnswerError(question, answer)
    if told:
        _value(question, told[question.key])


def _value(question: Question, answer: str) -> str | float | date | time:
    value = question.value(answer)
    if question.key in {"day", "first_car"}:
        try:
            found = date.fromisoformat(answer) if question.key == "day" else time.fromisoformat(answer)
        except ValueError:
            raise AnswerError(question, answer) from None
        if isinstance(found, time) and found.tzinfo is not None:
            raise AnswerError(question, answer)
        return found
    return value


def event_file(answers: Mapping[str, str]) -> str:
    """TOML text of an event from answers; what was not answered is as is usual.

    Raises
    ------
    AnswerError
        If an answer cannot be used, or the day is missing.
    """
    for question in QUESTIONS:
        check_answer(question, answers.get(question.key, ""))
    told = given(answers, QUESTIONS)
    values = {q.key: told.get(q.key, "" if q.typical in _NO_ANSWER else q.typical) for q in QUESTIONS}
    heats = values["heats"].replace(",", " ").split()
    day = date.fromisoformat(values["day"])
    first_car = time.fromisoformat(values["first_car"])
    place = f"place = {toml_string(values['place'])}\n" if values["place"] else '# place = ""\n'
    return _TEMPLATE.format(
        id=id_of(f"{values['name']} {day.year}"),
        name=toml_string(values["name"]),
        day=day.isoformat(),
        place=place,
        rules=toml_string(values["rules"]),
        heats=toml_value(heats),
        first_car=first_car.strftime("%H:%M"),
        course_length=toml_string(_length(values["course_length"])),
        runs=int(float(values["runs"])),
    )


def _length(text: str) -> str:
    """A length with its unit; a bare number is metres."""
    return text if any(character.isalpha() or character in "'\"" for character in text) else f"{text} m"


_TEMPLATE = """# Event. Every field, and a full example: docs/formats-event.md
[event]
id = "{id}"
name = {name}
day = {day}
{place}rules = {rules}        # rule set: club, student, or a file beside this one
heats = {heats}
classes = []            # codes of the classes that are run; empty: all
# time_zone = "Europe/Dublin"
# weather = "dry"         # dry, wet, hot or cold: adds to the packing list
# course_file = "course.toml"
# fee = {{ amount = "45.00", currency = "EUR" }}
# registration = {{ opens = 2026-04-01, closes = 2026-05-10, on_the_day = false }}

[event.schedule]
first_car = "{first_car}"
course_length = {course_length}
runs = {runs}                # of each driver
# gates_open = "07:00"
# course_opens = "07:30"    # for walking
# interval = "45 s"         # from start to start

# One block for each driver, helmet, car and entry:
#
# [[person]]
# id = "ana"
# name = "Ana Example"
# born = 1990-04-01
# level = "novice"          # novice, regular or expert
# waiver_signed = 2026-05-01
# licence = {{ valid_until = 2030-01-01, seen = 2026-05-01 }}
# ride_alongs = true
# emergency = {{ name = "Kim", phone = "555 0100" }}   # stays on this machine
#
# [[helmet]]
# id = "red"
# owner = "ana"             # leave out for the club's loan helmets
# labels = ["SA2020"]
# made = "2022-03"
# fit = {{ result = "passed", looked_by = "Bo", looked_at = 2026-05-17 }}   # strap, liner and impact as well
#
# [[car]]
# id = "pepper"
# name = "Pepper"
# car_file = "pepper.toml"
# wheel_torque = {{ written = "98 N m", source = "maker's manual" }}
#
# [[entry]]
# person = "ana"
# car = "pepper"
# helmet = "red"
# number = "12"
# heat = "A"
# work_heat = "B"
"""
