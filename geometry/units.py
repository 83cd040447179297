"""Lengths as people write them, and back: "25mm", "2.5 cm", "1 1/2 in", "5/8", "1 ft 3 in".

A bare fraction or mixed number is inches; a bare whole or decimal number is the current unit. Everything is read
exactly (an inch is 25.4 mm) and rounded once, to the nearest float.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Literal

from geometry.errors import PatternError

System = Literal["mm", "cm", "in"]

_INCH = Fraction(254, 10)
_MM = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": _INCH,
    "ft": 12 * _INCH,
    "yd": 36 * _INCH,
}
_METRIC = frozenset({"mm", "cm", "m"})
_SPELT = {
    "mm": ("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    "cm": ("cm", "centimetre", "centimetres", "centimeter", "centimeters"),
    "m": ("m", "metre", "metres", "meter", "meters"),
    "in": ("in", "inch", "inches", '"', "''"),
    "ft": ("ft", "foot", "feet", "'"),
    "yd": ("yd", "yds", "yard", "yards"),
}
_UNIT_OF = {spelling: unit for unit, spellings in _SPELT.items() for spelling in spellings}

_TYPED_FOR = str.maketrans(
    {"”": '"', "″": '"', "’": "'", "′": "'", "−": "-", "–": "-", "‐": "-", "‑": "-", "⁄": "/"}
    | {"\u00a0": " ", "\u202f": " "}
)
_TERM = re.compile(
    r"\s*(?P<number>(?:(?P<whole>[0-9]+)(?:\s*-\s*|\s+))?(?P<top>[0-9]+)\s*/\s*(?P<bottom>[0-9]+)|[0-9]*[.,]?[0-9]+)"
    r"\s*(?:(?P<unit>[a-z]+|''|'|\")\.?)?\s*"
)
_A_NUMBER = r"[-−]?[0-9]+(?:\.[0-9]+)?"
_IN_MM = re.compile(rf"(?<![\w.,])(?P<mm>{_A_NUMBER})(?: mm\b|(?= (?:and|to|x) {_A_NUMBER} mm\b))")
_LONGEST_TEXT = 60
_LONGEST_MM = 100_000
#: A length this close to a mark of the tape measure is said as that mark (mm).
_ON_THE_MARK_MM = 0.02
_HALF_A_TENTH_MM = 0.0501


@dataclass(frozen=True)
class Length:
    """A length that was read: ``mm``, and the ``text`` as it was typed."""

    mm: float
    text: str


@dataclass(frozen=True)
class _Term:
    value: Fraction
    unit: str | None
    is_fraction: bool


def read_length(text: str, current: str = "mm") -> Length:
    """The length a text means; ``current`` is the unit of a bare whole or decimal number.

    A leading minus sign is kept. Raises PatternError, in one sentence, for anything that is no length or that
    could mean two.
    """
    typed = text.strip()
    if not typed:
        raise PatternError("No length was given; write one such as 25 mm, 2.5 cm or 1 1/2 in.")
    shown = typed if len(typed) <= _LONGEST_TEXT else typed[:20] + "…"
    plain = _plain(typed)
    minus = plain.startswith("-")
    terms = tuple(_terms(plain[1:] if minus else plain.removeprefix("+"), shown))
    mm = sum((_in_mm(term, current, len(terms), shown) for term in terms), Fraction(0))
    _check_order(terms, shown)
    if mm > _LONGEST_MM:
        raise PatternError(f"“{shown}” is longer than 100 m, so it cannot be meant.")
    return Length(float(-mm if minus else mm), typed)


def say_length(mm: float, system: System = "mm") -> str:
    """A length as a tape measure says it.

    "mm" and "cm" go to a tenth of a millimetre (a hundredth below 1 mm). "in" is a fraction where a mark of the
    tape measure (sixteenths, then thirty-seconds) is within 0.02 mm, else a decimal to a thousandth.
    """
    if system == "in":
        return _say_inches(mm)
    places = 1 if abs(mm) >= 1 else 2
    return f"{_trimmed(mm, places)} mm" if system == "mm" else f"{_trimmed(mm / 10, places + 1)} cm"


def tape_words(mm: float, system: System = "mm") -> str:
    """A length as it is said in class: as ``say_length``, but what is less than a centimetre stays in mm."""
    return say_length(mm, "mm" if system == "cm" and abs(mm) < 9.95 else system)


def in_system(text: str, system: System) -> str:
    """A sentence whose lengths stand in mm ("takes out 25 mm"), with every one of them said in ``system``.

    Lengths of a sentence stand to a tenth, so in inches a mark of the tape measure within half a tenth is meant; what
    was written more exactly ("15.875 mm", which is 5/8 in) is said to a tenth in mm too.
    """

    def put(found: re.Match[str]) -> str:
        mm = float(found["mm"].replace("−", "-"))
        return _say_inches(mm, _HALF_A_TENTH_MM) if system == "in" else tape_words(mm, system)

    return _IN_MM.sub(put, text)


def said(length: Length) -> str:
    """What was understood, to a thousandth of a millimetre: "understood as 15.875 mm"."""
    return f"understood as {_trimmed(length.mm, 3)} mm"


def _plain(typed: str) -> str:
    """Lower case, with typographic signs as the keyboard's own and ⅝ as " 5/8"."""
    apart = "".join(
        " " + unicodedata.normalize("NFKC", sign) if unicodedata.decomposition(sign).startswith("<fraction>") else sign
        for sign in typed
    )
    return apart.translate(_TYPED_FOR).lower().strip()


def _terms(plain: str, shown: str) -> Iterator[_Term]:
    if len(plain) > _LONGEST_TEXT:
        raise _no_length(shown)
    if re.search(r"[0-9][.,][0-9]+[.,][0-9]", plain):
        raise PatternError(f"“{shown}” has two commas or points; write thousands without any, such as 1234.5.")
    at = 0
    while at == 0 or at < len(plain):
        found = _TERM.match(plain, at)
        if not found or (found["unit"] is not None and found["unit"] not in _UNIT_OF):
            raise _no_length(shown)
        unit = None if found["unit"] is None else _UNIT_OF[found["unit"]]
        yield _Term(_value(found, shown), unit, found["bottom"] is not None)
        at = found.end()


def _value(found: re.Match[str], shown: str) -> Fraction:
    if found["bottom"] is None:
        number = found["number"]
        if re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", number):
            raise PatternError(
                f"“{shown}” can be read in two ways; write {number.replace(',', '.')} or {number.replace(',', '')}."
            )
        return Fraction(number.replace(",", "."))
    if int(found["bottom"]) == 0:
        raise PatternError(f"“{shown}” divides by nothing; write a fraction such as 5/8.")
    part = Fraction(int(found["top"]), int(found["bottom"]))
    if found["whole"] is None:
        return part
    if part >= 1:
        raise PatternError(f"“{shown}” has a fraction of one or more; write a mixed number such as 1 5/8.")
    return int(found["whole"]) + part


def _in_mm(term: _Term, current: str, count: int, shown: str) -> Fraction:
    if term.unit is not None:
        return term.value * _MM[term.unit]
    if count > 1:
        raise PatternError(f"“{shown}” leaves a number without its unit; write each, such as 1 ft 3 in.")
    return term.value * (_INCH if term.is_fraction else _MM[_UNIT_OF[current]])


def _check_order(terms: tuple[_Term, ...], shown: str) -> None:
    units = [term.unit for term in terms if term.unit is not None]
    if len({unit in _METRIC for unit in units}) > 1:
        raise PatternError(f"“{shown}” mixes metric and inches; write it in one of them.")
    if any(_MM[small] >= _MM[large] for large, small in pairwise(units)):
        raise PatternError(f"“{shown}” does not go from the larger unit to the smaller; write it as 1 ft 3 in.")


def _no_length(shown: str) -> PatternError:
    return PatternError(f"“{shown}” is not a length; write one such as 25 mm, 2.5 cm, 1 1/2 in or 5/8.")


def _say_inches(mm: float, near: float = _ON_THE_MARK_MM) -> str:
    inches = abs(mm) / 25.4
    for parts in (16, 32):
        marks = round(inches * parts)
        if abs(marks / parts * 25.4 - abs(mm)) <= near:
            sign = "-" if mm < 0 and marks else ""
            return f"{sign}{_mixed(Fraction(marks, parts))} in"
    return f"{_trimmed(mm / 25.4, 3)} in"


def _mixed(value: Fraction) -> str:
    whole, rest = divmod(value.numerator, value.denominator)
    if not rest:
        return str(whole)
    return f"{whole} {rest}/{value.denominator}" if whole else f"{rest}/{value.denominator}"


def _trimmed(value: float, places: int) -> str:
    text = f"{value:.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text
