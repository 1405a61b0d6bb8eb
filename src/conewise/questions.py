"""Questions that make a file to start from: what is asked, what an answer looks like, and what stands for no answer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.errors import InputError
from conewise.quantities import UnitError, parse

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from conewise.quantities import Dimension

DO_NOT_KNOW = ("", "?", "-", "do not know", "don't know", "dont know", "no idea", "unknown", "typical")

NEEDED = "needed"  # stands where a question has no typical answer, and must be answered


class AnswerError(InputError):
    """An answer that cannot be used."""

    code = "answer"

    def __init__(self, question: Question, answer: str) -> None:
        or_typical = '; an empty answer or "do not know" takes the typical value' if question.typical != NEEDED else ""
        super().__init__(
            f'"{answer}" is no answer to "{question.text}".',
            where=question.text,
            hint=f"Give {question.wanted}{or_typical}.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One question; a quantity has a dimension and a range in SI, a count is a whole number of things."""

    key: str
    text: str
    typical: str
    wanted: str
    choices: tuple[str, ...] = ()
    dimension: Dimension | None = None
    low: float = 0.0
    high: float = 0.0
    is_count: bool = False

    def value(self, answer: str) -> str | float:
        """An answer as a word of the choices, a number in SI, or text as it is.

        Raises
        ------
        AnswerError
            If it is none.
        """
        if self.choices:
            if answer.lower() not in self.choices:
                raise AnswerError(self, answer)
            return answer.lower()
        if self.dimension is None:
            if any(ord(character) < 32 for character in answer):
                raise AnswerError(self, answer)
            return answer
        try:
            number = parse(answer, self.dimension, where=self.text)
        except UnitError:
            raise AnswerError(self, answer) from None
        if not self.low <= number <= self.high or (self.is_count and number != int(number)):
            raise AnswerError(self, answer)
        return number


def given(answers: Mapping[str, str], questions: Sequence[Question]) -> dict[str, str]:
    """The answers that say something, stripped, by the question's key."""
    told = {question.key: answers.get(question.key, "").strip() for question in questions}
    return {key: answer for key, answer in told.items() if answer.lower() not in DO_NOT_KNOW}
