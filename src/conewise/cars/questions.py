"""The questions of `car new`, and the commented car file that their answers make."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.cars import typical
from conewise.cars.car import AXLES, DRIVES, TransmissionKind, field
from conewise.cars.car_file import car_of
from conewise.cars.toml_file import Table
from conewise.cars.tyre_size import tyre_size
from conewise.quantities import in_unit
from conewise.questions import Question, given

if TYPE_CHECKING:
    from collections.abc import Mapping

    from conewise.cars.car import Car

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
    """A commented car file from usable answers, see `answered`; it can be solved with as it is.

    Lines that are switched off hold what is used without them: switching one on moves nothing.
    """
    used = car_of(Table.of_text("\n".join(_lines(answers, None)), file="the car"))
    return "\n".join(_lines(answers, used)) + "\n"


def _lines(answers: Mapping[str, str], used: Car | None) -> list[str]:
    """The lines of a car file; those that are switched off with the values used, or left out where there are none."""
    name, kind = answers.get("name", "New car"), answers.get("kind", "sedan")
    drive = answers.get("drive", typical.drive_of(kind))
    lines = [
        f"# {name}: a car of the kind '{typical.title_of(kind)}'.",
        "# A line that starts with # is switched off: it holds the typical value for the kind, or what follows from",
        "# the other values. Take the # away and write what you know. Units stand in the quotation marks.",
        "# docs/formats-cars.md lists every field; `conewise car show` lists what is used and where it comes from.",
        "",
        f"name = {_quoted(name)}",
        f'kind = "{kind}"    # {", ".join(typical.kinds())}',
        f'drive = "{drive}"    # front, rear, all',
    ]
    for section, rows in _SECTIONS.items():
        if section.endswith("differential") and drive not in ("all", section.split(".")[0]):
            continue
        lines += ["", f"[{section}]"]
        for key, remark in rows:
            answer = answers.get(_ANSWER_AT.get(f"{section}.{key}", ""))
            value = _as_told(key, answer) if answer else _as_used(used, section, key) if used else ""
            if value:
                lines.append(f"{'' if answer else '# '}{key} = {value}{remark and f'    # {remark}'}")
    return lines


def _as_told(key: str, answer: str) -> str:
    return answer if key == "treadwear" else _quoted(answer)


def _as_used(car: Car, section: str, key: str) -> str:
    """What a car is reckoned with, as a file has it; empty where it has no such thing."""
    name = f"{section}.{key}"
    words = {
        "transmission.kind": _quoted(str(car.transmission.kind)),
        "transmission.gears": f"[{', '.join(f'{gear.value:.5g}' for gear in car.transmission.gears)}]",
        "brakes.abs": "true" if car.brakes.abs else "false",
    }
    for axle in AXLES:
        words[f"{axle}.differential.kind"] = _quoted(str(getattr(car, axle).differential.kind))
        words |= {f"{axle}.{part}.size": _quoted(_code(car, axle, part)) for part in ("tyre", "wheel")}
    if name in words or name not in car.values:
        return words.get(name, "")
    facts = field(name)
    number = f"{in_unit(car.value(name), facts.dimension, facts.shown):.5g}"
    return number if key == "treadwear" else _quoted(f"{number} {facts.shown}".strip())


def _code(car: Car, axle: str, part: str) -> str:
    """The size of a tyre, or of the wheel under it."""
    rim = in_unit(car.value(f"{axle}.tyre.rim_diameter"), "length", "in")
    if part == "tyre":
        width, aspect = (car.value(f"{axle}.tyre.{one}") for one in ("section_width", "aspect"))
        return f"{1e3 * width:.0f}/{100.0 * aspect:.0f}R{rim:.4g}"
    width, offset = in_unit(car.value(f"{axle}.wheel.width"), "length", "in"), car.value(f"{axle}.wheel.offset")
    return f"{rim:.4g}x{width:.3g} {1e3 * offset:+.3g}"


def _quoted(text: str) -> str:
    """Text as TOML has it."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


_ANSWER_AT = {
    "mass.total": "mass",
    "front.tyre.size": "tyre",
    "rear.tyre.size": "tyre",
    "front.tyre.treadwear": "treadwear",
    "rear.tyre.treadwear": "treadwear",
    "engine.peak_power": "power",
    "transmission.kind": "transmission",
}
_AXLE = (
    ("track", "contact patch to contact patch"),
    ("spring_rate", ""),
    ("motion_ratio", "spring travel over wheel travel"),
    ("bar_diameter", "0 mm for no bar"),
    ("camber", "negative with the top inwards"),
    ("toe", "toe-in of each wheel"),
)
_TYRE = (
    ("size", "told for one axle alone, it holds for both"),
    ("treadwear", "grade on the side of the tyre"),
    ("friction", "peak on dry grippy asphalt; by treadwear unless given"),
)
_WHEEL = (("size", "diameter x width in inches, offset in mm"),)
_DIFFERENTIAL = (("kind", "open, limited-slip or locked"),)
_SECTIONS: dict[str, tuple[tuple[str, str], ...]] = {
    "mass": (
        ("total", "ready to run, without the driver; or the scales: axles = [front, rear]"),
        ("front_share", "without the driver"),
        ("driver", "with helmet"),
    ),
    "body": (
        ("wheelbase", ""),
        ("length", ""),
        ("width", "at the height of a cone"),
        ("front_overhang", "front axle to the front of the body"),
        ("cg_height", "centre of gravity above the road, with driver"),
    ),
    "front": _AXLE,
    "front.tyre": _TYRE,
    "front.wheel": _WHEEL,
    "front.differential": _DIFFERENTIAL,
    "rear": _AXLE,
    "rear.tyre": _TYRE,
    "rear.wheel": _WHEEL,
    "rear.differential": _DIFFERENTIAL,
    "engine": (
        ("peak_power", "or torque_curve = [[speed, torque], ...]"),
        ("peak_power_speed", ""),
        ("peak_torque", ""),
        ("peak_torque_speed", ""),
        ("limit", "limiter"),
    ),
    "transmission": (
        ("kind", "manual, dual-clutch, converter, single-speed"),
        ("gears", "from first gear up"),
        ("final_drive", ""),
        ("shift_time", "time without drive"),
    ),
    "brakes": (
        ("abs", ""),
        ("front_share", "share of the brake force on the front axle"),
    ),
    "steering": (
        ("ratio", "hand-wheel over road wheel"),
        ("lock_to_lock", "turns of the hand-wheel"),
    ),
}
