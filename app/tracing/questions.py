"""Questions that a file leaves open, as plain values: what is asked, what may be answered, and what is taken if not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from geometry.errors import PatternError

#: Answers by the key of their question.
Answers = Mapping[str, str]


@dataclass(frozen=True)
class Choice:
    """One possible answer; ``says`` is what it means or what follows from it, such as the size of the piece."""

    value: str
    says: str = ""


@dataclass(frozen=True)
class Question:
    """One question; ``option`` is how the command line answers it, ``piece`` the id of the piece it is about.

    ``choices`` may be empty where any length or name will do. ``given`` is None while it stands at its default.
    """

    key: str
    asks: str
    default: str
    option: str
    choices: tuple[Choice, ...] = ()
    piece: str = ""
    given: str | None = None

    @property
    def answer(self) -> str:
        return self.default if self.given is None else self.given

    @property
    def by_default(self) -> bool:
        return self.given is None


def settled(question: Question, answers: Answers) -> Question:
    """The question with its answer, if there is one. Raises PatternError for an answer that is no choice."""
    given = answers.get(question.key)
    if given is None:
        return question
    values = [choice.value for choice in question.choices]
    if values and given not in values:
        found = next((value for value in values if value.lower() == given.strip().lower()), None)
        if found is None:
            about = f" for “{question.piece}”" if question.piece else ""
            raise PatternError(f"{question.option} “{given}”{about} is no choice here; there are {', '.join(values)}.")
        given = found
    return replace(question, given=given)


def question_values(question: Question) -> dict[str, Any]:
    """One question as plain values for ``--json``."""
    return {
        "key": question.key,
        "asks": question.asks,
        "answer": question.answer,
        "choices": [{"value": choice.value, "says": choice.says} for choice in question.choices],
        "option": question.option,
    }
