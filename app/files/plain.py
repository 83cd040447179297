"""Frozen values <-> plain ones (what JSON can hold), derived from the dataclasses themselves.

A field that is empty (None, "", no items) by default and in fact is left out. A line is a list: its start point,
then for each segment [x, y] where it is straight or [x1, y1, x2, y2, x, y] where it is a cubic Bezier.
"""

from __future__ import annotations

import math
import types
import typing
import unicodedata
from collections.abc import Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
from enum import StrEnum
from functools import cache
from typing import Any

import numpy as np
from shapely.errors import ShapelyError

from geometry.errors import PatternError
from geometry.kept import frozen
from geometry.lines import Chain, chain
from geometry.tolerances import MEET_MM

#: Nothing in a garment lies further from the piece's origin than this (mm).
FARTHEST_MM = 10_000.0
#: No line has more segments than this.
MOST_SEGMENTS = 5_000

_KINDS = {str: "a text", bool: "true or false", int: "a whole number", float: "a number"}


def to_plain(value: Any, *, whole: bool = False) -> Any:
    """The plain form of a value; with ``whole`` empty fields are kept too."""
    if isinstance(value, Chain):
        return _line_to_plain(value)
    if isinstance(value, StrEnum):
        return str(value)
    if is_dataclass(value) and not isinstance(value, type):
        kept = (f for f in fields(value) if whole or not _is_left_out(f, getattr(value, f.name)))
        return {f.name: to_plain(getattr(value, f.name), whole=whole) for f in kept}
    if isinstance(value, Mapping):
        return {str(key): to_plain(item, whole=whole) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [to_plain(item, whole=whole) for item in value]
    if isinstance(value, np.generic):
        return value.item()
    return value


def from_plain(kind: Any, value: Any, where: tuple[str, ...]) -> Any:
    """The value of a type that a plain one stands for; ``where`` is said when it is none.

    Raises PatternError for unknown and missing fields, a wrong kind of value, and whatever the type itself refuses.
    """
    origin = typing.get_origin(kind)
    if kind is Any:
        return value
    if origin in (types.UnionType, typing.Union):
        some = next(one for one in typing.get_args(kind) if one is not type(None))
        return None if value is None else from_plain(some, value, where)
    if origin is typing.Literal:
        return _one_of(typing.get_args(kind), value, where)
    if origin is tuple:
        return _tuple_from(typing.get_args(kind), value, where)
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return _mapping_from(typing.get_args(kind), value, where)
    if kind is Chain:
        return _line_from(value, where)
    if issubclass(kind, StrEnum):
        return kind(_one_of(tuple(str(member) for member in kind), value, where))
    if is_dataclass(kind):
        return _fields_from(kind, value, where)
    return _scalar_from(kind, value, where)


def refusal(where: tuple[str, ...], says: str) -> PatternError:
    """One sentence with its place in front."""
    return PatternError(f"{' › '.join(where)}: {says}." if where else f"{says[:1].upper()}{says[1:]}.")


def as_object(value: Any, where: tuple[str, ...]) -> dict[str, Any]:
    """A plain object, or a refusal."""
    if not isinstance(value, dict):
        raise refusal(where, f"{shown(value)} stands where named values are wanted")
    return value


def as_list(value: Any, where: tuple[str, ...]) -> list[Any]:
    """A plain list, or a refusal."""
    if not isinstance(value, list):
        raise refusal(where, f"{shown(value)} stands where a list is wanted")
    return value


def shown(value: Any) -> str:
    """A plain value as a sentence quotes it, shortened."""
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, list):
        return "a list"
    if value is None or isinstance(value, bool):
        return {None: "null", True: "true", False: "false"}[value]
    text = f"{value}"
    return f"“{text if len(text) <= 40 else text[:40] + '…'}”"


def plain_text(text: str, where: tuple[str, ...], *, lines: bool = False) -> str:
    """The text as it is; a refusal where it holds a line break, another control character or what is no character.

    No name with one could be lettered on a piece or written to XML (XML 1.0, 2.2). A text of several ``lines`` may.
    """
    for sign in text.replace("\n", "") if lines else text:
        if unicodedata.category(sign) in ("Cc", "Zl", "Zp") or ord(sign) & 0xFFFE == 0xFFFE:
            what = "a line break" if sign in "\n\r\u2028\u2029" else "a sign that cannot be printed"
            raise refusal(where, f"{what} stands in the text {shown(text)}")
    return text


def step_into(where: tuple[str, ...], item: Any, number: int) -> tuple[str, ...]:
    """The place of an item of a list: by its id, or by its number from 1."""
    named = item.get("id") if isinstance(item, dict) else None
    return (*where, named if isinstance(named, str) else str(number + 1))


def _is_left_out(field: Field[Any], value: Any) -> bool:
    default = field.default_factory() if field.default_factory is not MISSING else field.default
    return default is not MISSING and (default is None or default in ("", ())) and value == default


@cache
def _types_of(kind: type) -> dict[str, Any]:
    return typing.get_type_hints(kind)


def _fields_from(kind: Any, value: Any, where: tuple[str, ...]) -> Any:
    given = as_object(value, where)
    hints = _types_of(kind)
    known = {f.name: f for f in fields(kind)}
    for name in given:
        if name not in known:
            raise refusal(where, f"“{name[:40]}” is not known here; things of your own belong under “extra”")
    for name, field in known.items():
        if name not in given and field.default is MISSING and field.default_factory is MISSING:
            raise refusal(where, f"“{name}” is missing")
    values = {name: from_plain(hints[name], item, (*where, name)) for name, item in given.items()}
    try:
        return kind(**values)
    except PatternError:
        raise
    except (ValueError, TypeError, LookupError, ArithmeticError, ShapelyError) as error:
        raise refusal(where, f"cannot be drawn ({str(error).lower()[:80]})") from None


def _tuple_from(kinds: tuple[Any, ...], value: Any, where: tuple[str, ...]) -> tuple[Any, ...]:
    items = as_list(value, where)
    if kinds[-1] is Ellipsis:
        return tuple(from_plain(kinds[0], item, step_into(where, item, number)) for number, item in enumerate(items))
    if len(items) != len(kinds):
        raise refusal(where, f"{len(items)} values stand where {len(kinds)} are wanted")
    return tuple(
        from_plain(kind, item, step_into(where, item, number))
        for number, (kind, item) in enumerate(zip(kinds, items, strict=True))
    )


def _mapping_from(kinds: tuple[Any, ...], value: Any, where: tuple[str, ...]) -> Mapping[Any, Any]:
    key_kind, item_kind = kinds
    return types.MappingProxyType(
        {
            from_plain(key_kind, key, where): from_plain(item_kind, item, (*where, key[:40]))
            for key, item in as_object(value, where).items()
        }
    )


def _one_of(choices: tuple[str, ...], value: Any, where: tuple[str, ...]) -> str:
    if not isinstance(value, str) or value not in choices:
        raise refusal(where, f"{shown(value)} is none of {', '.join(choices)}")
    return value


def _scalar_from(kind: type, value: Any, where: tuple[str, ...]) -> Any:
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if kind is float and is_number:
        if not abs(value) <= FARTHEST_MM:
            raise refusal(where, f"{shown(value)} is more than {FARTHEST_MM / 1000:g} m")
        return float(value)
    if kind is int and is_number and value == int(value):
        return int(value)
    if kind is bool and type(value) is bool:
        return value
    if kind is str and type(value) is str:
        return plain_text(value, where, lines=where[-1:] == ("remark",))
    raise refusal(where, f"{shown(value)} stands where {_KINDS.get(kind, 'another value')} is wanted")


def _line_to_plain(line: Chain) -> list[list[Any]]:
    # Compared by their bytes, so that the sign of -0.0 is kept as well.
    end = line.cubics[0, 0].tobytes()
    rows: list[list[Any]] = [line.cubics[0, 0].tolist()]
    for cubic, is_straight in zip(line.cubics, line.straight, strict=True):
        numbers: list[Any] = cubic.ravel().tolist()
        own_start = cubic[0].tobytes() != end
        end = cubic[3].tobytes()
        kept = numbers if own_start else numbers[2:]
        if is_straight and not own_start and chain([cubic[[0, 3]]]).cubics[0].tobytes() == cubic.tobytes():
            kept = numbers[6:]
        elif is_straight:
            kept = ["straight", *kept]
        rows.append(kept)
    return rows


def _line_from(value: Any, where: tuple[str, ...]) -> Chain:
    rows = as_list(value, where)
    if not 2 <= len(rows) <= MOST_SEGMENTS + 1:
        raise refusal(where, f"a line has a start and 1 to {MOST_SEGMENTS} segments, not {max(len(rows) - 1, 0)}")
    start = _numbers(rows[0], (2,), (*where, "1"))
    segments: list[list[tuple[float, float]]] = []
    forced: list[bool] = []
    for number, row in enumerate(rows[1:], 1):
        place = (*where, str(number + 1))
        drawn_straight = isinstance(row, list) and row[:1] == ["straight"]
        numbers = _numbers(row[1:], (6, 8), place) if drawn_straight else _numbers(row, (2, 6, 8), place)
        points = list(zip(numbers[0::2], numbers[1::2], strict=True))
        if len(numbers) < 8:
            points.insert(0, (start[0], start[1]))
        elif math.dist(points[0], start) > MEET_MM:
            raise refusal(place, "it does not start where the one before ends")
        start = list(points[-1])
        segments.append(points)
        forced.append(drawn_straight)
    try:
        line = chain(segments)
    except ValueError as error:
        raise refusal(where, f"{error}") from None
    if not any(forced):
        return line
    return Chain(line.cubics, frozen(line.straight | np.array(forced)))


def _numbers(row: Any, counts: tuple[int, ...], where: tuple[str, ...]) -> list[float]:
    items = as_list(row, where)
    if len(items) not in counts:
        wanted = " or ".join(str(count) for count in counts)
        raise refusal(where, f"{len(items)} numbers stand where {wanted} are wanted")
    return [_scalar_from(float, item, where) for item in items]
