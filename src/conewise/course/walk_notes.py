"""Walk notes in plain words: one note a feature or a stretch, read into fields."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from typing import TYPE_CHECKING

from conewise import quantities
from conewise.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

_NUMBER = r"\d+(?:\.\d+)?"
_UNIT = r"paces?|m|met(?:re|er)s?|cm|ft|feet|foot|'|yards?|yd|in|inch(?:es)?"
_LENGTH = rf"({_NUMBER})\s*({_UNIT})?(?![\w°.])"
_FILLERS = re.compile(r"(?<!\S)(?:a|an|the|of|your|with|and|then|go|is|at)(?!\S)")
_SPLIT = re.compile(r";|,\s")
_COMMENT = re.compile(r"\s*#.*")

# phrase -> pattern in the text without filler words
_PHRASES: dict[str, str] = {
    "after": rf"after {_LENGTH}",
    "width": rf"(?:width {_LENGTH}|{_LENGTH} wide)",
    "every": rf"every {_LENGTH}",
    "radius": rf"radius {_LENGTH}",
    "long": rf"{_LENGTH} long",
    "apart": rf"{_LENGTH} apart",
    "away": rf"{_LENGTH} away",
    "angle": rf"({_NUMBER})\s*(?:degrees?|deg|°)",
    "count": r"(\d+) cones?(?!\w)",
    "first": r"(?:first (?:cone )?(?:to |on )?(left|right)|(?:first (?:cone )?(?:to |on )?)?(either)(?: side)?)(?!\w)",
    "shift": rf"{_LENGTH} (?:to )?(left|right)(?!\w)",
    "side": r"(?:to |on )?(left|right|either)(?: side)?(?!\w)",
    "single": r"(?:around|round) (?:one|single) cone(?!\w)",
    "pointer": r"pointer(?!\w)",
    "length": _LENGTH,
}

N_NEAREST = 3  # notes that are proposed for one that is not understood
MOST_CONES = 1000  # of one feature
MOST_ANGLE = 720.0  # of one bend [deg]


@dataclass(frozen=True, slots=True)
class Word:
    """What may stand in a note that begins with a word."""

    required: tuple[str, ...] = ()
    optional: tuple[str, ...] = ()
    example: str = ""


# Longer beginnings first: "offset gate" before "gate".
WORDS: dict[str, Word] = {
    "offset gate": Word(("shift",), ("after", "width"), "offset gate 4 m left after 24 m"),
    "split gate": Word(("first", "apart"), ("after", "width"), "split gate 5 m apart first to your left after 20 m"),
    "stop box": Word(("length",), (), "stop box 30 m"),
    "stop lane": Word(("length",), (), "stop lane 40 m"),
    "start": Word((), ("width",), "start 6 m wide"),
    "straight": Word(("length",), (), "straight 20 m"),
    "gate": Word((), ("after", "width"), "gate 5 m wide after 25 paces"),
    "box": Word(("long",), ("after", "width"), "box 12 m long 6 m wide after 20 m"),
    "slalom": Word(("count", "every", "first"), ("after",), "slalom 5 cones every 18 m first to your left"),
    "cone": Word(("side",), ("after", "away", "pointer"), "cone to your right 2 m away after 15 m with a pointer"),
    "wall": Word(("count", "every", "side"), ("after", "away"), "wall 6 cones every 3 m to your right after 10 m"),
    "sweeper": Word(("side", "angle", "radius"), ("width",), "sweeper left 90 degrees radius 25 m"),
    "hairpin": Word(("side", "radius"), ("angle", "width", "single"), "hairpin right radius 8 m around one cone"),
    "bear": Word(("side", "angle"), (), "bear left 10 degrees"),
    "left": Word(("angle", "radius"), ("width",), "left 90 degrees radius 20 m"),
    "right": Word(("angle", "radius"), ("width",), "right 180 degrees radius 15 m"),
    "mark": Word((), (), "mark light pole"),
    "finish": Word((), ("after", "width"), "finish after 20 m"),
}
_SAID = {
    "after": "'after' and a length",
    "width": "a width",
    "every": "'every' and a length",
    "radius": "'radius' and a length",
    "long": "a length and 'long'",
    "apart": "a length and 'apart'",
    "away": "a length and 'away'",
    "angle": "an angle in degrees",
    "count": "a number of cones",
    "first": "'first to your left', 'first to your right' or 'either side'",
    "shift": "a length and 'left' or 'right'",
    "side": "'left' or 'right'",
    "length": "a length",
}


class WalkNoteError(InputError):
    """A walk note that is not understood: quotes it, names its line, lists what is."""

    code = "walk-note"
    default_hint = "docs/formats-course.md lists every note that is understood."

    def __init__(self, note: str, problem: str, *, where: str, hint: str = "") -> None:
        super().__init__(f'The note "{note}" is not understood: {problem}.', where=where, hint=hint)


@dataclass(frozen=True, slots=True)
class Paced:
    """A length as noted: metres, or a number of paces."""

    value: float
    in_paces: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """One note read."""

    text: str
    where: str  # file, line and note, for messages
    word: str  # its beginning, a key of WORDS
    lengths: dict[str, Paced] = field(default_factory=dict)
    side: str = ""  # "left", "right" or "either"
    angle: float = 0.0  # [deg]
    count: int = 0
    flags: frozenset[str] = frozenset()
    name: str = ""  # of a mark


def split_notes(text: str) -> list[tuple[int, str]]:
    r"""Single notes of a text, each with the line in which it begins, from 0.

    Notes stand one a line, or are separated by ";" or ", "; "#" begins a comment.

    Examples
    --------
    >>> split_notes("start, straight 20 m\nslalom 5 cones every 18 m, first to your left")
    [(0, 'start'), (0, 'straight 20 m'), (1, 'slalom 5 cones every 18 m first to your left')]
    """
    notes: list[tuple[int, str]] = []
    for number, line in enumerate(text.splitlines()):
        goes_on = False
        for piece in _SPLIT.split(_COMMENT.sub("", line)):
            note = piece.strip().rstrip(".,")
            if goes_on and note and _beginning(_plain(note)) is None:
                notes[-1] = (number, f"{notes[-1][1]} {note}")
            elif note:
                notes.append((number, note))
                goes_on = True
    return notes


def read_note(text: str, *, where: str) -> Note:
    """One note as fields.

    Raises
    ------
    WalkNoteError
        If it does not begin with a known word, lacks something, or says something that is not understood.
    """
    plain = _plain(text)
    word = _beginning(plain)
    if word is None:
        raise WalkNoteError(text, "it begins with no known word", where=where, hint=_nearest(plain))
    if word == "mark":
        name = " ".join(text.split()[1:])
        if not name:
            raise WalkNoteError(text, "a mark needs a name", where=where, hint=_like(word))
        return Note(text=text, where=where, word=word, name=name)
    found, rest = _phrases(plain[len(word) :], WORDS[word])
    problems = [f"it lacks {_SAID[phrase]}" for phrase in WORDS[word].required if phrase not in found]
    problems += [f"'{rest}' means nothing here"] if rest else []
    if problems:
        hint = _like(word)
        if rest.startswith("after"):
            hint += f' Way before it is a note of its own, such as "{WORDS["straight"].example}".'
        raise WalkNoteError(text, "; ".join(problems), where=where, hint=hint)
    note = _note(text, where, word, found)
    if note.count > MOST_CONES:
        raise WalkNoteError(text, f"a feature has {MOST_CONES} cones at the most", where=where)
    if note.angle > MOST_ANGLE:
        raise WalkNoteError(text, f"a bend has {MOST_ANGLE:g} degrees at the most", where=where)
    return note


def _note(text: str, where: str, word: str, found: dict[str, list[str]]) -> Note:
    """The note from the phrases found in it."""
    sides = [groups[-1] for phrase, groups in found.items() if phrase in {"first", "side", "shift"}]
    return Note(
        text=text,
        where=where,
        word=word,
        lengths={
            phrase: _length(groups, text, where)
            for phrase, groups in found.items()
            if phrase not in {"angle", "count", "first", "side", "single", "pointer"}
        },
        side=word if word in {"left", "right"} else next(iter(sides), ""),
        angle=float(found["angle"][0]) if "angle" in found else 0.0,
        count=int(found["count"][0]) if "count" in found else 0,
        flags=frozenset(found) & {"single", "pointer"},
    )


def _phrases(text: str, word: Word) -> tuple[dict[str, list[str]], str]:
    """Phrases found in the text of a note, and what is left of it."""
    found: dict[str, list[str]] = {}
    for phrase, pattern in _PHRASES.items():
        if phrase not in word.required + word.optional:
            continue
        match = re.search(rf"(?<!\S){pattern}", text)
        if match is not None:
            found[phrase] = [group for group in match.groups() if group is not None]
            text = f"{text[: match.start()]} {text[match.end() :]}"
    return found, " ".join(text.split())


def _length(groups: Sequence[str], text: str, where: str) -> Paced:
    """A length from its number and unit; a bare number is metres."""
    number = groups[0]
    unit = groups[1] if len(groups) > 1 and groups[1] not in {"left", "right"} else "m"
    if unit.startswith("pace"):
        return Paced(float(number), in_paces=True)
    return Paced(quantities.parse(f"{number} {unit}", "length", where=f'note "{text}"', file=where))


def _plain(text: str) -> str:
    """Lower case, single spaces, without words that only make a sentence."""
    words = " ".join(re.sub(r",(?=\s|$)", " ", text.lower()).split())
    return " ".join(_FILLERS.sub(" ", words).split())


def _beginning(plain: str) -> str | None:
    """The known word with which a note begins."""
    return next((word for word in WORDS if re.match(rf"{word}(?!\S)", plain)), None)


def _nearest(plain: str) -> str:
    """Two or three notes that may have been meant: by their beginning, else by the words that they have in common."""
    told = set(plain.split())
    begins = {word: SequenceMatcher(None, word, plain[: len(word)]).ratio() for word in WORDS}
    shared = {word: len(told & set(_plain(WORDS[word].example).split())) for word in WORDS}
    ranked = sorted(WORDS, key=lambda word: (-begins[word] - 0.2 * shared[word], word))
    *others, last = (f'"{WORDS[word].example}"' for word in ranked[:N_NEAREST])
    return f"Nearest to it: {', '.join(others)} or {last}. docs/formats-course.md lists every note."


def _like(word: str) -> str:
    return f'Write it like "{WORDS[word].example}".'
