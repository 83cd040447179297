"""JSON (RFC 8259) read strictly and written for people to read.

Refused: not-a-number and infinity, numbers too large to be one, a key given twice, nesting deeper than 50, text
that is not Unicode.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from typing import Any

from geometry.errors import PatternError

DEEPEST = 50
_WIDEST = 110
_LARGEST_WHOLE = 2**53

#: Where a value stands: keys, and numbers of items from 0.
Trail = tuple[str | int, ...]


class _Twice(dict[str, Any]):
    """An object in which a key was given twice."""

    key = ""


def parse(data: bytes, name: str) -> Any:
    """The value that a JSON text means; raises PatternError that says where it is broken. ``name`` is the file's."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise PatternError(f"“{name}” was not opened: byte {error.start + 1} is no text in UTF-8.") from None
    if not text.strip():
        raise PatternError(f"“{name}” was not opened: it is empty.")
    try:
        value = json.loads(text, object_pairs_hook=_object, parse_int=_whole)
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, column {error.colno}"
        raise PatternError(f"“{name}” was not opened: it is broken at {place} ({_reason(error.msg)}).") from None
    except RecursionError:
        raise PatternError(f"“{name}” was not opened: it is nested more than {DEEPEST} deep.") from None
    try:
        check(value)
    except PatternError as error:
        raise PatternError(one_line(f"“{name}” was not opened: {error.says}")) from None
    return value


def check(root: Any) -> None:
    """Raises PatternError at the first thing in a value that is refused; walks it without recursion."""
    waiting: list[tuple[Any, Trail]] = [(root, ())]
    while waiting:
        value, trail = waiting.pop()
        why = _refused(value, trail)
        if why:
            place = said(trail[:6], root) + (" › …" if len(trail) > 6 else "")
            raise PatternError(f"{place}: {why}.")
        waiting.extend((child, (*trail, key)) for key, child in reversed(list(_children(value))))


def layout(value: Any) -> str:
    """The value as JSON text: short things on one line, a list of numbers always so, keys in the order given.

    Lists of more than two lists or objects have each on its own line, so that a curve's segments stand in a column.
    """
    return "".join(_lay_out(value, 0)) + "\n"


def json_bytes(values: Any) -> bytes:
    """Plain values as readable JSON; the same values always give the same bytes."""
    return (json.dumps(values, ensure_ascii=False, allow_nan=False, indent=1) + "\n").encode()


def one_line(says: str) -> str:
    """A sentence without line breaks or other unprintable signs that names in a file may hold."""
    return "".join(sign if sign.isprintable() else " " for sign in says)


def said(trail: Trail, root: Any = None) -> str:
    """A place in words, "pieces › front › edges": an item by its id where it has one, else by its number from 1."""
    words: list[str] = []
    here = root
    for step in trail:
        here = _step(here, step)
        named = here.get("id") if isinstance(here, dict) and isinstance(step, int) else None
        words.append(named if isinstance(named, str) else str(step + 1) if isinstance(step, int) else f"{step}"[:40])
    return " › ".join(words) or "the file"


def _step(here: Any, step: str | int) -> Any:
    try:
        return here[step]
    except (LookupError, TypeError):
        return None


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) == len(pairs):
        return found
    twice = _Twice(found)
    seen: set[str] = set()
    for key, _ in pairs:
        if key in seen:
            twice.key = key
            break
        seen.add(key)
    return twice


def _whole(digits: str) -> int | float:
    return int(digits) if len(digits) <= 18 else float(digits)


def _reason(message: str) -> str:
    return message[:1].lower() + message[1:].replace('"', "”")


def _refused(value: Any, trail: Trail) -> str | None:
    if isinstance(value, dict | list) and len(trail) >= DEEPEST:
        return f"nested more than {DEEPEST} deep"
    if isinstance(value, _Twice):
        return f"“{value.key[:40]}” is given twice"
    if isinstance(value, float) and not math.isfinite(value):
        return "not a finite number"
    if isinstance(value, int) and abs(value) > _LARGEST_WHOLE:
        return "a number too large to be meant"
    texts = (value,) if isinstance(value, str) else value if isinstance(value, dict) else ()
    if any("\ud800" <= sign <= "\udfff" for text in texts for sign in text if sign > "\ud7ff"):
        return "text with half a sign in it"
    return None


def _children(value: Any) -> Iterator[tuple[str | int, Any]]:
    if isinstance(value, dict):
        yield from value.items()
    elif isinstance(value, list):
        yield from enumerate(value)


def _lay_out(value: Any, indent: int) -> Iterator[str]:
    short = _short(value)
    if short is not None and (len(short) + indent <= _WIDEST or _is_row(value)):
        yield short
        return
    pairs = isinstance(value, Mapping)
    pad = " " * (indent + 2)
    yield "{\n" if pairs else "[\n"
    for number, item in enumerate(value.items() if pairs else value):
        if number:
            yield ",\n"
        yield pad
        if pairs:
            yield f"{_scalar(str(item[0]))}: "
            yield from _lay_out(item[1], indent + 2)
        else:
            yield from _lay_out(item, indent + 2)
    yield "\n" + " " * indent + ("}" if pairs else "]")


def _short(value: Any) -> str | None:
    """The value on one line, or None where it is larger than a line could hold."""
    if isinstance(value, Mapping):
        if len(value) > 12:
            return None
        parts = [(key, _short(item)) for key, item in value.items()]
        if any(part is None or len(part) > _WIDEST for _, part in parts):
            return None
        return "{" + ", ".join(f"{_scalar(str(key))}: {part}" for key, part in parts) + "}"
    if isinstance(value, list | tuple):
        if len(value) > (12 if _is_row(value) else 2):
            return None
        items = [_short(item) for item in value]
        if any(item is None for item in items):
            return None
        return "[" + ", ".join(item for item in items if item is not None) + "]"
    return _scalar(value)


def _is_row(value: Any) -> bool:
    return not isinstance(value, Mapping | list | tuple) or (
        isinstance(value, list | tuple) and not any(isinstance(item, Mapping | list | tuple) for item in value)
    )


def _scalar(value: Any) -> str:
    if isinstance(value, float):
        if not math.isfinite(value):
            raise PatternError("A number in it is not finite, so the garment was not saved.")
        # A whole number is written without its point, but -0.0 keeps its sign.
        if value.is_integer() and abs(value) < _LARGEST_WHOLE and math.copysign(1.0, value) * (value or 1.0) > 0:
            return str(int(value))
        return repr(float(value))
    return json.dumps(value, ensure_ascii=False)
