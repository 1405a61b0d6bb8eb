"""`conewise car scales` and `conewise car lift`: what the scales say."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from conewise.cli.options import BookFolder, CarArgument, Shown
from conewise.errors import InputError
from conewise.findings import has_stop

if TYPE_CHECKING:
    from rich.table import Table

    from conewise.workflows.weighing import LiftAnswer, ScalesAnswer

Done = Annotated[str, typer.Option("--done", help="What was seen to, with commas between; see the guide.")]
Spread = Annotated[str, typer.Option("--spread", help="Standard uncertainty of one scale, friction included.")]
Units = Annotated[Shown, typer.Option(help="Units shown; JSON is always SI.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object instead of text.")]


_NO = 10  # exit code of an answer that is no


class DoneError(InputError):
    """A word of --done that is none."""

    code = "done"

    def __init__(self, word: str, known: list[str]) -> None:
        super().__init__(
            f"There is nothing called '{word}' to see to.", where="--done", hint=f"Known: {', '.join(known)}."
        )


def scales(
    car: CarArgument,
    weights: Annotated[
        list[str], typer.Argument(help="Front left, front right, rear left, rear right: '281 kg' or '620 lb'.")
    ],
    *,
    cross: Annotated[str, typer.Option("--cross", help="Cross weight wanted on front right and rear left.")] = "50 %",
    done: Done = "",
    spread: Spread = "1 kg",
    units: Units = Shown.METRIC,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Corner weights: the cross weight of four scales, and which spring perch to move how far."""
    from rich.text import Text

    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.quantities import show
    from conewise.workflows import weighing
    from conewise.workflows.named import source

    if len(weights) != 4:
        raise weighing.WeightError(
            f"{len(weights)} weights are given; four are wanted.",
            where="conewise car scales",
            hint='Write "281 kg" "278 kg" "262 kg" "259 kg": front left, front right, rear left, rear right.',
        )
    answer = weighing.answer_scales(
        source(car, "car-file", book_place(book)),
        weights,
        done=_words(done, list(weighing.SCALES_NEED)),
        cross_weight=cross,
        spread=spread,
    )
    if as_json:
        render.print_json(answer.as_dict())
        return
    out = render.console()
    b = answer.balance
    shares = f"front {b.front_share:.1%}, left {b.left_share:.1%}"
    out.print(
        Text(f"Cross weight {b.cross_weight:.1%}, give or take {b.cross_spread:.1%}; {answer.cross_weight:.1%} wanted.")
    )
    out.print(
        Text(
            f"Total {show(b.total, 'mass', units.value)}, {shares}: perches cannot change these, only mass that moves."
        )
    )
    if answer.is_good:
        out.print(Text("Leave it: the scales cannot tell it from what is wanted."))
    else:
        out.print(_moves(answer, units))
        out.print(
            Text("Up lifts the body there. All four together keep the ride height. Only with adjustable perches.")
        )
    render.print_findings(answer.findings, out)
    out.print(Text(weighing.PERCH_CAUTION), style="dim")


def lift(
    car: CarArgument,
    weights: Annotated[
        list[str],
        typer.Argument(help="Front and rear axle level, then the axle that stays down with the other lifted."),
    ],
    *,
    rise: Annotated[str, typer.Option("--rise", help="How far the lifted wheels' centres went up.")],
    lifted: Annotated[str, typer.Option("--lifted", help="Axle that was lifted: front or rear.")] = "rear",
    radius: Annotated[str | None, typer.Option("--radius", help="Wheel centre above the ground.")] = None,
    done: Done = "",
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Height of the centre of gravity: weigh level, lift one axle, weigh the other again."""
    from rich.text import Text

    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.workflows import weighing
    from conewise.workflows.named import source

    if len(weights) != 3 or lifted not in {"front", "rear"}:
        raise weighing.WeightError(
            f"{len(weights)} weights, and the {lifted} axle lifted.",
            where="conewise car lift",
            hint='Write three, "575 kg" "505 kg" "595 kg": front, rear, the axle left down; --lifted front or rear.',
        )
    front, rear, raised = weights
    seen = _words(done, list(weighing.LIFT_NEEDS))
    question = weighing.LiftQuestion(
        front=front, rear=rear, raised=raised, rise=rise, lifted=lifted, radius=radius, done=seen
    )
    answer = weighing.answer_lift(source(car, "car-file", book_place(book)), question)
    if as_json:
        render.print_json(answer.as_dict())
        _leave(answer)
        return
    out = render.console()
    found = answer.found
    parts = sorted(found.parts.items(), key=lambda part: -part[1])
    most = ", ".join(f"{name.replace('_', ' ')} {1e3 * part:.1f} mm" for name, part in parts[:3])
    out.print(
        Text(f"Centre of gravity {1e3 * found.height:.0f} mm high, standard uncertainty {1e3 * found.spread:.0f} mm.")
    )
    out.print(Text(f"Most of it from: {most}."))
    if not has_stop(list(answer.findings)):
        line = f'{{ value = "{found.height:.3f} m", uncertainty = "{found.spread:.3f} m", origin = "measured" }}'
        out.print(Text(f"For the car file, under [body]: cg_height = {line}"))
    render.print_findings(answer.findings, out)
    out.print(Text(weighing.LIFT_CAUTION), style="dim")
    _leave(answer)


def _leave(answer: LiftAnswer) -> None:
    """Leave with 10 where the weighing is not to be used."""
    if has_stop(list(answer.findings)):
        raise typer.Exit(_NO)


def _words(text: str, known: list[str]) -> list[str]:
    words = [word.strip() for word in text.split(",") if word.strip()]
    for word in words:
        if word not in known:
            raise DoneError(word, known)
    return words


def _moves(answer: ScalesAnswer, units: Shown) -> Table:
    from conewise.cli import render
    from conewise.quantities import show

    m = answer.moves
    table = render.plain_table("corner", ">reading", ">change", ">perch, all four", ">or this perch alone")
    rows = zip(answer.corners, answer.balance.readings, m.load_change, m.together, m.alone, strict=True)
    for corner, reading, change, together, alone in rows:
        loads = (show(float(kilograms), "mass", units.value) for kilograms in (reading, change))
        table.add_row(corner, *loads, _move(together, units), _move(alone, units))
    return table


def _move(metres: float, units: Shown) -> str:
    way = "up" if metres > 0 else "down"
    if units is Shown.US:
        return f"{abs(metres) / 0.0254:.2f} in {way}"
    return f"{abs(metres) * 1e3:.1f} mm {way}"
