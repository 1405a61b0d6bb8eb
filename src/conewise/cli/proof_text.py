"""What `conewise prove` prints: the answer first, then what else moved the times, cones, and the next test."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from conewise.cli.render import add_row, console, heading, plain_table, print_findings
from conewise.reports import proof_words

if TYPE_CHECKING:
    from conewise.reports.proof_answer import PlanAnswer, ProofAnswer
    from conewise.reports.units import Units


def print_answer(answer: ProofAnswer) -> None:
    """The answer and what it rests on."""
    out = console()
    out.print(Text(proof_words.sentence(answer), style="bold"))
    if answer.effect is not None:
        out.print(Text(proof_words.basis_sentence(answer)))


def print_earlier(answer: ProofAnswer) -> None:
    """The answer under a heading of its own, beside other answers."""
    heading(console(), "Did the last change work?")
    print_answer(answer)


def print_proof(answer: ProofAnswer, units: Units) -> None:
    """The whole answer."""
    out = console()
    print_answer(answer)
    if answer.effect is not None:
        heading(out, "What else moved the times")
        table = plain_table("what", ">seconds")
        for term in answer.effect.terms:
            add_row(table, *proof_words.term_text(term, units))
        add_row(table, "spread of a run" if answer.effect.basis == "same-day" else "spread of a day's gap",
                f"±{answer.effect.spread:.2f} s")  # fmt: skip
        out.print(table)
    cones = proof_words.cone_sentences(answer)
    if cones:
        heading(out, "Cones, apart from the times")
        for words in cones:
            out.print(Text(words))
    if answer.plan is not None:
        heading(out, "The next test")
        _plan(answer.plan)
    if answer.findings:
        heading(out, "Findings")
        print_findings(answer.findings, out)


def print_plan(plan: PlanAnswer) -> None:
    """A test that is proposed."""
    _plan(plan)
    out = console()
    heading(out, "Before you drive")
    for caution in proof_words.CAUTIONS:
        out.print(Text(caution), style="dim")


def _plan(plan: PlanAnswer) -> None:
    out = console()
    for words in proof_words.plan_sentences(plan):
        out.print(Text(words))
