"""The acts of truing: for what is open, each note that might put it right, its amount still to be found."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from geometry.alterations import find
from geometry.corners import CornerWalk
from geometry.dart_legs import DartWalk
from geometry.garments import EdgeRef, Garment, Seam
from geometry.matters import Bench
from geometry.motions import Point
from geometry.named_corners import corner_target
from geometry.notes import Address, Note, Target, edge_run_length, length_at, place_at
from geometry.pieces import Edge, EdgeKind, Piece, neighbours
from geometry.pipeline import Walked
from geometry.readings import mm_words
from geometry.stages import SeamWalk
from geometry.tolerances import TRUE_MM

#: What this bends in all is redrawn as a curve, and changes its length when it is led off (degrees).
_CURVED_DEG = 15.0
#: A strip is a band when it is no wider than this, and its long sides lean no further apart (mm, degrees).
_BAND_MM, _BAND_DEG = 150.0, 10.0
#: Runs along which a corner is drawn anew, the usual one first (mm).
_RUNS = (50.0, 80.0, 30.0, 20.0)
_FEET = (EdgeKind.HEM, EdgeKind.WRIST)
#: Edges whose two ends are alike, so that neither takes a difference alone while there is another way.
_RINGS = (EdgeKind.CAP, EdgeKind.ARMHOLE)
#: A seam is trimmed or run on by no more than this: beyond it something else is wrong (mm).
_MOST_TRIMMED_MM = 40.0
#: An edge is led off by no more than this to come to a length: further it would be another shape (mm).
_MOST_LED_MM = 6.0
#: Less than this a notch is not moved (mm).
_LEAST_NOTCH_MM = 0.05


@dataclass(frozen=True)
class Act:
    """One way to put something right: ``note`` for a signed amount, and the ``measure`` that must come to nothing.

    ``guess`` is the amount to begin with, None where the note is whole as it is. ``rank`` puts the usual way first;
    more than ``most`` is not done, and what does not take the share ``takes`` off what is out is no help.
    """

    rank: float
    note: Callable[[float], Note]
    says: Callable[[float], str]
    measure: Callable[[Walked], float]
    guess: float | None = None
    most: float = math.inf
    takes: float = 0.25

    def left(self, found: Walked) -> float:
        """How far the measure is from nothing."""
        return abs(self.measure(found))


def note_of(note_id: str, name: str, targets: Sequence[Target], **values: object) -> Note:
    """A note of an alteration, its amounts checked."""
    alteration = find(name)
    return Note(note_id, name, alteration.checked(values), tuple(targets), rule=alteration.version)


def aim_of(seam: Seam, walk: SeamWalk) -> float:
    """The difference (mm, second less first) that a seam should have: accepted, or the middle of what is allowed."""
    return seam.accepted_mm if seam.accepted_mm is not None else (walk.ease[0] + walk.ease[1]) / 2


def whole_out(found: Walked, seam: Seam) -> float:
    """How far a seam's two sides lie outside their range from end to end (mm, signed), 0 where they count as true."""
    walk = _walk_of(found, seam)
    return 0.0 if walk.whole_is_true else walk.outside_mm


def length_acts(bench: Bench, seam: Seam, walk: SeamWalk, altered: frozenset[str]) -> Iterator[Act]:
    """Ways to bring both sides of a seam to one length; ``altered`` are the pieces that the notes were done to."""
    missing = aim_of(seam, walk) - walk.difference_mm

    def measure(found: Walked) -> float:
        now = _walk_of(found, seam)
        return now.difference_mm - aim_of(seam, now)

    for sign, side, others in ((1.0, seam.first, seam.second), (-1.0, seam.second, seam.first)):
        # The first side has to give what the second lacks, and the other way round.
        by = -sign * missing
        rank = _rank(bench.garment, side, others, altered)
        for ref in side:
            if bench.garment.edge(ref).kind is EdgeKind.CAP:
                yield _cap_act(bench, ref, rank, measure, by)
        if not any(bench.garment.edge(ref).kind in _RINGS for ref in side):
            yield from _end_acts(bench, side, rank, measure, by)
        yield from _band_acts(bench, seam, walk, side, sign, rank)


def last_acts(bench: Bench, seam: Seam, walk: SeamWalk, altered: frozenset[str]) -> Iterator[Act]:
    """Where no other way helps: a curved edge led a little fuller or flatter, or an armhole changed at one end."""
    missing = aim_of(seam, walk) - walk.difference_mm

    def measure(found: Walked) -> float:
        now = _walk_of(found, seam)
        return now.difference_mm - aim_of(seam, now)

    for sign, side, others in ((1.0, seam.first, seam.second), (-1.0, seam.second, seam.first)):
        rank = _rank(bench.garment, side, others, altered)
        for ref in side:
            piece, edge = bench.garment.piece(ref.piece), bench.garment.edge(ref)
            if not edge.on_fold and edge.chain.turning_deg >= _CURVED_DEG:
                yield _reshaping_act(bench, piece, edge, rank, measure)
        if any(bench.garment.edge(ref).kind in _RINGS for ref in side):
            yield from _end_acts(bench, side, rank + 0.5, measure, -sign * missing)


def _rank(
    garment: Garment, side: Sequence[EdgeRef], others: Sequence[EdgeRef], altered: frozenset[str]
) -> float:
    """What is sewn on follows what it is sewn to; else the piece that a note changed is trued to its mate."""
    if _follows(garment, side) != _follows(garment, others):
        return 0.0 if _follows(garment, side) else 4.0
    return 1.0 if any(ref.piece in altered for ref in side) else 2.0


def _follows(garment: Garment, side: Sequence[EdgeRef]) -> bool:
    """Whether a side is a cap, a band or a facing."""
    for ref in side:
        piece = garment.piece(ref.piece)
        kinds = {edge.kind for edge in piece.edges}
        if garment.edge(ref).kind is EdgeKind.CAP or EdgeKind.BAND in kinds or EdgeKind.FACING in kinds or piece.copies:
            return True
    return False


def _cap_act(bench: Bench, ref: EdgeRef, rank: float, measure: Callable[[Walked], float], by: float) -> Act:
    name = bench.garment.piece(ref.piece).name

    def note(x: float) -> Note:
        way = "higher" if x > 0 else "lower"
        return note_of(bench.next_id(), "cap_height", [Target(ref.piece)], way=way, amount=abs(x))

    def says(x: float) -> str:
        return f"Make the cap of “{name}” {mm_words(abs(x))} {'higher' if x > 0 else 'lower'}"

    return Act(rank, note, says, measure, by / 1.5)


def _end_acts(
    bench: Bench, side: Sequence[EdgeRef], rank: float, measure: Callable[[Walked], float], by: float
) -> Iterator[Act]:
    """The seam trimmed or run on at either end, best at the hem."""
    for ref, at_start in ((side[0], not side[0].backwards), (side[-1], side[-1].backwards)):
        piece = bench.garment.piece(ref.piece)
        beyond = neighbours(piece, ref.edge)[0 if at_start else 1]
        if beyond.on_fold or piece.edge(ref.edge).on_fold:
            continue
        later = 0.0 if beyond.kind in _FEET else 0.3 if beyond.kind is EdgeKind.WAIST else 0.5
        yield _end_act(bench, piece, ref.edge, at_start, (rank + later, by, measure))


def _end_act(
    bench: Bench, piece: Piece, edge_id: str, at_start: bool, how: tuple[float, float, Callable[[Walked], float]]
) -> Act:
    edge, beyond = piece.edge(edge_id), neighbours(piece, edge_id)[0 if at_start else 1]
    rank, by, measure = how

    def note(x: float) -> Note:
        way = "longer" if x > 0 else "shorter"
        target = corner_target(piece.id, edge_id, at_start)
        return note_of(bench.next_id(), "true_a_seam", [target], way=way, amount=abs(x))

    def says(x: float) -> str:
        way = "longer" if x > 0 else "shorter"
        return f"Make “{edge.name}” of “{piece.name}” {mm_words(abs(x))} {way} at the {beyond.name}"

    return Act(rank, note, says, measure, by, _MOST_TRIMMED_MM)


def _reshaping_act(
    bench: Bench, piece: Piece, edge: Edge, rank: float, measure: Callable[[Walked], float]
) -> Act:
    target = Target(piece.id, edge=edge.id, across=(Address(edge.id, "start", share=0.5),))

    def note(x: float) -> Note:
        return note_of(bench.next_id(), "reshape_an_edge", [target], first=x)

    def says(x: float) -> str:
        return f"Lead “{edge.name}” of “{piece.name}” {mm_words(abs(x))} {'out' if x > 0 else 'in'} at its middle"

    return Act(rank, note, says, measure, 2.0, _MOST_LED_MM)


def _band_acts(
    bench: Bench, seam: Seam, walk: SeamWalk, side: Sequence[EdgeRef], sign: float, rank: float
) -> Iterator[Act]:
    """A band slashed across and spread or overlapped, in the middle of the stretch that is furthest out."""
    at = max(range(len(walk.stretches)), key=lambda i: abs(walk.stretches[i].outside_mm))
    place = (_stop(walk, at, sign) + _stop(walk, at + 1, sign)) / 2
    found = _edge_at(bench.now.blended.garment, side, place)
    if found is None:
        return
    piece, edge, along = found
    across = _across_band(piece, edge, along)
    if across is None:
        return
    target = Target(piece.id, across=across)

    def measure(found: Walked) -> float:
        now = _walk_of(found, seam)
        stretch = now.stretches[at]
        return stretch.second_mm - stretch.first_mm - (stretch.least + stretch.most) / 2

    def note(x: float) -> Note:
        way = "spread" if x > 0 else "overlap"
        return note_of(bench.next_id(), "slash_and_spread", [target], way=way, amount=abs(x))

    def says(x: float) -> str:
        way = "Spread" if x > 0 else "Overlap"
        return f"{way} “{piece.name}” by {mm_words(abs(x))} across it, {mm_words(along)} along its {edge.name}"

    yield Act(rank - 0.2, note, says, measure, measure(bench.now) * sign)


def notch_acts(bench: Bench, seam: Seam, walk: SeamWalk, altered: frozenset[str]) -> Iterator[Act]:
    """All notches of one side moved to where their mates meet it, the ease left between the notches that allow it."""
    differences = _shared_out(walk)
    ordered = sorted(seam.matches, key=lambda m: next(n.first_at for n in walk.notches if n.name == m.name))
    at_first = sorted(notch.first_at for notch in walk.notches)
    at_second = [next(n.second_at for n in walk.notches if n.name == m.name) for m in ordered]
    for is_second, side, others in ((True, seam.second, seam.first), (False, seam.first, seam.second)):
        moves: list[tuple[str, str, float]] = []
        told = 0.0
        for match, a, b, difference in zip(ordered, at_first, at_second, differences, strict=False):
            told += difference
            by = a + told - b if is_second else b - told - a
            piece, notch = (match.second_piece, match.second) if is_second else (match.first_piece, match.first)
            moves.append((piece, notch, round(by, 1)))
        moves = [move for move in moves if abs(move[2]) > _LEAST_NOTCH_MM]
        if moves:
            yield _notch_act(bench, seam, side, moves, _rank(bench.garment, side, others, altered))


def _notch_act(
    bench: Bench, seam: Seam, side: Sequence[EdgeRef], moves: list[tuple[str, str, float]], rank: float
) -> Act:
    targets, words = [], []
    for piece_id, notch_id, by in moves:
        piece = bench.garment.piece(piece_id)
        notch = next(one for one in piece.notches if one.id == notch_id)
        edges = {(ref.piece, ref.edge): ref.backwards for ref in side}
        at_start = (by > 0) != edges.get((piece_id, notch.place.edge), False)
        targets.append(replace(corner_target(piece_id, notch.place.edge, at_start, abs(by)), line=notch_id))
        words.append(f"{notch.name} of “{piece.name}” by {mm_words(abs(by))}")
    most = max(abs(by) for _, _, by in moves)

    def note(x: float) -> Note:
        return note_of(bench.next_id(), "move_a_notch", targets, amount=most)

    def says(x: float) -> str:
        return "Move " + " and ".join(words)

    def measure(found: Walked) -> float:
        return max((stretch.outside_mm for stretch in _walk_of(found, seam).stretches), key=abs)

    return Act(rank, note, says, measure)


def _shared_out(walk: SeamWalk) -> list[float]:
    """What each stretch should differ by (second less first, mm), adding up to what the whole seam differs by."""
    own = [stretch.second_mm - stretch.first_mm for stretch in walk.stretches]
    wanted = [min(max(d, s.least), s.most) for d, s in zip(own, walk.stretches, strict=True)]
    rest = walk.difference_mm - sum(wanted)
    room = [(s.most - d) if rest > 0 else (d - s.least) for d, s in zip(wanted, walk.stretches, strict=True)]
    if sum(room) > 1e-9:
        part = math.copysign(min(abs(rest), sum(room)), rest)
        wanted = [d + part * r / sum(room) for d, r in zip(wanted, room, strict=True)]
        rest -= part
    whole = sum(stretch.first_mm for stretch in walk.stretches)
    return [d + rest * s.first_mm / whole for d, s in zip(wanted, walk.stretches, strict=True)]


def corner_acts(bench: Bench, corner: CornerWalk) -> Iterator[Act]:
    """The edges that meet at a corner drawn anew over a short run, on both pieces alike, else on one alone."""
    parts = list(dict.fromkeys(corner.parts))
    choices = [parts] if len(parts) == 1 else [parts, parts[:1], parts[1:]]

    def measure(found: Walked) -> float:
        return next(one.off for one in found.corners if one.id == corner.id)

    for choice, chosen in enumerate(choices):
        targets = [corner_target(part.piece, part.edge, part.at_start) for part in chosen]
        room = min(_room(bench, part.piece, part.edge, part.at_start) for part in chosen)
        names = " and ".join(dict.fromkeys(f"“{bench.garment.piece(part.piece).name}”" for part in chosen))
        for later, run in enumerate(run for run in _RUNS if run <= room):

            def note(x: float, targets: Sequence[Target] = targets, run: float = run) -> Note:
                way = "fill the hollow in" if x > 0 else "round the point off"
                return note_of(bench.next_id(), "true_a_corner", targets, way=way, amount=abs(x), run=run)

            def says(x: float, names: str = names) -> str:
                return f"{'Fill the hollow in' if x > 0 else 'Round the point off'} by {mm_words(abs(x))} on {names}"

            turn = math.radians(corner.off / len(corner.parts if len(chosen) > 1 else chosen))
            yield Act(choice + 0.1 * later, note, says, measure, run * math.tan(turn) / 3)


def dart_acts(bench: Bench, dart: DartWalk) -> Iterator[Act]:
    """The shorter leg made as long as the other, else the longer one trimmed, else shared."""
    ways = ("the shorter leg longer", "the longer leg shorter", "shared over both legs")
    amount = round(abs(dart.difference_mm), 2)

    def measure(found: Walked) -> float:
        return next(one.difference_mm for one in found.darts if one.key == dart.key)

    for rank, way in enumerate(ways):

        def note(x: float, way: str = way) -> Note:
            target = Target(dart.piece, line=dart.dart)
            return note_of(bench.next_id(), "true_dart_legs", [target], way=way, amount=amount)

        def says(x: float, way: str = way) -> str:
            return f"Make {way} by {mm_words(amount)} in {dart.name}"

        yield Act(float(rank), note, says, measure)


def _room(bench: Bench, piece_id: str, edge_id: str, at_start: bool) -> float:
    """How far an edge can be drawn anew from one end: less than half of what lies there in one go (mm)."""
    edge = bench.now.followed.garment.piece(piece_id).edge(edge_id)
    return max(0.5 * edge.runs[0 if at_start else -1].chain.length, _RUNS[-1])


def _walk_of(found: Walked, seam: Seam) -> SeamWalk:
    return next(walk for walk in found.seams if walk.seam == seam.id)


def _stop(walk: SeamWalk, index: int, sign: float) -> float:
    """Where the stretch ``index`` begins along one side (mm); the first for ``sign`` 1, the second for -1."""
    lengths = [s.first_mm if sign > 0 else s.second_mm for s in walk.stretches]
    return sum(lengths[:index])


def _edge_at(garment: Garment, side: Sequence[EdgeRef], along: float) -> tuple[Piece, Edge, float] | None:
    """The piece and edge at a length along one side of a seam, and the length from that edge's start."""
    for ref in side:
        edge = garment.edge(ref)
        if along <= edge.length:
            return garment.piece(ref.piece), edge, edge.length - along if ref.backwards else along
        along -= edge.length
    return None


def _across_band(piece: Piece, edge: Edge, along: float) -> tuple[Address, Address] | None:
    """A line across a narrow strip, square to one long side; None where the piece is no strip there."""
    if not 0.0 < along < edge_run_length(edge):
        return None
    place = place_at(edge, along)
    line = edge.runs[place.run].chain
    start, way = line.point(place.u), line.tangent(place.u)
    square = (-way[1], way[0])
    best: tuple[float, Edge, Point] | None = None
    for other in piece.edges:
        for u in other.chain.crossings(start, square):
            point = other.chain.point(u)
            away = (point[0] - start[0]) * square[0] + (point[1] - start[1]) * square[1]
            turned = other.chain.tangent(u)
            lean = math.degrees(math.acos(min(1.0, abs(turned[0] * way[0] + turned[1] * way[1]))))
            fits = other.id != edge.id and 1.0 < away <= _BAND_MM and lean <= _BAND_DEG
            if fits and (best is None or away < best[0]):
                best = (away, other, point)
    if best is None or edge.length < 1.5 * best[0]:
        return None
    _, other, point = best
    for index, run in enumerate(other.runs):
        u, gap = run.chain.nearest(point)
        if gap < TRUE_MM:
            opposite = length_at(other, replace(place, edge=other.id, run=index, u=u))
            return Address(edge.id, "start", length=round(along, 1)), Address(
                other.id, "start", length=round(opposite, 1)
            )
    return None
