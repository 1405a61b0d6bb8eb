"""docs/formats-cars.md: its table of fields is the program's."""

from pathlib import Path

from conewise.cars.car import AXLES, field, field_names
from conewise.quantities import in_unit

PAGE = Path(__file__).resolve().parents[3] / "docs" / "formats-cars.md"
MARK = "<!-- one row for every numeric field, in the order of the file -->\n"


def number(value, facts):
    return f"{in_unit(value, facts.dimension, facts.shown):.4g}"


def field_table():
    rows = ["| field | meaning | unit | plausible | step |", "|---|---|---|---|---|"]
    for name in field_names():
        if name.startswith(f"{AXLES[1]}."):
            continue
        facts = field(name)
        shown = name.replace("front.", "*axle*.", 1) if name.startswith("front.") else name
        span = f"{number(facts.low, facts)} to {number(facts.high, facts)}"
        step = number(facts.step, facts) if facts.step else f"{facts.share:.0%}"
        note = " (from the code)" if facts.from_code else ""
        rows.append(f"| `{shown}` | {facts.meaning}{note} | {facts.shown or '-'} | {span} | {step} |")
    return "\n".join(rows) + "\n"


def test_the_table_of_fields_is_the_programs():
    written = PAGE.read_text(encoding="utf-8").split(MARK)[1]
    assert written.startswith(field_table())
