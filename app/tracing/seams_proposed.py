"""What is sewn to what, proposed from the kinds of edges, their equal lengths and their notches."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import combinations

from app.tracing.roles import plain
from geometry.garments import EdgeRef, Match, Pressed, Seam, Stretch, StretchKind
from geometry.pieces import Edge, EdgeKind, Piece

#: Edges of one kind are sewn together when they differ by no more than this (mm); a back shoulder may be longer.
_NEAR_MM, _SHOULDER_MM = 6.0, 13.0
#: Edges of no known kind are proposed when they are equal within this (mm) and this long at least.
_EQUAL_MM, _LEAST_MM = 0.8, 60.0
#: Notches on two edges meet when they stand this close from the same end (mm).
_MEET_MM = 6.0
#: Ease over the cap of a sleeve set into a woven garment (mm); common practice, no source.
_MOST_EASE = 38.0
_PAIRED = (EdgeKind.SHOULDER, EdgeKind.SIDE, EdgeKind.INSEAM)
_ALONE = frozenset({EdgeKind.HEM, EdgeKind.NECKLINE, EdgeKind.WAIST, EdgeKind.ARMHOLE, EdgeKind.CAP, EdgeKind.WRIST})


def propose(pieces: Sequence[Piece]) -> tuple[Seam, ...]:
    """Seams between the pieces, in the order of sewing; only what fits is proposed."""
    found: list[Seam] = []
    sewn: set[tuple[str, str]] = set()

    def add(name: str, first: list[tuple[Piece, Edge, bool]], second: list[tuple[Piece, Edge, bool]]) -> None:
        number = sum(one.name == name or one.name.startswith(f"{name} ") for one in found)
        label = name if not number else f"{name} {number + 1}"
        found.append(_seam(label, first, second, len(found) + 1))
        sewn.update((piece.id, edge.id) for piece, edge, _ in (*first, *second))

    for kind in _PAIRED:
        for one, other in _front_and_back(pieces, kind):
            add(_name(kind), [one], [other])
    for piece in pieces:
        underarms = [edge for edge in piece.edges if edge.kind is EdgeKind.UNDERARM]
        if len(underarms) == 2 and abs(underarms[0].length - underarms[1].length) <= _NEAR_MM:
            sides = [(piece, edge, _downwards(edge)) for edge in underarms]
            add("underarm seam", [sides[0]], [sides[1]])
    for first, second in _caps(pieces):
        add("sleeve to armhole", first, second)
    for a, b in _equal_ones(pieces, sewn):
        add("seam", [a], [b])
    return tuple(found)


def _name(kind: EdgeKind) -> str:
    return {EdgeKind.SHOULDER: "shoulder seam", EdgeKind.SIDE: "side seam", EdgeKind.INSEAM: "inseam"}[kind]


def _is(piece: Piece, word: str) -> bool:
    return re.search(rf"\b{word}\b", plain(piece.name)) is not None


def _front_and_back(
    pieces: Sequence[Piece], kind: EdgeKind
) -> Iterator[tuple[tuple[Piece, Edge, bool], tuple[Piece, Edge, bool]]]:
    """Edges of one kind of a front and a back; of pieces drawn whole, those that lie on the same side of the body."""
    limit = _SHOULDER_MM if kind is EdgeKind.SHOULDER else _NEAR_MM
    bodies = [piece for piece in pieces if piece.edges_of(kind)]
    fronts = [piece for piece in bodies if _is(piece, "front")]
    backs = [piece for piece in bodies if _is(piece, "back")]
    if not (fronts and backs) and len(bodies) == 2:
        fronts, backs = bodies[:1], bodies[1:]
    for front in fronts[:1]:
        for back in backs[:1]:
            ours, theirs = front.edges_of(kind), back.edges_of(kind)
            if len(ours) == len(theirs) == 2:
                ours = tuple(sorted(ours, key=lambda edge: edge.chain.box[0]))
                theirs = tuple(sorted(theirs, key=lambda edge: -edge.chain.box[0]))
            if len(ours) != len(theirs):
                continue
            for one, other in zip(ours, theirs, strict=True):
                if abs(one.length - other.length) <= limit:
                    yield (front, one, _way(front, one)), (back, other, _way(back, other))


def _way(piece: Piece, edge: Edge) -> bool:
    """True where a seam runs against the outline: sides from the top down, shoulders from the armhole to the neck."""
    if edge.kind is EdgeKind.SHOULDER:
        index = piece.edges.index(edge)
        return piece.edges[index - 1].kind is EdgeKind.NECKLINE
    return _downwards(edge)


def _downwards(edge: Edge) -> bool:
    return edge.start[1] < edge.end[1]


def _caps(
    pieces: Sequence[Piece],
) -> Iterator[tuple[list[tuple[Piece, Edge, bool]], list[tuple[Piece, Edge, bool]]]]:
    """The armholes of front and back to the cap of the sleeve, from the front's underarm over the shoulder."""
    fronts = [(p, e) for p in pieces if _is(p, "front") for e in p.edges_of(EdgeKind.ARMHOLE)]
    backs = [(p, e) for p in pieces if _is(p, "back") for e in p.edges_of(EdgeKind.ARMHOLE)]
    caps = [(p, e) for p in pieces for e in p.edges_of(EdgeKind.CAP)]
    if not (len(fronts) == len(backs) == len(caps) == 1):
        return
    (front, one), (back, other), (sleeve, cap) = fronts[0], backs[0], caps[0]
    ease = cap.length - one.length - other.length
    if not -_NEAR_MM <= ease <= _MOST_EASE + _NEAR_MM:
        return
    first = [(front, one, not _upwards(one)), (back, other, _upwards(other))]
    yield first, [(sleeve, cap, _front_is_last(sleeve, cap))]


def _upwards(edge: Edge) -> bool:
    return edge.start[1] < edge.end[1]


def _front_is_last(sleeve: Piece, cap: Edge) -> bool:
    """True where the cap's front half comes last in the outline: its single notch does, or the double one first."""
    notches = [
        (cap.runs[n.place.run].chain.length_to(n.place.u), n.count) for n in sleeve.notches if n.place.edge == cap.id
    ]
    doubles = [along for along, count in notches if count == 2]
    if doubles:
        return sum(doubles) / len(doubles) < cap.length / 2
    return True


def _equal_ones(
    pieces: Sequence[Piece], sewn: set[tuple[str, str]]
) -> Iterator[tuple[tuple[Piece, Edge, bool], tuple[Piece, Edge, bool]]]:
    """Edges of different pieces that are equally long, with as many notches, and fit nothing else."""
    free = [
        (piece, edge)
        for piece in pieces
        for edge in piece.edges
        if (piece.id, edge.id) not in sewn and edge.kind not in _ALONE and not edge.on_fold and edge.length >= _LEAST_MM
    ]
    fits = [
        (a, b)
        for a, b in combinations(free, 2)
        if a[0] is not b[0] and abs(a[1].length - b[1].length) <= _EQUAL_MM and _count(*a) == _count(*b)
    ]
    often = Counter((piece.id, edge.id) for pair in fits for piece, edge in pair)
    for a, b in fits:
        if all(often[(piece.id, edge.id)] == 1 for piece, edge in (a, b)):
            # Laid face to face, one of two edges runs against its outline.
            yield (a[0], a[1], _downwards(a[1])), (b[0], b[1], _downwards(b[1]))


def _count(piece: Piece, edge: Edge) -> int:
    return sum(notch.place.edge == edge.id for notch in piece.notches)


def _seam(
    name: str, first: list[tuple[Piece, Edge, bool]], second: list[tuple[Piece, Edge, bool]], number: int
) -> Seam:
    matches = _matches(first[0], second[0]) if len(first) == len(second) == 1 else ()
    difference = sum(edge.length for _, edge, _ in second) - sum(edge.length for _, edge, _ in first)
    stretch = Stretch()
    if name.startswith("sleeve") and difference > _EQUAL_MM:
        stretch = Stretch(StretchKind.EASED, 0.0, _MOST_EASE)
        matches = ()
    elif name.startswith("shoulder") and difference > _EQUAL_MM:
        stretch = Stretch(StretchKind.EASED, 0.0, _SHOULDER_MM)
    return Seam(
        f"seam-{number}",
        name,
        tuple(EdgeRef(piece.id, edge.id, backwards) for piece, edge, backwards in first),
        tuple(EdgeRef(piece.id, edge.id, backwards) for piece, edge, backwards in second),
        (stretch,) * (len(matches) + 1),
        matches,
        Pressed.OPEN,
        number,
    )


def _matches(one: tuple[Piece, Edge, bool], other: tuple[Piece, Edge, bool]) -> tuple[Match, ...]:
    """Notches that stand equally far from the start of a seam, in order."""
    mine, theirs = _along(one), _along(other)
    found: list[Match] = []
    last = -1
    for along, notch in mine:
        near = [i for i, (place, _) in enumerate(theirs) if i > last and abs(place - along) <= _MEET_MM]
        if near:
            last = min(near, key=lambda i: abs(theirs[i][0] - along))
            name = "notch" if len(mine) == 1 else f"notch {len(found) + 1}"
            found.append(Match(name, one[0].id, notch, other[0].id, theirs[last][1]))
    return tuple(found)


def _along(side: tuple[Piece, Edge, bool]) -> list[tuple[float, str]]:
    piece, edge, backwards = side
    found: list[tuple[float, str]] = []
    for notch in piece.notches:
        if notch.place.edge == edge.id:
            before = sum(run.chain.length for run in edge.runs[: notch.place.run])
            along = before + edge.runs[notch.place.run].chain.length_to(notch.place.u)
            found.append((edge.length - along if backwards else along, notch.id))
    return sorted(found)
