"""A garment: pieces by id, which edges are sewn to which, and the allowances by finish."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType

from geometry.closures import Girth, Opening
from geometry.errors import PatternError
from geometry.kept import changed, kept_property, unchecked
from geometry.pieces import Cloth, Edge, Finish, Piece
from geometry.size_tables import SizeTable


class Pressed(StrEnum):
    """How a seam is pressed."""

    OPEN = "open"
    TO_FIRST = "to the first side"
    TO_SECOND = "to the second side"


class StretchKind(StrEnum):
    """How a stretch of a seam between two notches is sewn."""

    EVEN = "even"
    EASED = "eased"
    GATHERED = "gathered"
    STRETCHED = "stretched on"


@dataclass(frozen=True)
class EdgeRef:
    """An edge of a piece as a seam takes it; ``backwards`` when the seam runs against the outline."""

    piece: str
    edge: str
    backwards: bool = False


@dataclass(frozen=True)
class Match:
    """Two notches that are sewn together."""

    name: str
    first_piece: str
    first: str
    second_piece: str
    second: str


@dataclass(frozen=True)
class Stretch:
    """How much longer the second side may be than the first, in mm, from ``least`` to ``most``.

    For EVEN both are 0. For STRETCHED the second side is shorter: ``ratio`` is its length over the first's.
    """

    kind: StretchKind = StretchKind.EVEN
    least: float = 0.0
    most: float = 0.0
    ratio: float | None = None

    def __post_init__(self) -> None:
        if not self.least <= self.most:
            raise PatternError(
                f"A stretch of a seam may be longer by {self.least:g} mm at least and by {self.most:g} mm at most; "
                "the least is more than the most."
            )


@dataclass(frozen=True)
class Seam:
    """Two ordered runs of edges sewn together, both followed from the end where they meet.

    ``stretches`` has one entry for the whole seam, or one for each stretch between the matches in order.
    ``sewn`` is its place in the order of sewing. ``accepted_mm`` is a difference that was traced and is accepted.
    """

    id: str
    name: str
    first: tuple[EdgeRef, ...]
    second: tuple[EdgeRef, ...]
    stretches: tuple[Stretch, ...] = (Stretch(),)
    matches: tuple[Match, ...] = ()
    pressed: Pressed = Pressed.OPEN
    sewn: int = 0
    accepted_mm: float | None = None

    def __post_init__(self) -> None:
        if not self.first or not self.second:
            raise PatternError(f"Seam “{self.name}” has only one side; say what it is sewn to.")
        if len(self.stretches) not in (1, len(self.matches) + 1):
            raise PatternError(f"Seam “{self.name}” needs one stretch, or one between each pair of notches.")


#: Allowance by finish where an edge names none, in mm (docs/vocabulary.md gives the sources).
DEFAULT_WIDTHS: Mapping[Finish, float] = MappingProxyType(
    {
        Finish.SEAM: 15.0,
        Finish.FACED: 6.0,
        Finish.BOUND: 0.0,
        Finish.BANDED: 6.0,
        Finish.HEM_ONCE: 25.0,
        Finish.HEM_TWICE: 30.0,
        Finish.RAW: 0.0,
        Finish.FOLD: 0.0,
    }
)


_NO_NEST: Mapping[str, tuple[Piece, ...]] = MappingProxyType({})
_NO_STRETCH: Mapping[Cloth, float] = MappingProxyType({})
_NO_GIRTHS: Mapping[Girth, float] = MappingProxyType({})


@dataclass(frozen=True, eq=False)
class Garment:
    """Pieces and seams of one size. Raises PatternError when a seam, a copy or an opening names what is not there.

    ``stretch`` is the usable stretch of its cloths in percent, ``girths`` the body's (mm) that have to get in, as far
    as they are known; ``openings`` where it opens.
    ``nest`` holds the pieces as traced in every size by its name, this size too, all sharing their ids; it is empty
    where there is one size. ``geometry.nests`` reads it. ``size_table`` says what body each size is for.
    """

    id: str
    name: str
    pieces: tuple[Piece, ...]
    seams: tuple[Seam, ...] = ()
    size: str = ""
    for_whom: str = ""
    knit: bool = False
    widths: Mapping[Finish, float] = field(default_factory=lambda: DEFAULT_WIDTHS)
    size_table: SizeTable | None = None
    nest: Mapping[str, tuple[Piece, ...]] = field(default_factory=lambda: _NO_NEST)
    stretch: Mapping[Cloth, float] = field(default_factory=lambda: _NO_STRETCH)
    girths: Mapping[Girth, float] = field(default_factory=lambda: _NO_GIRTHS)
    openings: tuple[Opening, ...] = ()

    def __post_init__(self) -> None:
        seen: set[str] = set()
        pieces, seams = [piece.id for piece in self.pieces], [seam.id for seam in self.seams]
        for one in (*pieces, *seams, *(opening.id for opening in self.openings)):
            if one in seen:
                raise PatternError(f"The garment uses the id “{one}” twice.", one if one in pieces else None)
            seen.add(one)
        for seam in self.seams:
            self._check_seam(seam)
        for opening in self.openings:
            self._check_opening(opening)
        for piece in self.pieces:
            for copy in piece.copies:
                piece.edge(copy.edge)
                self.piece(copy.piece).edge(copy.of_edge)

    def piece(self, piece_id: str) -> Piece:
        """The piece with an id; raises PatternError when there is none."""
        try:
            return self._pieces_by_id[piece_id]
        except KeyError:
            raise PatternError(f"There is no piece “{piece_id}” in “{self.name}”.", piece=piece_id) from None

    def edge(self, ref: EdgeRef) -> Edge:
        return self.piece(ref.piece).edge(ref.edge)

    def width(self, edge: Edge) -> float:
        """Allowance of an edge in mm: its own, or the garment's for its finish; 0 on the fold."""
        if edge.on_fold:
            return 0.0
        return edge.width if edge.width is not None else self.widths[edge.finish]

    def with_piece(self, piece: Piece) -> Garment:
        """The garment with the piece of the same id put in place of the old one."""
        if self.piece(piece.id) is piece:
            return self
        return self.with_pieces((piece,))

    def with_pieces(self, pieces: Iterable[Piece]) -> Garment:
        """The garment with every piece put in place of the old one of the same id, checked once."""
        new = {piece.id: piece for piece in pieces}
        now = tuple(new.get(old.id, old) for old in self.pieces)
        if all(one is old for one, old in zip(now, self.pieces, strict=True)):
            return self
        if all(one is old or _named(one) == _named(old) for one, old in zip(now, self.pieces, strict=True)):
            made = unchecked(self, pieces=now)
            made.__dict__["_seams_by_edge"] = self._seams_by_edge
            return made
        return changed(self, pieces=now)

    def seams_of(self, piece_id: str, edge_id: str) -> tuple[Seam, ...]:
        """The seams in which an edge is sewn."""
        return self._seams_by_edge.get((piece_id, edge_id), ())

    @kept_property
    def _pieces_by_id(self) -> dict[str, Piece]:
        return {piece.id: piece for piece in self.pieces}

    @kept_property
    def _seams_by_edge(self) -> dict[tuple[str, str], tuple[Seam, ...]]:
        found: dict[tuple[str, str], tuple[Seam, ...]] = {}
        for seam in self.seams:
            # An edge sewn to its own mirror image stands on both sides.
            for key in dict.fromkeys((ref.piece, ref.edge) for ref in (*seam.first, *seam.second)):
                found[key] = (*found.get(key, ()), seam)
        return found

    def _check_opening(self, opening: Opening) -> None:
        piece = self.piece(opening.piece)
        edge = piece.edge(opening.edge)
        if opening.notch is not None and all(
            (notch.id, notch.place.edge) != (opening.notch, edge.id) for notch in piece.notches
        ):
            raise PatternError(
                f"Opening “{opening.name}” ends at a notch “{opening.notch}” that “{edge.name}” of “{piece.name}” "
                "does not have.",
                piece.id,
                edge.id,
            )

    def _check_seam(self, seam: Seam) -> None:
        for ref in (*seam.first, *seam.second):
            if ref.piece not in self._pieces_by_id or not self.piece(ref.piece).has_edge(ref.edge):
                raise PatternError(
                    f"Seam “{seam.name}” is sewn to “{ref.edge}” of “{ref.piece}”, which is missing.",
                    ref.piece,
                    ref.edge,
                )
        for match in seam.matches:
            for piece_id, notch in ((match.first_piece, match.first), (match.second_piece, match.second)):
                if not self.piece(piece_id).has_notch(notch):
                    raise PatternError(
                        f"Seam “{seam.name}”: notch “{match.name}” has no mate “{notch}” on “{piece_id}”.", piece_id
                    )


def _named(piece: Piece) -> tuple[object, ...]:
    """All of a piece that seams, copies and openings name."""
    notches = [(notch.id, notch.place.edge) for notch in piece.notches]
    return piece.id, [edge.id for edge in piece.edges], notches, piece.copies
