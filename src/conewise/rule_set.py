"""Rule sets: where the text of one is found by its name or path, and which tables of it belong to whom.

One TOML file holds a whole rule set. The limits of a course stand at its top level; every other topic has a table of
its own, which its reader takes and which the others pass over.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from conewise.errors import InputError, NotFoundError
from conewise.toml_source import plain_text, text_problem

SHIPPED = ("club", "student")
TABLES = ("class", "helmet", "inspection", "penalty", "people", "results")  # topics beside the limits of a course
_MOST_BYTES = 2_000_000


class UnknownRulesError(NotFoundError):
    """There is no rule set of that name, nor such a file."""

    code = "rules-unknown"

    def __init__(self, name: str, *, where: str = "") -> None:
        super().__init__(
            f"There is no rule set '{name}'.",
            where=where or name,
            hint=f"Shipped are {' and '.join(SHIPPED)}; or give the path of a .toml file.",
        )


class NotARuleFileError(InputError):
    """The file is empty or no text."""

    code = "rules-file"
    default_hint = "docs/formats-event.md shows a full rule set; a shipped one is named by its name."

    def __init__(self, path: Path, problem: str) -> None:
        super().__init__(f"'{path.name}' {problem}.", where=str(path))


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleText:
    """The text of a rule set, its name, and how messages call its file."""

    name: str
    file: str
    text: str


def rule_text(name_or_path: str, *, where: str = "") -> RuleText:
    """The text of a shipped rule set by its name, or of a TOML file; `where` is what names it, for an error.

    Raises
    ------
    UnknownRulesError
        If there is neither such a rule set nor such a file.
    NotARuleFileError
        If the file is no text.
    """
    if name_or_path in SHIPPED:
        shipped = resources.files("conewise").joinpath("reference", "rules", f"{name_or_path}.toml")
        text = shipped.read_text(encoding="utf-8")
        return RuleText(name=name_or_path, file=f"rules/{name_or_path}.toml", text=text)
    path = Path(name_or_path)
    if path.suffix.lower() != ".toml":
        raise UnknownRulesError(name_or_path, where=where)
    try:
        with path.open("rb") as opened:
            content = opened.read(_MOST_BYTES + 1)
    except OSError:
        raise UnknownRulesError(name_or_path, where=where) from None
    if len(content) > _MOST_BYTES:
        raise NotARuleFileError(path, "has more than 2 MB; this is a small text")
    text = plain_text(content)
    if problem := text_problem(text):
        raise NotARuleFileError(path, problem)
    return RuleText(name=path.stem, file=str(path), text=text)
