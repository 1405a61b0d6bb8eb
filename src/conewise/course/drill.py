"""A course learned by heart: cards of its features to put in order, the way each goes, in growing stretches.

What looks alike on the lot counts as one thing: two gates of one width may change places without a mistake.
"""

from __future__ import annotations

from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import TYPE_CHECKING

import numpy as np

from conewise.course.layout import FeatureKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.course.geometry import CourseGeometry, FeatureSpan

STRETCH = 4  # features added at each stage; common practice, no source
TURNS = np.radians(45.0)  # a bend that turns less has no side to remember
_ROWS = (FeatureKind.SLALOM, FeatureKind.CONE, FeatureKind.WALL, FeatureKind.SPLIT_GATE)
_BENDS = (FeatureKind.SWEEPER, FeatureKind.HAIRPIN)


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """One feature as a driver remembers it.

    side: "left" or "right": where its first cone is, or which way it turns; "" where there is nothing to remember
    question: what the side means: "first cone", "turns" or ""
    """

    feature: str
    number: int  # in driving order, from 1
    kind: str
    n_crossings: int
    is_pairs: bool  # each crossing is a gate, not a single cone
    side: str
    question: str

    @property
    def looks(self) -> str:
        """What the card shows: kind and number of cones or gates, neither place nor side."""
        kind = self.kind.replace("-", " ")
        if self.n_crossings == 1:
            return kind
        return f"{kind}, {self.n_crossings} {'gates' if self.is_pairs else 'cones'}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """How well a stretch is known. Numbers are those of the features in driving order."""

    n_cards: int
    n_in_order: int
    missing: tuple[int, ...]  # left out, or out of their place
    n_sides: int
    wrong_sides: tuple[int, ...]

    @property
    def is_known(self) -> bool:
        """Whether order and sides are all right."""
        return not self.missing and not self.wrong_sides


def cards(geometry: CourseGeometry) -> tuple[Card, ...]:
    """The features of a course between start and finish, in driving order."""
    spans = {span.id: span for span in geometry.spans}
    answers = []
    for number, feature in enumerate(geometry.course.features, start=1):
        if feature.kind in {FeatureKind.START, FeatureKind.FINISH}:
            continue
        side, question = ("", "") if feature.id in geometry.choices else _side(geometry, spans[feature.id])
        answers.append(
            Card(
                feature=feature.id,
                number=number,
                kind=feature.kind.value,
                n_crossings=len(feature.crossings),
                is_pairs=all(len(crossing) > 1 for crossing in feature.crossings),
                side=side,
                question=question,
            )
        )
    return tuple(answers)


def _side(geometry: CourseGeometry, span: FeatureSpan) -> tuple[str, str]:
    """What is to be remembered of the side of a feature, and what it means."""
    if span.kind in _ROWS:
        first = geometry.own_cones(span.id)[0]
        return ("left" if first.side > 0 else "right"), "first cone"
    if span.kind in _BENDS:
        headings = geometry.path.at(np.array([span.start, span.end])).heading
        turned = float(headings[1] - headings[0])
        if abs(turned) >= TURNS:
            return ("left" if turned > 0.0 else "right"), "turns"
    return "", ""


def stages(all_cards: Sequence[Card], *, stretch: int = STRETCH) -> tuple[tuple[Card, ...], ...]:
    """Growing stretches from the start: the first few features, then more, at last all of them."""
    ends = list(range(stretch, len(all_cards), stretch))
    if ends and len(all_cards) - ends[-1] < max(2, stretch // 2):  # no stage for a single feature more
        ends.pop()
    return tuple(tuple(all_cards[:end]) for end in [*ends, len(all_cards)])


def shuffled(stretch: Sequence[Card], rng: np.random.Generator) -> tuple[Card, ...]:
    """The cards of a stretch as they are laid on the table; in driving order only where there is no other."""
    order = np.arange(len(stretch))
    for _ in range(20):
        order = rng.permutation(len(stretch))
        if any(stretch[int(i)].looks != card.looks for i, card in zip(order, stretch, strict=True)):
            break
    return tuple(stretch[int(i)] for i in order)


def score(stretch: Sequence[Card], order: Sequence[Card], sides: dict[str, str]) -> Score:
    """An answer against the course.

    Parameters
    ----------
    stretch : sequence of Card
        In driving order.
    order : sequence of Card
        As the driver put them; may leave some out.
    sides : dict of str to str
        "left" or "right" by feature; what is left out counts as wrong where there is a side.

    Notes
    -----
    In order are the cards of the longest matching blocks of both rows (Ratcliff and Metzener, Pattern matching: the
    gestalt approach, Dr. Dobb's Journal, July 1988; from memory), so that one card too early costs one card and not
    all behind it. A feature that either side is open to has no side to remember.
    """
    wanted, told = [card.looks for card in stretch], [card.looks for card in order]
    blocks = SequenceMatcher(None, wanted, told, autojunk=False).get_matching_blocks()
    kept = {block.a + i for block in blocks for i in range(block.size)}
    asked = [card for card in stretch if card.side]
    wrong = [card.number for card in asked if sides.get(card.feature) != card.side]
    return Score(
        n_cards=len(stretch),
        n_in_order=len(kept),
        missing=tuple(card.number for i, card in enumerate(stretch) if i not in kept),
        n_sides=len(asked),
        wrong_sides=tuple(wrong),
    )
