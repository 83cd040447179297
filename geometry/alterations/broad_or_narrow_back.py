"""Broad back, narrow back.

When: the back strains between the armholes when the arms come forward (broad), or lies there in upright folds (narrow).

By hand: slash the back from the shoulder straight down and spread it, the same to the hem or to nothing there; for a
narrow back overlap it. The front is not touched: what the back shoulder is longer is eased into the front, or taken up
in a shoulder dart. A book of 1921 has it otherwise: half of the change is trimmed off the back armhole at the shoulder
and added to the front armhole, to nothing at the notches, so that the shoulders are equal again. Easing is the default,
as it leaves the front alone; a back shoulder may be about 6 mm longer than the front's, more wants the dart.

Source: the spread, the ease and the dart are common practice, no source; a back shoulder 1/4 in (6 mm) longer, eased
in, Every Woman's Encyclopaedia vol. 4; the shared armholes The New Dressmaker, 1921.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import partial

from geometry.alterations.armhole_too_low import armhole_of
from geometry.alterations.base import Alteration, Done, Example, choice, mm, once_for
from geometry.centre_wedges import only_edge
from geometry.cutting_lines import hem_side_normal, largest_part, square_direction
from geometry.dart_turning import pressed
from geometry.darts import gap_as_mouth, with_ease
from geometry.errors import PatternError
from geometry.findings import Finding
from geometry.garments import Garment, StretchKind
from geometry.hand_ways import cut_and_drawn
from geometry.lines import joined, straight, tidied
from geometry.motions import Point
from geometry.notes import Address, Target, point_of
from geometry.pieces import Dart, Edge, EdgeKind, Piece, Place, RunKind, neighbours
from geometry.readings import mm_words
from geometry.reshaping import following
from geometry.slashes import Slashed, slashed, staying
from geometry.stages import Offer, Strip

BROAD, NARROW = "broad back: spread", "narrow back: overlap"
PARALLEL, HINGED = "the same to the hem", "to nothing at the hem"
EASE, DART, SHARE = "eased into the front", "taken up in a shoulder dart", "shared with the front armhole"
#: A back shoulder may be this much longer than the front's: Every Woman's Encyclopaedia vol. 4 (mm).
_EASED_MM = 6.0
#: A shoulder dart made of the spread is this long, about to the shoulder blade (mm).
_DART_MM = 80.0
#: Without a notch the armhole follows the moved shoulder tip over this share of its length.
_SHARE_OF_ARMHOLE = 0.5


@dataclass(frozen=True)
class BroadOrNarrowBack:
    way: str = choice("broad or narrow back", BROAD, NARROW)
    amount: float = mm("amount", 10.0, 0.0, 60.0, main=True, basis="across each half back, at the shoulder")
    from_neck: float = mm("slash from the neck point", 60.0, 5.0, 150.0, basis="along the shoulder")
    below: str = choice("below", PARALLEL, HINGED)
    shoulder: str = choice("the shoulder's change", EASE, DART, SHARE)


@dataclass(frozen=True, eq=False)
class _Made:
    """A piece done; ``eased`` is the shoulder whose seam is to ease in so much (mm), and how far along (mm)."""

    piece: Piece
    findings: tuple[Finding, ...]
    strip: Strip
    says: str
    eased: tuple[str, float, float] | None = None


def do(garment: Garment, amounts: BroadOrNarrowBack, targets: tuple[Target, ...], note: str) -> Done:
    done = Done(garment)
    for target in targets:
        amount = amounts.amount if target.amount is None else target.amount
        if amount == 0:
            continue
        one = _on_piece(done.garment, done.garment.piece(target.piece), replace(amounts, amount=amount), note)
        done = Done(one.garment, done.findings + one.findings, done.strips + one.strips, done.readings + one.readings)
    if done.garment is garment or amounts.shoulder != SHARE:
        return done
    return replace(done, offers=_fronts_left_out(garment, amounts, targets))


def _on_piece(garment: Garment, piece: Piece, amounts: BroadOrNarrowBack, note: str) -> Done:
    """One piece done; what it becomes is recalled, and only the seam's ease is the garment's."""
    if piece.edges_of(EdgeKind.CENTRE_FRONT) and not piece.edges_of(EdgeKind.CENTRE_BACK):
        make = partial(_front, piece, amounts)
    else:
        make = partial(_back, piece, amounts, note)
    made = once_for(piece, amounts.amount, make)
    if made.eased is not None:
        shoulder, at, longer = made.eased
        narrow = amounts.way == NARROW
        garment = with_ease(garment, piece.id, shoulder, at, longer, StretchKind.EASED, made_back=narrow)
    return Done(garment.with_piece(made.piece), made.findings, (made.strip,), (made.says,))


def _back(piece: Piece, amounts: BroadOrNarrowBack, note: str) -> _Made:
    only_edge(piece, EdgeKind.CENTRE_BACK, "a half back")
    broad = amounts.way == BROAD
    start, end, at = _slash(piece, amounts.from_neck)
    done = _slashed(piece, (start, end), amounts, note)
    new, words, eased = done.moved.piece, "", None
    shoulder = only_edge(piece, EdgeKind.SHOULDER, "a half back with a shoulder")
    change = amounts.amount if broad else -amounts.amount
    if amounts.shoulder == DART:
        new, words = _with_dart(piece, new, shoulder, start, note, broad)
    elif amounts.shoulder == SHARE:
        new = _tip_moved(new, -change / 2)
        words = f"the shoulder tip is {mm_words(abs(change) / 2)} {'further in' if broad else 'further out'}"
    else:
        longer = new.edge(shoulder.id).length - shoulder.length
        eased = (shoulder.id, at, longer)
        words = f"the shoulder is {mm_words(abs(longer))} {'longer, eased into the front' if broad else 'shorter'}"
        if longer > _EASED_MM:
            words += f"; more than {mm_words(_EASED_MM)} is seldom eased in, a dart takes it up better"
    adds = "adds" if broad else "takes out"
    says = (
        f"{adds} {mm_words(amounts.amount)} across “{piece.name}”, "
        f"{mm_words(amounts.amount * piece.cut_count)} across the whole back; {words}"
    )
    return _Made(new, done.moved.findings, Strip(piece.id, done.strip, broad), says, eased)


def _slash(piece: Piece, from_neck: float) -> tuple[Point, Point, float]:
    """Where the slash runs from the shoulder to the hem, square to the level, and how far along the shoulder."""
    shoulder = only_edge(piece, EdgeKind.SHOULDER, "a half back with a shoulder")
    beside = [edge.kind is EdgeKind.NECKLINE for edge in neighbours(piece, shoulder.id)]
    if not any(beside):
        raise PatternError(
            f"The shoulder of “{piece.name}” does not end at a neckline; "
            "use slash and spread along a line drawn across.",
            piece.id,
            shoulder.id,
            shoulder.end,
        )
    neck_first = beside[0]
    start = point_of(piece, Address(shoulder.id, "start" if neck_first else "end", length=from_neck))
    level = square_direction(piece)
    down = (-level[1], level[0])
    up = hem_side_normal(piece, start, level)
    found = [
        edge.chain.point(u)
        for edge in piece.edges
        for u in edge.chain.crossings(start, down)
        if (edge.chain.point(u)[0] - start[0]) * up[0] + (edge.chain.point(u)[1] - start[1]) * up[1] < -1.0
    ]
    if not found:
        raise PatternError(f"A slash straight down from the shoulder leaves “{piece.name}” at once.", piece.id)
    end = max(found, key=lambda p: math.dist(p, start))
    u = shoulder.chain.nearest(start)[0]
    return start, end, shoulder.chain.length_to(u)


def _slashed(piece: Piece, line: tuple[Point, Point], amounts: BroadOrNarrowBack, note: str) -> Slashed:
    signed = amounts.amount if amounts.way == BROAD else -amounts.amount
    hinge = None if amounts.below == PARALLEL else line[1]
    return slashed(piece, line[0], line[1], signed, note, staying(piece), hinge)


def _with_dart(old: Piece, new: Piece, shoulder: Edge, start: Point, note: str, broad: bool) -> tuple[Piece, str]:
    if not broad:
        raise PatternError(
            f"A narrower “{old.name}” leaves nothing to take up in a dart; share the change with the front.", old.id
        )
    gap = next(
        run.chain
        for run in new.edge(shoulder.id).runs
        if run.kind is RunKind.FILLED and min(math.dist(start, run.chain.start), math.dist(start, run.chain.end)) < 1e-6
    )
    mx, my = gap.point(0.5)
    ux, uy = gap.start_tangent
    # The outline runs anticlockwise, so the paper lies to the left of the mouth.
    point = (mx - _DART_MM * uy, my + _DART_MM * ux)
    dart = Dart(f"{note}.dart", "shoulder dart", shoulder.id, point, point)
    new = gap_as_mouth(new, shoulder.id, (gap.start, gap.end), dart)
    new = replace(new, darts=(*new.darts[:-1], pressed(new, dart)))
    return new, f"a shoulder dart {mm_words(gap.length)} wide and {mm_words(_DART_MM)} deep takes up the shoulder"


def _front(piece: Piece, amounts: BroadOrNarrowBack) -> _Made:
    """The front's share: its armhole filled out (or trimmed) at the shoulder, to nothing at the notch."""
    if amounts.shoulder != SHARE:
        raise PatternError(f"“{piece.name}” is a front, and is left alone; choose a half back.", piece.id)
    change = amounts.amount / 2 if amounts.way == BROAD else -amounts.amount / 2
    new = _tip_moved(piece, change)
    shape = new.polygon.symmetric_difference(piece.polygon)
    strip = Strip(piece.id, largest_part(shape), change > 0)
    says = (
        f"{'adds' if change > 0 else 'trims'} {mm_words(abs(change))} at the shoulder tip of “{piece.name}”, "
        "to nothing at the notch of the armhole"
    )
    return _Made(new, (), strip, says)


def _tip_moved(piece: Piece, outward: float) -> Piece:
    """The piece with its shoulder tip ``outward`` mm further along the shoulder, the armhole following to its notch."""
    armhole = armhole_of(piece)
    before, after = neighbours(piece, armhole.id)
    at_start = before.kind is EdgeKind.SHOULDER
    shoulder = before if at_start else after
    tip = shoulder.runs[-1].chain if at_start else shoulder.runs[0].chain.backwards()
    way = tip.end_tangent
    if outward < 0 and -outward >= tip.length - 1.0:
        raise PatternError(
            f"The shoulder of “{piece.name}” is too short beyond the slash; set it nearer to the neck.",
            piece.id,
            shoulder.id,
        )
    corner = (tip.end[0] + outward * way[0], tip.end[1] + outward * way[1])
    if outward > 0:
        longer = tidied(joined([tip, straight(tip.end, corner)]))
    else:
        longer = tip.part(0.0, tip.at_length(tip.length + outward))
    shift = (longer.end[0] - tip.end[0], longer.end[1] - tip.end[1])
    index = 0 if at_start else len(armhole.runs) - 1
    line = armhole.runs[index].chain if at_start else armhole.runs[index].chain.backwards()
    moved = following(line, shift, _as_far_as_notch(piece, armhole, at_start))
    runs, beside, last = list(armhole.runs), list(shoulder.runs), len(shoulder.runs) - 1 if at_start else 0
    runs[index] = replace(runs[index], chain=moved if at_start else moved.backwards())
    beside[last] = replace(beside[last], chain=longer if at_start else longer.backwards())
    changed = {armhole.id: replace(armhole, runs=tuple(runs)), shoulder.id: replace(shoulder, runs=tuple(beside))}
    notches = tuple(
        replace(n, place=_again(piece, n.place, changed[n.place.edge])) if n.place.edge in changed else n
        for n in piece.notches
    )
    return replace(piece, edges=tuple(changed.get(e.id, e) for e in piece.edges), notches=notches)


def _as_far_as_notch(piece: Piece, armhole: Edge, at_start: bool) -> float:
    """The share of the armhole's last run from the shoulder to the nearest notch on it."""
    index = 0 if at_start else len(armhole.runs) - 1
    run = armhole.runs[index].chain
    here = [n.place for n in piece.notches if n.place.edge == armhole.id and n.place.run == index]
    lengths = [run.length_to(p.u) if at_start else run.length - run.length_to(p.u) for p in here]
    return min(lengths, default=_SHARE_OF_ARMHOLE * run.length) / run.length


def _again(piece: Piece, place: Place, edge: Edge) -> Place:
    return replace(place, u=edge.runs[place.run].chain.nearest(piece.point_at(place))[0])


def _fronts_left_out(garment: Garment, amounts: BroadOrNarrowBack, targets: tuple[Target, ...]) -> tuple[Offer, ...]:
    """The front's share offered on every front whose shoulder is sewn to one of these backs and was left out."""
    done = {target.piece for target in targets}
    sewn = [
        ref.piece
        for target in targets
        for edge in garment.piece(target.piece).edges_of(EdgeKind.SHOULDER)
        for seam in garment.seams_of(target.piece, edge.id)
        for ref in (*seam.first, *seam.second)
        if ref.piece not in done and garment.piece(ref.piece).edges_of(EdgeKind.CENTRE_FRONT)
    ]
    fronts = tuple(Target(piece) for piece in dict.fromkeys(sewn))
    if not fronts:
        return ()
    names = " and ".join(f"“{garment.piece(target.piece).name}”" for target in fronts)
    return (Offer(f"Share the change with the armhole of {names}", "broad_or_narrow_back", amounts, fronts),)


ALTERATION = Alteration(
    name="broad_or_narrow_back",
    title="Broad or narrow back",
    region="back",
    order=72,
    sentence="{way} {amount} on {pieces}, slashed {from_neck} from the neck point, {below}; the shoulder {shoulder}",
    amounts=BroadOrNarrowBack,
    do=do,
    steps=cut_and_drawn,
    examples=(
        Example(
            "a half back spread by 12 mm, the change shared",
            "12 mm more across the half back; the back shoulder 6 mm longer and the front shoulder 6 mm longer",
            "The New Dressmaker, 1921, and division",
        ),
    ),
    describes=__doc__,
)
