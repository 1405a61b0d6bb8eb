"""The questions of `car new`, and the commented car file that their answers make."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.cars import typical
from conewise.cars.car import DRIVES, TransmissionKind
from conewise.cars.tyre_size import tyre_size
from conewise.questions import Question, given

if TYPE_CHECKING:
    from collections.abc import Mapping

QUESTIONS = (
    Question(key="name", text="What is the car called?", typical="New car", wanted="a name"),
    Question(
        key="kind",
        text=f"What kind of car is it ({', '.join(typical.kinds())})?",
        typical="sedan",
        wanted=f"one of {', '.join(typical.kinds())}",
        choices=typical.kinds(),
    ),
    Question(
        key="drive",
        text="Which wheels are driven (front, rear, all)?",
        typical="as usual for the kind",
        wanted="front, rear or all",
        choices=DRIVES,
    ),
    Question(
        key="mass",
        text="How heavy is it, ready to run, without the driver?",
        typical="as usual for the kind",
        wanted='a mass such as "1050 kg" or "2315 lb"',
        dimension="mass",
        low=350.0,
        high=2600.0,
    ),
    Question(
        key="tyre",
        text="Which size are the tyres?",
        typical="as usual for the kind",
        wanted='a size such as "205/50R15"',
    ),
    Question(
        key="treadwear",
        text="Which treadwear grade have they?",
        typical="300",
        wanted="a number from 0 to 800",
        dimension="ratio",
        low=0.0,
        high=800.0,
    ),
    Question(
        key="power",
        text="How much power has it?",
        typical="as usual for the kind",
        wanted='a power such as "90 kW" or "120 hp"',
        dimension="power",
        low=20e3,
        high=800e3,
    ),
    Question(
        key="transmission",
        text=f"How does it change gear ({', '.join(TransmissionKind)})?",
        typical="as usual for the kind",
        wanted=f"one of {', '.join(TransmissionKind)}",
        choices=tuple(TransmissionKind),
    ),
)


def answered(answers: Mapping[str, str]) -> dict[str, str]:
    """The answers that were given and can be used, by the question's key; the others are left out.

    Parameters
    ----------
    answers : Mapping[str, str]
        Text of each answer by the question's key; a missing, empty or "do not know" answer takes the typical value.

    Raises
    ------
    AnswerError
        If an answer cannot be used.
    TyreCodeError
        If the tyre size is none.
    """
    told = given(answers, QUESTIONS)
    return {question.key: _usable(question, told[question.key]) for question in QUESTIONS if question.key in told}


def check_answer(question: Question, answer: str) -> None:
    """Refuse an answer that cannot be used, as soon as it is given; AnswerError or TyreCodeError."""
    answered({question.key: answer})


def _usable(question: Question, answer: str) -> str:
    """An answer as the file will hold it."""
    value = question.value(answer)
    if question.key == "tyre":
        return str(tyre_size(answer, where=question.text))
    return answer if question.dimension else str(value)


def car_file(answers: Mapping[str, str]) -> str:
    """A commented car file from usable answers, see `answered`; it can be solved with as it is."""
    kind = answers.get("kind", "sedan")
    drive = answers.get("drive", typical.drive_of(kind))
    lines = [
        f"# {answers.get('name', 'New car')}: a car of the kind '{typical.title_of(kind)}'.",
        "# A line that starts with # is switched off: the typical value for the kind, or what follows from the other",
        "# values, is used. Take the # away and write what you know. Units stand in the quotation marks.",
        "# docs/formats-cars.md lists every field; `conewise car show` lists what is used and where it comes from.",
        "",
        f"name = {_quoted(answers.get('name', 'New car'))}",
        f'kind = "{kind}"    # {", ".join(typical.kinds())}',
        f'drive = "{drive}"    # front, rear, all',
    ]
    for section, rows in _SECTIONS.items():
        lines += ["", f"[{section}]"]
        for key, example, remark in rows:
            answer = _ANSWER_AT.get(f"{section}.{key}", "")
            on = answer in answers
            value = answers[answer] if on else example
            bare = answer == "treadwear" or (value[:1] in "[tf" and not on)
            lines.append(
                f"{'' if on else '# '}{key} = {value if bare else _quoted(value)}{remark and f'    # {remark}'}"
            )
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    """Text as TOML has it."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


_ANSWER_AT = {
    "mass.total": "mass",
    "front.tyre.size": "tyre",
    "front.tyre.treadwear": "treadwear",
    "engine.peak_power": "power",
    "transmission.kind": "transmission",
}
_AXLE = (
    ("track", "1.50 m", "contact patch to contact patch"),
    ("spring_rate", "30 N/mm", ""),
    ("motion_ratio", "0.95", "spring travel over wheel travel"),
    ("bar_diameter", "22 mm", "0 mm for no bar"),
    ("camber", "-1.0 deg", "negative with the top inwards"),
    ("toe", "0 deg", "toe-in of each wheel"),
)
_SECTIONS: dict[str, tuple[tuple[str, str, str], ...]] = {
    "mass": (
        ("total", "1200 kg", "ready to run, without the driver; or the scales: axles = [front, rear]"),
        ("front_share", "0.55", "without the driver"),
        ("driver", "80 kg", "with helmet"),
    ),
    "body": (
        ("wheelbase", "2.50 m", ""),
        ("length", "4.10 m", ""),
        ("width", "1.75 m", "at the height of a cone"),
        ("front_overhang", "0.85 m", "front axle to the front of the body"),
        ("cg_height", "0.52 m", "centre of gravity above the road, with driver"),
    ),
    "front": _AXLE,
    "front.tyre": (
        ("size", "205/50R15", "told for one axle, it holds for both"),
        ("treadwear", "200", "grade on the side of the tyre"),
        ("friction", "1.05", "peak on dry grippy asphalt; by treadwear unless given"),
    ),
    "front.wheel": (("size", "15x7 +35", "diameter x width in inches, offset in mm"),),
    "rear": _AXLE,
    "rear.differential": (("kind", "limited-slip", "open, limited-slip or locked"),),
    "engine": (
        ("peak_power", "100 kW", "or torque_curve = [[speed, torque], ...]"),
        ("peak_power_speed", "6200 rpm", ""),
        ("peak_torque", "170 N m", ""),
        ("peak_torque_speed", "4300 rpm", ""),
        ("limit", "6800 rpm", "limiter"),
    ),
    "transmission": (
        ("kind", "manual", "manual, dual-clutch, converter, single-speed"),
        ("gears", "[3.5, 2.0, 1.4, 1.1, 0.9]", "from first gear up"),
        ("final_drive", "4.1", ""),
        ("shift_time", "0.35 s", "time without drive"),
    ),
    "brakes": (
        ("abs", "true", ""),
        ("front_share", "0.75", "share of the brake force on the front axle"),
    ),
    "steering": (
        ("ratio", "15", "hand-wheel over road wheel"),
        ("lock_to_lock", "2.7", "turns of the hand-wheel"),
    ),
}
