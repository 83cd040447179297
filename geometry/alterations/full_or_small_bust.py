"""Full bust, small bust.

When: folds pull towards the bust point and the front rises at the centre (full), or the front is empty there (small);
the size chosen by the high bust.

By hand, on the half front: three slashes. Cut from the hem straight up to the bust point and on to the armhole,
stopping at the stitching line for a hinge; cut along the middle of the bust dart to the bust point; cut from the
centre across to the first slash. Spread the long slash until its edges stand the wanted amount apart from the bust
point down, let the centre drop until the hem is level, and the dart opens by itself. For a small bust the same
slashes are lapped. Shoulder, neckline, armhole and back keep their length; hem and waist change by the amount, the
centre front by what the bust point drops. A front without a bust dart gets one, or its side seam is eased in.

Source: geometry; the three slashes are common practice, no source. Full bust and hem on half the body: a bust
change is shared by the two halves (Robinson, ch. 17, Central Washington University, for sharing over seams).
“The dart grows by the spread” is false: its mouth is 2 L sin(t/2). Size by high bust where the full bust is 2 in or
more above it: Texas AgriLife Extension E-372.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import shapely

from geometry.alterations.armhole_gapes import from_underarm
from geometry.alterations.armhole_too_low import armhole_of, underarm_of
from geometry.alterations.base import Alteration, Done, Example, choice, mm, once_for, share
from geometry.alterations.shorten_or_lengthen import AWAY, LENGTHEN, SHORTEN, ShortenOrLengthen
from geometry.bust_levels import bust_line_levelled
from geometry.bust_slashes import Slashes, Where, slashes
from geometry.cutting_lines import largest_part
from geometry.darts import (
    SET_BACK_MM,
    bust_marks_carried,
    bust_point_of,
    carried_dart,
    gap_as_mouth,
    mouth_filled,
    mouth_of,
    opening_deg,
    pointed_at,
    set_back,
    with_ease,
    without_bust,
)
from geometry.errors import PatternError
from geometry.findings import Finding
from geometry.garments import Garment, StretchKind
from geometry.hand_bust import three_slashes
from geometry.handwork import HandStep, Work
from geometry.motions import STAY, Motion
from geometry.moves import lay_together
from geometry.notes import Address, Target, length_at, place_of, point_of
from geometry.pieces import Dart, Edge, EdgeKind, Joint, Line, LineKind, Piece
from geometry.readings import mm_words
from geometry.stages import Offer, Strip
from geometry.tolerances import MEET_MM

FULL, SMALL = "full bust", "small bust"
MAKE, EASE = "make a dart", "ease it in"
#: A dart left with less than this is closed (degrees).
_CLOSED_DEG = 1e-7
_RIGID = (LineKind.GRAIN, LineKind.STRETCH)


@dataclass(frozen=True)
class FullOrSmallBust:
    way: str = choice("full or small bust", FULL, SMALL)
    amount: float = mm("amount", 12.0, 0.0, 60.0, main=True, basis="at the bust point of each half front")
    hinge: float = share("hinge on the armhole, up from the underarm", 0.4, 0.05, 0.9)
    dartless: str = choice("without a bust dart", MAKE, EASE)
    below: float = mm("slash below the underarm", 60.0, 10.0, 250.0, basis="along the side seam, without a bust dart")


def do(garment: Garment, amounts: FullOrSmallBust, targets: tuple[Target, ...], note: str) -> Done:
    done = Done(garment)
    for target in targets:
        amount = amounts.amount if target.amount is None else target.amount
        if amount == 0:
            continue
        one = _on_front(done.garment, done.garment.piece(target.piece), replace(amounts, amount=amount), note)
        done = Done(
            one.garment,
            done.findings + one.findings,
            done.strips + one.strips,
            done.readings + one.readings,
            done.offers + one.offers,
        )
    return done


def _front_redrawn(
    piece: Piece, amounts: FullOrSmallBust, note: str
) -> tuple[Piece, Slashes, Strip, tuple[Finding, ...]]:
    dart = _side_dart(piece)
    plan = _planned(piece, dart, amounts)
    below = [d for d in piece.darts if d is not dart and _straddles(piece, d, plan)]
    bare = without_bust(piece, [*below, *([dart] if dart else [])], plan.where.apex)
    if dart is not None and not plan.opens:
        bare, plan = _closed(piece, bare, dart, plan, amounts, note)
    bare = replace(bare, lines=tuple(line for line in bare.lines if line.kind not in _RIGID))
    moved = lay_together(bare, plan.regions(piece), note, plan.frame.up)
    new = bust_marks_carried(piece, moved.piece, plan.lower_motion)
    new = replace(new, lines=_lines(piece, new, plan))
    new = _darts_below(piece, new, below, plan.shift(0.5, 1.0))
    new = _dart_drawn(piece, new, dart, plan, amounts, note)
    seen = new if plan.opens else piece
    paper = shapely.Polygon(plan.gap.corners).intersection(seen.polygon)
    strip = Strip(piece.id, largest_part(paper), plan.opens)
    return new, plan, strip, moved.findings


def _on_front(garment: Garment, piece: Piece, amounts: FullOrSmallBust, note: str) -> Done:
    new, plan, strip, findings = once_for(piece, amounts, lambda: _front_redrawn(piece, amounts, note))
    dart = _side_dart(piece)
    longer = 0.0
    if dart is None and not any(d.id == f"{note}.dart" for d in new.darts):
        mouth = 2 * math.dist(plan.where.apex, plan.where.side) * math.sin(plan.turned / 2)
        longer = mouth if plan.opens else -mouth
        side = _side_edge(piece)
        at = length_at(side, place_of(piece, _below_underarm(piece, side, amounts.below)))
        garment = with_ease(garment, piece.id, side.id, at, longer, StretchKind.EASED)
    readings = _readings(piece, new, plan, amounts, longer)
    return Done(garment.with_piece(new), findings, (strip,), readings, _facings(garment, piece, plan))


def _closed(
    piece: Piece, bare: Piece, dart: Dart, plan: Slashes, amounts: FullOrSmallBust, note: str
) -> tuple[Piece, Slashes]:
    """A small bust that closes the dart whole takes it out as paper. Raises PatternError where it would close more."""
    left = abs(opening_deg(piece, dart)) - math.degrees(plan.turned)
    if left < -_CLOSED_DEG:
        raise PatternError(
            f"The bust dart of “{piece.name}” opens {abs(opening_deg(piece, dart)):.1f} degrees; a small bust of "
            f"{mm_words(amounts.amount)} would close {math.degrees(plan.turned):.1f}.",
            piece.id,
            dart.edge,
            plan.where.side,
        )
    if left > _CLOSED_DEG:
        return bare, plan
    mouth = mouth_of(piece, dart)
    upper = max(mouth.start, mouth.end, key=plan.frame.height)
    where = replace(plan.where, side=upper, in_mouth=False)
    return mouth_filled(bare, dart, Joint(note, plan.frame.up)), replace(plan, where=where)


def _planned(piece: Piece, dart: Dart | None, amounts: FullOrSmallBust) -> Slashes:
    centre, armhole = _centre_front(piece), armhole_of(piece)
    side = _side_edge(piece)
    return slashes(
        piece,
        Where(
            centre,
            underarm_of(piece, armhole),
            point_of(piece, from_underarm(piece, armhole, amounts.hinge)),
            bust_point_of(piece, dart),
            mouth_of(piece, dart).point(0.5) if dart else point_of(piece, _below_underarm(piece, side, amounts.below)),
            dart is not None,
        ),
        amounts.amount if amounts.way == FULL else -amounts.amount,
    )


def _dart_drawn(
    old: Piece, new: Piece, dart: Dart | None, plan: Slashes, amounts: FullOrSmallBust, note: str
) -> Piece:
    """The bust dart on the redrawn front: grown, made smaller, closed, or newly made."""
    apex = plan.full if plan.opens else plan.small
    if dart is not None:
        if dart.id not in {run.dart for run in new.edge(dart.edge).runs}:
            return new
        drawn = carried_dart(old, new, dart, apex)
        return replace(new, darts=_in_order(old, new, drawn))
    if not plan.opens or amounts.dartless == EASE:
        return new
    side = _side_edge(old)
    ends = (
        plan.upper_motion.point(plan.where.side),
        plan.lower_motion.point(plan.where.side),
    )
    made = Dart(f"{note}.dart", "bust dart", side.id, apex, apex)
    new = gap_as_mouth(new, side.id, ends, made)
    line = mouth_of(new, made)
    back = min(SET_BACK_MM, math.dist(apex, line.point(0.5)) / 2)
    lower_first = plan.frame.height(line.start) < plan.frame.height(line.end)
    made = replace(pointed_at(made, line, back), fold_to="start" if lower_first else "end")
    return replace(new, darts=(*new.darts[:-1], made))


def _in_order(old: Piece, new: Piece, dart: Dart) -> tuple[Dart, ...]:
    """The darts of the redrawn piece in their old order, one that was left out put back."""
    placed = {d.id: d for d in new.darts} | {dart.id: dart}
    return tuple(placed[d.id] for d in old.darts)


def _darts_below(old: Piece, new: Piece, below: list[Dart], how: Motion) -> Piece:
    """Darts that the long slash runs through: their mouths took the change, their points stand in its middle."""
    for dart in below:
        drawn = carried_dart(old, new, dart, how.point(dart.bust_point))
        new = replace(new, darts=(*new.darts, drawn))
    order = {d.id: index for index, d in enumerate(old.darts)}
    return replace(new, darts=tuple(sorted(new.darts, key=lambda d: order.get(d.id, len(order)))))


def _straddles(piece: Piece, dart: Dart, plan: Slashes) -> bool:
    mouth = mouth_of(piece, dart)
    ends = sorted(plan.frame.across(p) for p in (mouth.start, mouth.end))
    lower = max(plan.frame.height(p) for p in (mouth.start, mouth.end)) < plan.frame.height(plan.where.apex)
    return lower and ends[0] <= plan.frame.across(plan.where.apex) <= ends[1]


def _lines(old: Piece, new: Piece, plan: Slashes) -> tuple[Line, ...]:
    """Grainlines keep their direction and length: each goes with the part that holds its lower end."""
    placed = {line.id: line for line in new.lines}
    found = []
    for line in old.lines:
        if line.id in placed:
            found.append(bust_line_levelled(old, new, placed[line.id], plan))
            continue
        foot = min((line.chain.start, line.chain.end), key=plan.frame.height)
        if plan.frame.across(foot) > plan.frame.across(plan.where.apex):
            how = plan.lower_motion
        elif plan.frame.height(foot) < plan.cross:
            how = plan.shift(0.0, 1.0)
        else:
            how = STAY
        found.append(replace(line, chain=line.chain.moved(how)))
    return tuple(found)


def _readings(
    old: Piece, new: Piece, plan: Slashes, amounts: FullOrSmallBust, longer: float
) -> tuple[str, ...]:
    adds, does = ("adds", "drops") if plan.opens else ("takes", "rises")
    count = old.cut_count
    words = [
        f"{adds} {mm_words(amounts.amount)} at the bust on “{old.name}”, "
        f"{mm_words(amounts.amount * count)} round the body"
        + (", at waist and hem as well" if plan.opens else ", off waist and hem as well"),
        f"the bust point {does} {mm_words(plan.drop)}; the centre front is {mm_words(plan.drop)} "
        f"{'longer' if plan.opens else 'shorter'}, and waist seam, front facing and buttons follow",
    ]
    was = {d.id: abs(opening_deg(old, d)) for d in old.darts}
    for dart in new.darts:
        now = abs(opening_deg(new, dart))
        if abs(now - was.get(dart.id, 0.0)) > 1e-6 and new.edge(dart.edge).kind is EdgeKind.SIDE:
            words.append(
                f"the {dart.name} opens from {was.get(dart.id, 0.0):.1f} to {now:.1f} degrees, "
                f"{mm_words(mouth_of(new, dart).length)} at its mouth; its point stands {mm_words(set_back(dart))} back"
            )
    if longer > 0:
        words.append(f"the side seam is {mm_words(longer)} longer, to be eased into the back")
    elif longer < 0:
        words.append(f"the side seam is {mm_words(-longer)} shorter; the back is eased into it")
    return tuple(words)


def _facings(garment: Garment, piece: Piece, plan: Slashes) -> tuple[Offer, ...]:
    """The change of the centre front offered at the lengthen/shorten line of every piece that copies it."""
    copies = [
        other
        for other in garment.pieces
        for copy in other.copies
        if copy.piece == piece.id and piece.edge(copy.of_edge).kind is EdgeKind.CENTRE_FRONT
    ]
    lined = tuple(Target(other.id) for other in copies if other.line(LineKind.LENGTHEN) is not None)
    if not lined:
        return ()
    way, drop = (LENGTHEN if plan.opens else SHORTEN), round(plan.drop, 2)
    says = f"{way.capitalize()} the facing by the {mm_words(drop)} of the centre front"
    return (Offer(says, "shorten_or_lengthen", ShortenOrLengthen(way, drop, LineKind.LENGTHEN, AWAY), lined),)


def _centre_front(piece: Piece) -> Edge:
    for edge in piece.edges_of(EdgeKind.CENTRE_FRONT):
        return edge
    raise PatternError(f"“{piece.name}” is no half front: it has no centre front.", piece.id)


def _side_edge(piece: Piece) -> Edge:
    for edge in piece.edges_of(EdgeKind.SIDE):
        return edge
    raise PatternError(f"“{piece.name}” has no side seam; choose a front with one.", piece.id)


def _side_dart(piece: Piece) -> Dart | None:
    return next((d for d in piece.darts if piece.edge(d.edge).kind is EdgeKind.SIDE), None)


def _below_underarm(piece: Piece, side: Edge, length: float) -> Address:
    underarm = underarm_of(piece, armhole_of(piece))
    at_start = math.dist(underarm, side.start) < MEET_MM
    return Address(side.id, "start" if at_start else "end", length=length)


def steps(work: Work) -> list[HandStep]:
    own = work.target.amount if work.target is not None else None
    amounts = work.amounts if own is None else replace(work.amounts, amount=own)
    return three_slashes(work, _planned(work.before, _side_dart(work.before), amounts))


ALTERATION = Alteration(
    name="full_or_small_bust",
    title="Full or small bust",
    region="bust and chest",
    order=50,
    sentence="{way}: {amount} on each half of {pieces}, hinged {hinge} of the armhole up from the underarm; "
    "without a bust dart {dartless} {below} below the underarm",
    amounts=FullOrSmallBust,
    do=do,
    steps=steps,
    examples=(
        Example(
            "bust point (90, 200), hinge (150, 290), dart at the side (220, 180), a full bust of 12.7 mm",
            "the side turns 7.7591 degrees, the bust point drops 7.2765 mm, the dart's mouth grows to 17.7982 mm",
            "a (1 - cos t) + b sin t = s with a = 60, b = 90, worked by hand",
        ),
        Example(
            "a bust change of 2 in in all",
            "1 in on the half front",
            "division",
        ),
    ),
    describes=__doc__,
)
