"""The questions of `course new`, and the commented course file that their answers make."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from conewise.errors import InputError
from conewise.questions import Question, given
from conewise.toml_writing import toml_string

if TYPE_CHECKING:
    from collections.abc import Mapping

EDGE = 8.0  # gates stay this far from the edge of the lot [m]
GATE_EVERY = 24.0  # offset gates on the way back [m]
SHIFT = 4.0  # from offset gate to offset gate, sideways [m]
RUN_UP = 18.0  # start line to the first slalom cone [m]
RUN_DOWN = 15.0  # last slalom cone to the turn [m]
RUN_OUT = 10.0  # last gate to the finish, at least [m]
WIDEST_TURN = 15.0  # [m]
LEAST_STOP, GOOD_STOP, MOST_STOP = 45.0, 125.0, 160.0  # for a quick car, as `course check` estimates it [m]


class LotTooSmallError(InputError):
    """The course that was asked for does not fit on the lot."""

    code = "lot-too-small"
    default_hint = "Give fewer slalom cones, a smaller spacing or narrower gates, or a larger lot."

    def __init__(self, what: str, needed: float, there: float) -> None:
        super().__init__(f"The lot is {there:.0f} m {what}; this course needs {needed:.0f} m.", where=f"lot, {what}")


QUESTIONS = (
    Question(key="name", text="What is the course called?", typical="New course", wanted="a name"),
    Question(
        key="length",
        text="How long is the lot, kerb to kerb?",
        typical="180 m",
        wanted="a length from 70 to 1000 m",
        dimension="length",
        low=70.0,
        high=1000.0,
    ),
    Question(
        key="width",
        text="How wide is it?",
        typical="80 m",
        wanted="a length from 30 to 1000 m",
        dimension="length",
        low=30.0,
        high=1000.0,
    ),
    Question(
        key="cones",
        text="How many cones has the slalom?",
        typical="5",
        wanted="a number from 3 to 12",
        dimension="ratio",
        low=3.0,
        high=12.0,
        is_count=True,
    ),
    Question(
        key="spacing",
        text="How far apart are they?",
        typical="18 m",
        wanted="a length from 7 to 40 m; clubs use 14 to 22 m",
        dimension="length",
        low=7.0,
        high=40.0,
    ),
    Question(
        key="turn",
        text="Which way does the course turn at the far end?",
        typical="left",
        wanted="left or right",
        choices=("left", "right"),
    ),
    Question(
        key="gate",
        text="How wide are the gates?",
        typical="6 m",
        wanted="a length from 3 to 15 m",
        dimension="length",
        low=3.0,
        high=15.0,
    ),
    Question(
        key="rules",
        text="Which rule set holds?",
        typical="club",
        wanted="club or student",
        choices=("club", "student"),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """Answers with their values; `typical` names the questions that were not answered."""

    name: str
    length: float  # [m]
    width: float  # [m]
    cones: int
    spacing: float  # [m]
    turn: str
    gate: float  # [m]
    rules: str
    typical: frozenset[str]


def read_answers(answers: Mapping[str, str]) -> Answers:
    """Values of the answers; typical ones where there is none.

    Parameters
    ----------
    answers : Mapping[str, str]
        Text of each answer by the question's key; a missing, empty or "do not know" answer takes the typical value.

    Raises
    ------
    AnswerError
        If an answer cannot be used.
    """
    told = given(answers, QUESTIONS)
    values: dict[str, Any] = {
        question.key: question.value(told.get(question.key, question.typical)) for question in QUESTIONS
    }
    typical = frozenset(q.key for q in QUESTIONS if q.key not in told)
    return Answers(**values | {"cones": int(values["cones"])}, typical=typical)


def check_answer(question: Question, answer: str) -> None:
    """Refuse an answer that cannot be used, as soon as it is given.

    Raises
    ------
    AnswerError
        If the answer cannot be used.
    """
    read_answers({question.key: answer})


def course_file(answers: Answers) -> str:
    """A commented course file in walk notes: out through a slalom, round the far end, back through offset gates.

    Raises
    ------
    LotTooSmallError
        If the course does not fit on the lot.
    """
    radius = _turn_radius(answers)
    cones = _slalom_cones(answers, radius)
    out = RUN_UP + (cones - 1) * answers.spacing + RUN_DOWN
    shifts = max(0, math.floor((out - GOOD_STOP - RUN_OUT) / GATE_EVERY))
    spare = out - shifts * GATE_EVERY - RUN_OUT
    stop = min(spare, MOST_STOP)
    notes = [
        "start",
        f"straight {RUN_UP:g} m",
        f"slalom {cones} cones every {answers.spacing:g} m first to your left   # or: either side",
        f"straight {RUN_DOWN:g} m",
        f"{answers.turn} 180 degrees radius {radius:g} m                # of the middle of the road",
        *(
            f"offset gate {SHIFT:g} m {side} after {GATE_EVERY:g} m"
            for side, _ in zip(_sides(answers.turn), range(shifts), strict=False)
        ),
        f"finish after {RUN_OUT + spare - stop:g} m",
        f"stop box {stop:g} m",
    ]
    return _text(answers, radius, notes)


def _sides(turn: str) -> tuple[str, ...]:
    """Sides of the offset gates: first away from the way out, then back and forth."""
    other = "left" if turn == "right" else "right"
    return (other, turn) * 20


def _turn_radius(answers: Answers) -> float:
    """Radius of the turn at the far end, as wide as the lot allows. [m]"""
    room = (answers.width - 2 * EDGE - answers.gate - SHIFT) / 2
    least = answers.gate / 2 + 4.0
    if room < least:
        raise LotTooSmallError("wide", 2 * (least + EDGE) + answers.gate + SHIFT, answers.width)
    return float(math.floor(min(room, WIDEST_TURN)))


def _slalom_cones(answers: Answers, radius: float) -> int:
    """Cones of the slalom; as many as fit where no number was given."""
    around = 2 * EDGE + RUN_UP + RUN_DOWN + radius + answers.gate / 2
    fit = math.floor((answers.length - around) / answers.spacing) + 1
    wanted = min(answers.cones, fit) if "cones" in answers.typical else answers.cones
    way_back = around + LEAST_STOP + RUN_OUT - RUN_UP - RUN_DOWN  # what a finish and a stop area need
    needed = max(around + (max(wanted, 3) - 1) * answers.spacing, way_back)
    if needed > answers.length or RUN_UP + (wanted - 1) * answers.spacing < LEAST_STOP:
        raise LotTooSmallError("long", max(needed, around + LEAST_STOP), answers.length)
    return wanted


def _text(answers: Answers, radius: float, notes: list[str]) -> str:
    """The file."""
    length, width = answers.length, answers.width
    start = (width - 2 * radius) / 2 if answers.turn == "left" else (width + 2 * radius) / 2
    unsure = [q.text for q in QUESTIONS if q.key in answers.typical and q.key != "name"]
    assumed = "".join(f"#   {text}\n" for text in unsure)
    lines = "\n".join(notes)
    return (
        "# A course to start from: change any line, then `conewise course check` this file.\n"
        "# Every field and every word of the notes: docs/formats-course.md\n"
        + (f"# Not answered, so typical values stand here:\n{assumed}" if assumed else "")
        + f"\nname = {toml_string(answers.name)}\n"
        f"rules = {toml_string(answers.rules)}       # rule set that `course check` holds the course to\n"
        "staging = 0.3        # front of the car to the start beam [m]\n"
        "\n[site]\n"
        "# Usable pavement, corners in metres east and north. Measure yours; obstacles go under [[site.obstacle]].\n"
        f"outline = [[0, 0], [{length:g}, 0], [{length:g}, {width:g}], [0, {width:g}]]\n"
        "friction = 1.0       # 1 is dry asphalt; damp 0.7\n"
        "# anchor = { latitude = 51.0, longitude = 7.0 }   # place of [0, 0], for GeoJSON\n"
        "\n[walk]\n"
        f"start = [{EDGE:g}, {start:g}]      # middle of the start line\n"
        'heading = "0 deg"    # first direction, counter-clockwise from the x axis\n'
        f"gate_width = {answers.gate:g}       # where a note gives none [m]\n"
        '# pace = "0.76 m"    # length of one pace, to write "after 30 paces"\n'
        f'notes = """\n{lines}\n"""\n'
    )
