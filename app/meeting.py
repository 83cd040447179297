"""Where the piece as traced and the piece redrawn are laid on each other: places that both still have."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from geometry.motions import Motion, Point, slide
from geometry.notes import edge_run_length, length_at
from geometry.pieces import LEVELS, Edge, EdgeKind, Notch, Piece

_CENTRES = (EdgeKind.CENTRE_FRONT, EdgeKind.CENTRE_BACK)

#: What a class calls the corner between two kinds of edge.
_CORNER_NAMES = {
    frozenset({EdgeKind.NECKLINE, EdgeKind.SHOULDER}): "neck point",
    frozenset({EdgeKind.SHOULDER, EdgeKind.ARMHOLE}): "shoulder tip",
    frozenset({EdgeKind.ARMHOLE, EdgeKind.SIDE}): "underarm",
    frozenset({EdgeKind.CAP, EdgeKind.UNDERARM}): "underarm",
    frozenset({EdgeKind.SIDE, EdgeKind.HEM}): "side at the hem",
    frozenset({EdgeKind.SIDE, EdgeKind.WAIST}): "side at the waist",
    frozenset({EdgeKind.CROTCH, EdgeKind.INSEAM}): "crotch point",
}
#: What the other edge of a corner on the fold or centre is called.
_AT_CENTRE = {
    EdgeKind.HEM: "at the hem",
    EdgeKind.NECKLINE: "at the neck",
    EdgeKind.WAIST: "at the waist",
}
#: The first of these that a piece has is where the two meet until she picks another.
_FIRST = (
    "neck point",
    "fold at the waist",
    "centre front at the waist",
    "centre back at the waist",
    "side at the waist",
)

AS_THE_PAPER_LIES = "as the paper lies"


@dataclass(frozen=True)
class MeetingPlace:
    """A place by name, on the piece as traced and on the piece redrawn (mm, each in its own frame)."""

    name: str
    before: Point
    after: Point

    @property
    def motion(self) -> Motion:
        """The slide that lays the redrawn place on the traced one."""
        return slide(self.before[0] - self.after[0], self.before[1] - self.after[1])


def meeting_places(before: Piece, after: Piece) -> tuple[MeetingPlace, ...]:
    """Every place both have, the usual one first: cap notch, neck point or waist; last, as the paper lies."""
    found = [*_corners(before, after), *_cap_notches(before, after), *_levels(before, after)]
    usual = _usual(after, [place.name for place in found])
    found.sort(key=lambda place: place.name != usual)
    return (*_told_apart(found), MeetingPlace(AS_THE_PAPER_LIES, (0.0, 0.0), (0.0, 0.0)))


def _usual(piece: Piece, names: list[str]) -> str | None:
    notch = _cap_notch(piece)
    if notch is not None and notch.name in names:
        return notch.name
    return next((name for name in _FIRST if name in names), names[0] if names else None)


def _corners(before: Piece, after: Piece) -> Iterator[MeetingPlace]:
    was = {corner.id: edge.start for corner, edge in zip(before.corners, before.edges, strict=True)}
    for index, (corner, edge) in enumerate(zip(after.corners, after.edges, strict=True)):
        if corner.id in was:
            yield MeetingPlace(_corner_name(after.edges[index - 1], edge), was[corner.id], edge.start)


def _corner_name(first: Edge, second: Edge) -> str:
    for centre, other in ((first, second), (second, first)):
        if (centre.on_fold or centre.kind in _CENTRES) and other.kind in _AT_CENTRE:
            return f"{'fold' if centre.on_fold else centre.kind.value} {_AT_CENTRE[other.kind]}"
    known = _CORNER_NAMES.get(frozenset({first.kind, second.kind}))
    return known or f"{first.name} and {second.name}"


def _cap_notches(before: Piece, after: Piece) -> Iterator[MeetingPlace]:
    was = {notch.id: notch for notch in before.notches}
    caps = {edge.id for edge in after.edges_of(EdgeKind.CAP)}
    for notch in after.notches:
        if notch.place.edge in caps and notch.id in was:
            yield MeetingPlace(notch.name, before.point_at(was[notch.id].place), after.point_at(notch.place))


def _cap_notch(piece: Piece) -> Notch | None:
    """The notch nearest the middle of the sleeve cap, which meets the shoulder."""
    for cap in piece.edges_of(EdgeKind.CAP):
        on_cap = [notch for notch in piece.notches if notch.place.edge == cap.id]
        middle = edge_run_length(cap) / 2
        return min(on_cap, key=lambda notch: abs(length_at(cap, notch.place) - middle), default=None)
    return None


def _levels(before: Piece, after: Piece) -> Iterator[MeetingPlace]:
    """Level lines of the body meet at their end nearest the fold or centre, else at their start."""
    was = {line.id: line.chain for line in before.lines}
    centre = next((edge.chain for edge in after.edges if edge.on_fold or edge.kind in _CENTRES), None)
    for line in after.lines:
        if line.kind in LEVELS and line.id in was:
            old, new = was[line.id], line.chain
            at_end = centre is not None and centre.nearest(new.end)[1] < centre.nearest(new.start)[1]
            yield MeetingPlace(line.name, old.end if at_end else old.start, new.end if at_end else new.start)


def _told_apart(places: list[MeetingPlace]) -> list[MeetingPlace]:
    """Places of one name numbered, so that each can be chosen."""
    counts: dict[str, int] = {}
    named = []
    for place in places:
        counts[place.name] = number = counts.get(place.name, 0) + 1
        name = place.name if number == 1 else f"{place.name}, {number}"
        named.append(MeetingPlace(name, place.before, place.after))
    return named
