"""Several sizes in one file: told by the names of layers, or by outlines of different look lying over each other."""

from __future__ import annotations

from dataclasses import replace

from app.tracing.found import Found, FoundLine
from app.tracing.joining import Joined, Loop, join
from app.tracing.pieces_found import LEAST_AREA, LEAST_MM, NOT_OUTLINES, is_exchange, line_role
from app.tracing.questions import Answers, Choice, Question, settled
from app.tracing.roles import size_of_layer
from geometry.pens import Role

#: Outlines that share this much of what they cover together are one piece in two sizes.
_SHARED = 0.6


def by_name(found: Found, answers: Answers) -> tuple[Found, str, list[Question]]:
    """The lines of one size, with what belongs to all, where layers (or words in blocks) are named after sizes."""
    if is_exchange(found):
        return _by_words(found, answers)
    layers = list(dict.fromkeys(line.layer for line in found.lines))
    by_size: dict[str, list[str]] = {}
    for layer in layers:
        size = size_of_layer(layer)
        if size is not None:
            by_size.setdefault(size, []).append(layer)
    if len(by_size) < 2:
        return found, "", []
    question = _question(list(by_size), answers)
    left_out = {layer for size, named in by_size.items() if size != question.answer for layer in named}
    return _without(found, left_out), question.answer, [question]


def _by_words(found: Found, answers: Answers) -> tuple[Found, str, list[Question]]:
    """One size of a layered exchange, in which each block says its own: “Size: 12”."""
    size_of = {}
    for word in found.words:
        head, colon, tail = word.words.partition(":")
        if colon and word.group and head.strip().lower() == "size" and tail.strip():
            size_of[word.group] = tail.strip()
    sizes = list(dict.fromkeys(size_of.values()))
    if len(sizes) < 2:
        return found, sizes[0] if sizes else "", []
    question = _question(sizes, answers)
    out = {group for group, size in size_of.items() if size != question.answer}
    kept = replace(
        found,
        lines=tuple(line for line in found.lines if line.group not in out),
        words=tuple(word for word in found.words if word.group not in out),
        points=tuple(point for point in found.points if point.group not in out),
    )
    return kept, question.answer, [question]


def _without(found: Found, layers: set[str]) -> Found:
    return replace(
        found,
        lines=tuple(line for line in found.lines if line.layer not in layers),
        words=tuple(word for word in found.words if word.layer not in layers),
        points=tuple(point for point in found.points if point.layer not in layers),
    )


def by_look(found: Found, joined: Joined, gap: float, answers: Answers) -> tuple[Found, Joined, str, list[Question]]:
    """One size of outlines that lie over each other and differ in layer, dash or colour."""
    exchange = is_exchange(found)
    large = [
        loop
        for loop in joined.loops
        if min(loop.box) >= LEAST_MM and loop.polygon.is_valid and loop.polygon.area >= LEAST_AREA
    ]
    large = [loop for loop in large if line_role(loop.line, exchange) not in NOT_OUTLINES]
    looks: dict[tuple[str, str, tuple[float, ...]], list[Loop]] = {}
    for one in large:
        for other in large:
            if one is not other and _look(one.line) != _look(other.line) and _is_other_size(one, other, exchange):
                looks.setdefault(_look(one.line), []).append(one)
    if len(looks) < 2:
        return found, joined, "", []
    names = _look_names(list(looks))
    question = _question([names[look] for look in looks], answers)
    left_out = {look for look in looks if names[look] != question.answer}
    lines = tuple(line for line in found.lines if _look(line) not in left_out)
    kept = replace(found, lines=lines)
    return kept, join(lines, gap, apart=exchange), question.answer, [question]


def _question(sizes: list[str], answers: Answers) -> Question:
    choices = tuple(Choice(size) for size in sizes)
    asks = f"The file holds {len(sizes)} sizes. Which one is wanted?"
    return settled(Question("size", asks, sizes[0], "--size", choices), answers)


def _look(line: FoundLine) -> tuple[str, str, tuple[float, ...]]:
    return (line.layer, line.colour, line.dash)


def _is_other_size(one: Loop, other: Loop, exchange: bool) -> bool:
    roles = {line_role(loop.line, exchange) for loop in (one, other)}
    if Role.STITCH in roles:
        return False
    shared = one.polygon.intersection(other.polygon).area
    if shared < _SHARED * one.polygon.union(other.polygon).area:
        return False
    if bool(one.line.dash) == bool(other.line.dash):
        return True
    # A dashed line all round inside a solid one is its stitching line.
    return not (one.polygon.contains(other.polygon) or other.polygon.contains(one.polygon))


def _look_names(looks: list[tuple[str, str, tuple[float, ...]]]) -> dict[tuple[str, str, tuple[float, ...]], str]:
    """A name for each look by what tells them apart: the layer, else the colour, else the dashes."""
    if len({layer for layer, _, _ in looks}) == len(looks):
        return {look: size_of_layer(look[0]) or look[0] or "no layer" for look in looks}
    if len({colour for _, colour, _ in looks}) == len(looks):
        return {look: look[1] or "no colour" for look in looks}
    return {look: f"line {number}: {_dashes(look[2])}, {look[1] or 'black'}" for number, look in enumerate(looks, 1)}


def _dashes(dash: tuple[float, ...]) -> str:
    return "solid" if not dash else "dashes " + " ".join(f"{one:g}" for one in dash[:6])
