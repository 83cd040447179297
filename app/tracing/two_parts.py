"""A piece that was drawn in two parts, laid together on its match line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace

from app.tracing.building import Drawn, draw, index_of
from app.tracing.corners_by_hand import changed
from app.tracing.joining import Loop
from app.tracing.pieces_found import RawPiece
from app.tracing.questions import Answers
from geometry.errors import PatternError
from geometry.kept import frozen
from geometry.lines import joined
from geometry.motions import Motion, slide, turn

#: Both sides of a match line are equally long within this (mm).
_EQUAL_MM = 1.0


def joined_parts(drawn: Sequence[Drawn], answers: Answers, noise_mm: float, exchange: bool) -> list[Drawn]:
    """The pieces with parts laid together as “join” asks, “front:2=front-2:4” for each, one to a line."""
    found = list(drawn)
    for words in answers.get("join", "").split("\n"):
        if not words.strip():
            continue
        first, second = _sides(found, words)
        one, i = first
        other, j = second
        if one is other:
            raise PatternError(f"--join “{words}” names one piece twice; a match line joins two parts.", one.id)
        made = _laid_together(one, i, other, j, words, noise_mm, exchange)
        found = [made if part is one else part for part in found if part is not other]
    return found


def _sides(drawn: Sequence[Drawn], words: str) -> tuple[tuple[Drawn, int], tuple[Drawn, int]]:
    sides = []
    for side in words.split("="):
        name, colon, edge = side.strip().rpartition(":")
        piece = next((one for n, one in enumerate(drawn, 1) if name in (one.id, one.raw.name, str(n))), None)
        if not colon or piece is None:
            listed = ", ".join(one.id for one in drawn)
            raise PatternError(f"--join “{words}” should be PIECE:EDGE=PIECE:EDGE; the pieces are {listed}.")
        sides.append((piece, index_of(piece, edge)))
    if len(sides) != 2:
        raise PatternError(f"--join “{words}” should be PIECE:EDGE=PIECE:EDGE.")
    return sides[0], sides[1]


def _laid_together(one: Drawn, i: int, other: Drawn, j: int, words: str, noise_mm: float, exchange: bool) -> Drawn:
    ours, theirs = one.edges[i].whole, other.edges[j].whole
    if abs(ours.length - theirs.length) > _EQUAL_MM + noise_mm:
        raise PatternError(
            f"The match lines of “{one.raw.name}” and “{other.raw.name}” are {ours.length:.1f} and "
            f"{theirs.length:.1f} mm long, so they are not laid together; are they the right edges?",
            one.id,
        )
    # The second part is turned so that its line runs against the first's, middle on middle.
    angle = math.atan2(ours.start[1] - ours.end[1], ours.start[0] - ours.end[0]) - math.atan2(
        theirs.end[1] - theirs.start[1], theirs.end[0] - theirs.start[0]
    )
    turned = turn(math.degrees(angle), theirs.start)
    middle = turned.point(((theirs.start[0] + theirs.end[0]) / 2, (theirs.start[1] + theirs.end[1]) / 2))
    target = ((ours.start[0] + ours.end[0]) / 2, (ours.start[1] + ours.end[1]) / 2)
    motion = turned.then(slide(target[0] - middle[0], target[1] - middle[1]))
    mine = [edge.whole for edge in (*one.edges[i + 1 :], *one.edges[:i])]
    yours = [edge.whole.moved(motion) for edge in (*other.edges[j + 1 :], *other.edges[:j])]
    line = joined([*mine, *yours])
    cubics = line.cubics.copy()
    cubics[-1, 3] = cubics[0, 0]
    chain = replace(line, cubics=frozen(cubics))
    raw = _both(one.raw, other.raw, Loop(chain, replace(one.raw.outline.line, chain=chain)), motion)
    del words
    made = draw(one.id, raw, noise_mm, exchange)
    for corner in (*one.corners, *(replace(each, point=motion.point(each.point)) for each in other.corners)):
        # One on the match line itself is gone with it, and one where the parts now run on is none any more.
        with suppress(PatternError):
            made = changed(made, corner).drawn
    return made


def _both(one: RawPiece, other: RawPiece, outline: Loop, motion: Motion) -> RawPiece:
    """What lies on both parts, the second's moved to the first."""
    return RawPiece(
        one.name,
        outline,
        None,
        (*one.lines, *(replace(line, chain=line.chain.moved(motion)) for line in other.lines)),
        (*one.loops, *(Loop(loop.chain.moved(motion), loop.line) for loop in other.loops)),
        (*one.words, *(replace(word, at=motion.point(word.at)) for word in other.words)),
        (*one.points, *(replace(point, at=motion.point(point.at)) for point in other.points)),
    )
