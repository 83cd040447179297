"""Take in or let out a seam.

When: the garment hangs in upright folds (take in), or pulls in folds across and the seam strains (let out), at one
level or at several.

By hand: pin the seam on the body, mark what was pinned at each level square to the centre on both edges, and draw
the seam anew through the marks, parallel to the old one between equal marks and to nothing where nothing was pinned.
The paper changes and the allowance goes with it. A change at the underarm carries the armhole along to nothing
further up, and asks for the same of the sleeve.

Source: a change shared over all the edges of the seam, a fold being no seam edge, after Robinson, ch. 17, Central
Washington University; what is done to one piece at a level is done to every piece joined to it there after The
Dressmaker, c. 1911-16. Keeping the seam's direction where the change is even, and the corner at the top: common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from geometry.alterations.base import Alteration, Done, Example, choice, mm, once_for
from geometry.alterations.sew_seam_at import edges_sewn_with
from geometry.alterations.waist_size import bands_offered
from geometry.cutting_lines import largest_part
from geometry.errors import PatternError
from geometry.garments import EdgeRef, Garment
from geometry.hand_ways import drawn_anew
from geometry.notes import Target
from geometry.pieces import EdgeKind, Piece
from geometry.readings import mm_words
from geometry.seam_levels import BUST, HEM, HIP, WAIST, seam_changed, upright
from geometry.stages import Offer, Strip

TAKE_IN, LET_OUT = "take in", "let out"
EACH, SHARED, ALONE = "on each edge of the seam", "in all, shared over the edges of the seam", "on this edge alone"
LEVELS = (BUST, WAIST, HIP, HEM)
_BASIS = "square to the centre; nothing here lets the change run out at this level"


@dataclass(frozen=True)
class TakeInOrLetOut:
    way: str = choice("take in or let out", TAKE_IN, LET_OUT)
    bust: float = mm("at the bust", 0.0, 0.0, 150.0, basis=_BASIS)
    waist: float = mm("at the waist", 6.0, 0.0, 150.0, basis=_BASIS)
    hip: float = mm("at the hip", 0.0, 0.0, 150.0, basis=_BASIS)
    hem: float = mm("at the hem", 0.0, 0.0, 300.0, basis=_BASIS)
    counted: str = choice("the amounts are", EACH, SHARED, ALONE)


def do(garment: Garment, amounts: TakeInOrLetOut, targets: tuple[Target, ...], note: str) -> Done:
    given = {level: float(getattr(amounts, level)) for level in LEVELS}
    if not any(given.values()):
        return Done(garment)
    sign = 1.0 if amounts.way == LET_OUT else -1.0
    before, strips, readings = garment, [], []
    for target in targets:
        edges = _edges(before, target, amounts.counted)
        sewn = seam_edges(before, target)
        count = sum(before.piece(ref.piece).cut_count for ref in sewn)
        each = {level: value / count if amounts.counted == SHARED else value for level, value in given.items()}
        for piece_id, edge_id in edges:
            new, strip = _seam_taken(garment.piece(piece_id), edge_id, {k: sign * v for k, v in each.items()})
            strips.append(strip)
            garment = garment.with_piece(new)
        readings.append(_reading(before, target, amounts, each, count))
    offers = (
        *_other_edges(before, amounts, targets),
        *_sleeves(before, amounts, targets),
        *_waistbands(before, amounts, targets),
    )
    return Done(garment, strips=tuple(strips), readings=tuple(readings), offers=offers)


def _seam_taken(piece: Piece, edge_id: str, outward: Mapping[str, float]) -> tuple[Piece, Strip]:
    """A piece with one seam moved outward by mm at each level, and the strip that is added or taken off."""

    def make() -> tuple[Piece, Strip]:
        new = seam_changed(piece, edge_id, outward)
        added = any(value > 0 for value in outward.values())
        gone = new.polygon.difference(piece.polygon) if added else piece.polygon.difference(new.polygon)
        return new, Strip(piece.id, largest_part(gone), added)

    return once_for(piece, (edge_id, tuple(outward.items())), make)


def seam_edges(garment: Garment, target: Target) -> tuple[EdgeRef, ...]:
    """The edges of the seam that a target's edge is sewn in, each once; the edge by itself where it is in none."""
    assert target.edge is not None
    found: dict[tuple[str, str], EdgeRef] = {}
    for seam in garment.seams_of(target.piece, target.edge):
        for ref in (*seam.first, *seam.second):
            found.setdefault((ref.piece, ref.edge), ref)
    return tuple(found.values()) or (EdgeRef(target.piece, target.edge),)


def _edges(garment: Garment, target: Target, counted: str) -> list[tuple[str, str]]:
    if target.edge is None:
        raise PatternError("Say which edge is meant, as well as the piece.", target.piece)
    if counted == ALONE:
        return [(target.piece, target.edge)]
    return [(one.piece, one.edge) for one in edges_sewn_with(garment, (Target(target.piece, edge=target.edge),))]


def _reading(garment: Garment, target: Target, amounts: TakeInOrLetOut, each: dict[str, float], count: int) -> str:
    piece = garment.piece(target.piece)
    assert target.edge is not None
    words = "let out" if amounts.way == LET_OUT else "taken in"
    if amounts.counted == ALONE:
        count = piece.cut_count
    levels = [
        f"{mm_words(value)} at the {level} ({mm_words(value * count)} in all)" for level, value in each.items() if value
    ]
    return f"“{piece.edge(target.edge).name}” {words} on each of {count} edges by {', '.join(levels)}"


def _other_edges(garment: Garment, amounts: TakeInOrLetOut, targets: tuple[Target, ...]) -> tuple[Offer, ...]:
    """The same offered for the edges that are sewn to one that was changed alone."""
    if amounts.counted != ALONE:
        return ()
    done = {(target.piece, target.edge) for target in targets}
    left = {
        (ref.piece, ref.edge): Target(ref.piece, edge=ref.edge)
        for target in targets
        for ref in seam_edges(garment, target)
        if (ref.piece, ref.edge) not in done
    }
    if not left:
        return ()
    names = " and ".join(f"“{garment.piece(piece).name}”" for piece, _ in left)
    return (Offer(f"Do the same to the seam of {names}", ALTERATION.name, amounts, tuple(left.values())),)


def _sleeves(garment: Garment, amounts: TakeInOrLetOut, targets: tuple[Target, ...]) -> tuple[Offer, ...]:
    """A change at the underarm offered to the sleeve that is sewn in there."""
    if not amounts.bust:
        return ()
    sleeves: dict[str, None] = {}
    for target in targets:
        for ref in seam_edges(garment, target):
            above = upright(garment.piece(ref.piece), ref.edge).above
            for seam in garment.seams_of(ref.piece, above.id) if above.kind is EdgeKind.ARMHOLE else ():
                caps = [r.piece for r in (*seam.first, *seam.second) if garment.edge(r).kind is EdgeKind.CAP]
                sleeves |= dict.fromkeys(caps)
    if not sleeves:
        return ()
    each = amounts.bust
    if amounts.counted == SHARED:
        each /= sum(garment.piece(ref.piece).cut_count for ref in seam_edges(garment, targets[0]))
    same = replace(amounts, bust=each, waist=0.0, hip=0.0, hem=0.0, counted=EACH)
    edges = tuple(
        Target(piece, edge=edge.id)
        for piece in sleeves
        for edge in garment.piece(piece).edges_of(EdgeKind.UNDERARM)[:1]
    )
    names = " and ".join(f"“{garment.piece(piece).name}”" for piece in sleeves)
    says = f"Change the underarm seam of {names} with it, {mm_words(each)} on each edge, to nothing at the wrist"
    return (Offer(says, ALTERATION.name, same, edges),)


def _waistbands(garment: Garment, amounts: TakeInOrLetOut, targets: tuple[Target, ...]) -> tuple[Offer, ...]:
    """A change of a side seam at the waist offered to the waistband that is sewn on there."""
    offers: list[Offer] = []
    for target in targets if amounts.waist and amounts.counted != ALONE else ():
        refs = seam_edges(garment, target)
        if all(garment.edge(ref).kind is EdgeKind.SIDE for ref in refs):
            count = sum(garment.piece(ref.piece).cut_count for ref in refs)
            wider = amounts.waist if amounts.counted == SHARED else amounts.waist * count
            pieces = tuple(Target(piece) for piece in dict.fromkeys(ref.piece for ref in refs))
            offers += bands_offered(garment, wider if amounts.way == LET_OUT else -wider, pieces)
    return tuple(dict.fromkeys(offers))


ALTERATION = Alteration(
    name="take_in_or_let_out",
    title="Take in or let out a seam",
    region="width",
    order=11,
    sentence=(
        "{way} the seam of {pieces}: {bust} at the bust, {waist} at the waist, {hip} at the hip, {hem} at the hem, "
        "{counted}"
    ),
    amounts=TakeInOrLetOut,
    do=do,
    steps=drawn_anew,
    aims_at="edges",
    examples=(
        Example(
            "25.4 mm (1 in) at the hip, shared over the side seams of a front and a back on the fold",
            "4 edges, 6.35 mm each; the folds are no seam edges",
            "Robinson, costume construction text, ch. 17, and division",
        ),
        Example(
            "the hip let out by 10 mm on each edge, nothing at the waist, 10 mm at the hem",
            "10 mm more from the hip line to the hem, the waist as it was",
            "common practice, no source",
        ),
    ),
    describes=__doc__,
)
