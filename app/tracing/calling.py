"""Pieces that their file does not name are called after their shape: of two bodies, the lower neckline is a front's."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from app.tracing.building import Drawn, slug
from app.tracing.naming import Shape, neck_depth, suggest
from app.tracing.questions import Answers

_NAMELESS = re.compile(r"Piece \d+")


def told_apart(drawn: Sequence[Drawn]) -> list[Drawn]:
    """The pieces, those without a name called Front, Back, Sleeve, Skirt or Band as far as their shapes tell."""
    nameless = [one for one in drawn if _NAMELESS.fullmatch(one.raw.name)]
    named = {one.suggestion.shape for one in drawn if one not in nameless}
    bodies = [one for one in nameless if one.suggestion.shape is Shape.FRONT]
    bodies.sort(key=_neck, reverse=True)
    called: dict[int, str] = {}
    if len(bodies) == 2 and not named & {Shape.FRONT, Shape.BACK}:
        called = {id(bodies[0]): "Front", id(bodies[1]): "Back"}
    elif len(bodies) == 1 and named & {Shape.FRONT, Shape.BACK} and len(named & {Shape.FRONT, Shape.BACK}) == 1:
        called = {id(bodies[0]): "Back" if Shape.FRONT in named else "Front"}
    for shape, name in ((Shape.SLEEVE, "Sleeve"), (Shape.BAND, "Band")):
        alike = [one for one in nameless if one.suggestion.shape is shape]
        if len(alike) == 1 and shape not in named:
            called[id(alike[0])] = name
    return [_called(one, called[id(one)]) if id(one) in called else one for one in drawn]


def as_answered(drawn: Sequence[Drawn], answers: Answers) -> list[Drawn]:
    """The pieces with what their edges are suggested by the names that were answered; ids stay."""
    return [
        replace(_called(one, answers[key]), id=one.id) if (key := f"name:{one.id}") in answers else one for one in drawn
    ]


def _neck(one: Drawn) -> float:
    return neck_depth([edge.whole for edge in one.edges], one.suggestion.kinds)


def _called(one: Drawn, name: str) -> Drawn:
    raw = replace(one.raw, name=name)
    wholes = [edge.whole for edge in one.edges]
    suggestion = suggest(name, wholes, one.words, one.suggestion.fold)
    return replace(one, id=slug(name), raw=raw, suggestion=suggestion)
