"""How an alteration declares itself: its amounts, its sentence, its function.

From the declaration alone come the menu entry, the note card, the command-line options, the saved form and the
page in the docs; nothing is listed by hand elsewhere.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Any, TypeVar

from geometry.errors import PatternError
from geometry.findings import Finding
from geometry.garments import Garment
from geometry.handwork import HandStep, Work
from geometry.memory import Recall
from geometry.notes import Target
from geometry.pieces import Piece
from geometry.stages import Offer, Strip

_KEY = "amount"
#: No size has a longer name.
_LONGEST_SIZE = 80

T = TypeVar("T")
_REMEMBERED: ContextVar[tuple[Recall, Hashable] | None] = ContextVar("remembered", default=None)


@dataclass(frozen=True)
class Amount:
    """What one field of an alteration is. ``unit`` is "mm", "share", "choice" or "size" (one of the ``choices`` or
    the name of a size of the garment); ``main`` marks the one that is made smaller when a note does not fit.
    ``called`` is how it is said beside its line on the piece, the names of fields in braces, where it is not what the
    note takes out or adds there."""

    label: str
    unit: str
    default: Any
    least: float = -math.inf
    most: float = math.inf
    choices: tuple[str, ...] = ()
    main: bool = False
    basis: str = ""
    called: str = ""


@dataclass(frozen=True, eq=False)
class Done:
    """What an alteration made of the garment, and what is to be said about it."""

    garment: Garment
    findings: tuple[Finding, ...] = ()
    strips: tuple[Strip, ...] = ()
    readings: tuple[str, ...] = ()
    offers: tuple[Offer, ...] = ()


@dataclass(frozen=True, eq=False)
class PieceDone:
    """The same for one piece."""

    piece: Piece
    findings: tuple[Finding, ...] = ()
    strips: tuple[Strip, ...] = ()
    readings: tuple[str, ...] = ()


@dataclass(frozen=True)
class Example:
    """A hand-worked example shown in the docs: what is done, what must come of it, and where that is from."""

    given: str
    gives: str
    source: str


Doing = Callable[[Garment, Any, tuple[Target, ...], str], Done]
Steps = Callable[[Work], Iterable[HandStep]]


@dataclass(frozen=True, eq=False)
class Alteration:
    """One alteration. ``sentence`` is the card's: field names, {pieces} and {blend} in braces stand for their dials.

    ``on_cut`` is done instead of ``do`` to the line that is cut along, where the two differ.
    ``aims_at`` says what a target is: "pieces", or "edges" where each target names an edge. ``steps`` tells how one
    piece is changed by hand; without them they are told from the piece before and after (``geometry.by_hand``).
    ``covers`` is the part of the region that a note is done to, where that is less than the region.
    """

    name: str
    title: str
    region: str
    order: int
    sentence: str
    amounts: type
    do: Doing
    on_cut: Doing | None = None
    version: int = 1
    aims_at: str = "pieces"
    examples: tuple[Example, ...] = ()
    describes: str = ""
    steps: Steps | None = None
    covers: str = ""

    @property
    def place(self) -> str:
        """The region of the body whose pieces a new note is done to."""
        return self.covers or self.region

    def fields(self) -> dict[str, Amount]:
        """The amounts by field name, in the order of the form."""
        return {f.name: f.metadata[_KEY] for f in dataclasses.fields(self.amounts)}

    @property
    def main(self) -> str | None:
        """The field that is made smaller when a note does not fit."""
        return next((name for name, field in self.fields().items() if field.main), None)

    def checked(self, values: Mapping[str, Any]) -> Any:
        """Amounts from plain values (numbers in mm), defaults filled in.

        Raises PatternError for an unknown field, a wrong kind of value or one outside its limits.
        """
        fields = self.fields()
        for name in values:
            if name not in fields:
                raise PatternError(f"“{self.title}” has no amount called “{name}”; it has {', '.join(fields)}.")
        chosen = {name: field.default for name, field in fields.items()} | dict(values)
        return self.amounts(**{name: _checked(self.title, field, chosen[name]) for name, field in fields.items()})

    @property
    def own(self) -> Amount | None:
        """The field that a piece's own amount stands for: the main one, or the only length, if there is one."""
        lengths = [field for field in self.fields().values() if field.unit == "mm"]
        return next((field for field in lengths if field.main), lengths[0] if len(lengths) == 1 else None)

    def checked_target(self, target: Target) -> Target:
        """The target as it is. Raises PatternError where its own amount is outside the limits of the note's."""
        if target.amount is not None and self.own is not None:
            try:
                _checked(self.title, self.own, target.amount)
            except PatternError as error:
                raise PatternError(f"“{target.piece}”: {error.says}", target.piece) from None
        return target


def mm(
    label: str, default: float, least: float, most: float, *, main: bool = False, basis: str = "", called: str = ""
) -> Any:
    """An amount in mm within limits; ``basis`` says what it is measured on, ``called`` how it stands on the piece."""
    return _field(Amount(label, "mm", default, least, most, main=main, basis=basis, called=called))


def share(label: str, default: float, least: float = 0.0, most: float = 1.0, *, basis: str = "") -> Any:
    """A part of a whole, 0 to 1."""
    return _field(Amount(label, "share", default, least, most, basis=basis))


def choice(label: str, *options: str, basis: str = "") -> Any:
    """One of several words; the first is the default."""
    return _field(Amount(label, "choice", options[0], choices=options, basis=basis))


def size(label: str, *options: str, basis: str = "") -> Any:
    """The name of a size of the garment, or one of several words; the first word is the default."""
    return _field(Amount(label, "size", options[0], choices=options, basis=basis))


@contextmanager
def remembering(recall: Recall, note: Hashable) -> Iterator[None]:
    """While a note is done, what ``once_for`` makes is recalled; ``note`` holds all that it is made by."""
    token = _REMEMBERED.set((recall, note))
    try:
        yield
    finally:
        _REMEMBERED.reset(token)


def once_for(piece: Piece, how: Hashable, make: Callable[[], T]) -> T:
    """What the note makes of a piece, which must follow from the piece, the note and ``how`` alone."""
    remembered = _REMEMBERED.get()
    if remembered is None:
        return make()
    recall, note = remembered
    return recall("note on a piece", (piece,), (note, how), make)


def piece_by_piece(
    garment: Garment,
    targets: tuple[Target, ...],
    one: Callable[[Piece, Target], PieceDone],
) -> Done:
    """An alteration that is done to each target piece by itself: all or none."""
    findings: list[Finding] = []
    strips: list[Strip] = []
    readings: list[str] = []
    made: dict[str, Piece] = {}
    for target in targets:
        done = _done_to(made.get(target.piece) or garment.piece(target.piece), target, one)
        made[done.piece.id] = done.piece
        findings.extend(done.findings)
        strips.extend(done.strips)
        readings.extend(line for line in done.readings if line not in readings)
    return Done(garment.with_pieces(made.values()), tuple(findings), tuple(strips), tuple(readings))


def _done_to(piece: Piece, target: Target, one: Callable[[Piece, Target], PieceDone]) -> PieceDone:
    """Recalled only where all that ``one`` reads beside the piece is the same; it must not count its own calls."""
    read = (one.__code__, *(cell.cell_contents for cell in one.__closure__ or ()))
    try:
        hash(read)
    except TypeError:
        return one(piece, target)
    return once_for(piece, (target, read), lambda: one(piece, target))


def _field(amount: Amount) -> Any:
    return dataclasses.field(default=amount.default, metadata={_KEY: amount})


def _checked(title: str, field: Amount, value: Any) -> Any:
    if field.unit == "size" and value not in field.choices:
        if not isinstance(value, str) or not 0 < len(value) <= _LONGEST_SIZE or not value.isprintable():
            raise PatternError(f"“{title}”: {field.label} is the name of a size; “{str(value)[:40]!r}” is none.")
        return value
    if field.unit in ("choice", "size"):
        if value not in field.choices:
            raise PatternError(f"“{title}”: {field.label} is one of {', '.join(field.choices)}; “{value}” is not.")
        return field.choices[field.choices.index(value)]
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise PatternError(f"“{title}”: {field.label} is a number; “{value}” is not.")
    if not field.least <= value <= field.most:
        raise PatternError(f"“{title}”: {field.label} goes from {_limits(field)}; {_said(field, value)} does not.")
    return float(value)


def _limits(field: Amount) -> str:
    """Its limits in words; of lengths the unit stands with both, as each is put in the tape measure in hand."""
    return f"{_said(field, field.least)} to {_said(field, field.most)}"


def _said(field: Amount, value: float) -> str:
    return f"{value:g} mm" if field.unit == "mm" else f"{value:g}"
