"""Options that nothing asked for: an answer that is not taken is told, and never passed over in silence."""

from __future__ import annotations

from collections.abc import Sequence

from app.tracing.answering import questions_of
from app.tracing.questions import Answers
from app.tracing.tracing import Traced
from geometry.findings import Finding, Level

#: Options whose answer is only taken where its question is asked, with what would have asked.
_ASKED = {
    "units": "the file says its own size",
    "hidden": "nothing is hidden",
    "size": "the file does not hold several sizes",
    "other-sizes": "the file does not hold several sizes",
    "size-names": "the file does not hold several sizes without a name",
    "grid": "it is for the pages of a PDF that are parts of one sheet",
    "trim": "it is for the pages of a PDF that are parts of one sheet",
    "rule": "it is for a photo with marker sheets",
    "scan": "it is for a scan",
}
#: Options that are for one kind of file.
_WAYS = {
    "pages": ("pdf", "it is for a PDF"),
    "scan-check": ("photo", "it is for a scan"),
    **dict.fromkeys(("corners", "corner-size", "pen", "follow", "points"), ("photo", "it is for a photo")),
}
_OPTIONS = {"units": "--file-units"}


def idle(answers: Answers, traced: Sequence[Traced]) -> tuple[Finding, ...]:
    """A finding for each answer that none of the files asked for."""
    asked = {question.key for each in traced for question in questions_of(each)}
    ways = {each.found.way for each in traced}
    held = {each.size.lower() for each in traced}
    found = []
    for key, value in answers.items():
        why = ""
        if key in _ASKED and key not in asked:
            why = _ASKED[key]
        elif key in _WAYS and _WAYS[key][0] not in ways:
            why = _WAYS[key][1]
        if not why or (key == "size" and value.strip().lower() in held) or (key, value) == ("grid", "none"):
            continue
        shown = "" if key == "points" else f" “{value[:40]}”"
        says = f"{_OPTIONS.get(key, f'--{key}')}{shown} was not taken: {why}."
        found.append(Finding("not-asked", Level.WARN, says))
    return tuple(found)
