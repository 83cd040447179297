"""Several pictures of one piece: which answers are about which of them."""

from __future__ import annotations

from app.tracing.questions import Answers

#: What says how large a picture is; “scan-2” is that of the second picture.
SIZE_KEYS = ("rule", "scan", "scan-check", "corners", "corner-size")


def of_picture(answers: Answers, number: int) -> Answers:
    """The answers for one of several pictures, by its number from 1: its own about its size where there are any, else
    those of the first."""
    own = {key: answers[f"{key}-{number}"] for key in SIZE_KEYS if f"{key}-{number}" in answers}
    if not own:
        return answers
    return {**{key: value for key, value in answers.items() if key not in SIZE_KEYS}, **own}


def numbered(answers: Answers, number: int) -> dict[str, str]:
    """The answers about a picture's size, as those of the picture of a number."""
    return {f"{key}-{number}": answers[key] for key in SIZE_KEYS if key in answers}
