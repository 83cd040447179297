"""A canon of small pieces, drafted by hand for the laws; not patterns to sew."""

from __future__ import annotations

import math
from dataclasses import replace

from geometry.garments import EdgeRef, Garment, Match, Seam
from geometry.lines import Chain, chain, straight
from geometry.motions import Motion, Point, mirror, slide, turn
from geometry.pieces import (
    Corner,
    Dart,
    Edge,
    EdgeKind,
    Finish,
    Line,
    LineKind,
    Mark,
    MarkKind,
    Notch,
    Piece,
    Place,
    Run,
    RunKind,
)


def edge(edge_id: str, kind: EdgeKind, *lines: Chain, finish: Finish = Finish.SEAM, width: float | None = None) -> Edge:
    """An edge of one run from chains."""
    return Edge(edge_id, edge_id, kind, (Run(_joined(lines)),), (None,) * 0, finish, width)


def _joined(lines: tuple[Chain, ...]) -> Chain:
    from geometry.lines import joined

    return joined(lines)


def piece(piece_id: str, *edges: Edge, **more: object) -> Piece:
    corners = tuple(Corner(f"{piece_id}.corner{i}") for i in range(len(edges)))
    return Piece(piece_id, piece_id, edges, corners, **more)  # type: ignore[arg-type]


def level(name: str, kind: LineKind, left: Point, right: Point) -> Line:
    return Line(name, name, kind, straight(left, right))


def leaning(degrees: float = 10.0, height: float = 400.0) -> Piece:
    """A skirt panel on the fold whose side leans off the grain by ``degrees``; hem at y = 0."""
    top = 150.0
    wide = top + height * math.tan(math.radians(degrees))
    return piece(
        "panel",
        edge("hem", EdgeKind.HEM, straight((0, 0), (wide, 0)), finish=Finish.HEM_ONCE),
        edge("side", EdgeKind.SIDE, straight((wide, 0), (top, height))),
        edge("waist", EdgeKind.WAIST, straight((top, height), (0, height))),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, height), (0, 0)), finish=Finish.FOLD),
        lines=(
            level("lengthen", LineKind.LENGTHEN, (0, 180), (wide - 180 * math.tan(math.radians(degrees)), 180)),
            Line("grain", "grainline", LineKind.GRAIN, straight((60, 60), (60, 340))),
        ),
        marks=(Mark("low", "low cross", MarkKind.DOT, (60, 150)), Mark("high", "high cross", MarkKind.DOT, (60, 250))),
    )


def front(with_dart: bool = False) -> Piece:
    """A bodice front on the fold, hem at y = 0, underarm at (230, 350), shoulder tip at (165, 560)."""
    armhole = chain(
        [((230, 350), (185, 352), (160, 400), (158, 455)), ((158, 455), (157, 495), (161, 530), (165, 560))]
    )
    neck = chain([((70, 590), (66, 540), (40, 520), (0, 520))])
    side = chain([((222, 0), (214, 90), (212, 170), (215, 220)), ((215, 220), (218, 270), (226, 310), (230, 350))])
    runs: tuple[Run, ...] = (Run(side),)
    joints: tuple[None, ...] = ()
    darts: tuple[Dart, ...] = ()
    if with_dart:
        low, high = side.crossings((0, 290), (1, 0))[0], side.crossings((0, 312), (1, 0))[0]
        runs = (
            Run(side.part(0, low)),
            Run(straight(side.point(low), side.point(high)), RunKind.MOUTH, "dart"),
            Run(side.part(high, 2)),
        )
        joints = (None, None)
        mx, my = (side.point(low)[0] + side.point(high)[0]) / 2, (side.point(low)[1] + side.point(high)[1]) / 2
        ux, uy = straight(side.point(low), side.point(high)).start_tangent
        bust = (mx - uy * 125, my + ux * 125)
        darts = (Dart("dart", "bust dart", "side", bust, (mx - uy * 105, my + ux * 105)),)
    return piece(
        "front",
        edge("hem", EdgeKind.HEM, straight((0, 0), (222, 0)), finish=Finish.HEM_ONCE),
        Edge("side", "side seam", EdgeKind.SIDE, runs, joints),
        edge("armhole", EdgeKind.ARMHOLE, armhole),
        edge("shoulder", EdgeKind.SHOULDER, straight((165, 560), (70, 590))),
        edge("neck", EdgeKind.NECKLINE, neck),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 520), (0, 0)), finish=Finish.FOLD),
        notches=(
            Notch("side.notch", "waist notch", Place("side", 0, 0.5)),
            Notch("armhole.notch", "front notch", Place("armhole", 0, 0.6)),
        ),
        marks=(Mark("bust.point", "bust point", MarkKind.BUST_POINT, (95, 320)),),
        darts=darts,
        lines=(
            level("lengthen", LineKind.LENGTHEN, (0, 240), (217, 240)),
            level("bust", LineKind.BUST, (0, 335), (229, 335)),
            level("waist", LineKind.WAIST, (0, 170), (213, 170)),
            Line("grain", "grainline", LineKind.GRAIN, straight((60, 60), (60, 460))),
        ),
    )


def skirt(darted: bool = True, side_out: float = 60.0, hem_up: float = 0.0) -> Piece:
    """A straight skirt front on the fold, hip at 400, waist at 600; hem at y = 0, rising by ``hem_up`` to the side."""
    top = (250.0 - side_out, 612.0)
    curve = [((250, 400), (250, 490), (top[0] + 22, 560), top)]
    waist = chain([(top, (top[0] - 50, 602), (70, 600), (0, 600))])
    runs: tuple[Run, ...] = (Run(waist),)
    joints: tuple[None, ...] = ()
    darts: tuple[Dart, ...] = ()
    if darted:
        outer, inner = (waist.crossings((x, 0), (0, 1))[0] for x in (110, 92))
        a, b = waist.point(outer), waist.point(inner)
        mx, my = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
        ux, uy = straight(a, b).start_tangent
        tip = (mx - 100 * uy, my + 100 * ux)
        runs = (Run(waist.part(0, outer)), Run(straight(a, b), RunKind.MOUTH, "dart"), Run(waist.part(inner, 1)))
        joints = (None, None)
        darts = (Dart("dart", "waist dart", "waist", tip, tip, "end"),)
    hem = chain([((0, 0), (90, 0), (170, hem_up), (250, hem_up))]) if hem_up else straight((0, 0), (250, 0))
    return piece(
        "skirt",
        edge("hem", EdgeKind.HEM, hem, finish=Finish.HEM_TWICE),
        edge("side", EdgeKind.SIDE, straight((250, hem_up), (250, 400)), chain(curve)),
        Edge("waist", "waist", EdgeKind.WAIST, runs, joints),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 600), (0, 0)), finish=Finish.FOLD),
        notches=(Notch("side.notch", "hip notch", Place("side", 0, 1.0)),),
        darts=darts,
        lines=(
            level("hip", LineKind.HIP, (0, 400), (250, 400)),
            level("lengthen", LineKind.LENGTHEN, (0, 200), (250, 200)),
            Line("grain", "grainline", LineKind.GRAIN, straight((60, 60), (60, 460))),
        ),
    )


def neck_facing() -> Piece:
    """A facing for the neck of the front, 60 mm wide, on the fold."""
    shoulder = straight((70, 590), (127, 572))
    inner = chain([((0, 460), (60, 460), (110, 510), (127, 572))])
    neck = chain([((70, 590), (66, 540), (40, 520), (0, 520))])
    return piece(
        "facing",
        edge("inner", EdgeKind.FACING, inner, finish=Finish.RAW),
        edge("shoulder", EdgeKind.SHOULDER, shoulder.backwards()),
        edge("neck", EdgeKind.NECKLINE, neck, finish=Finish.FACED),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 520), (0, 460)), finish=Finish.FOLD),
        lines=(Line("grain", "grainline", LineKind.GRAIN, straight((15, 470), (15, 510))),),
    )


def sleeve() -> Piece:
    """A whole sleeve, wrist at y = 0, underarm corners at (+-160, 420), top of the cap at (0, 550)."""
    half = [((160, 420), (120, 424), (105, 470), (80, 505)), ((80, 505), (58, 536), (30, 550), (0, 550))]
    left = [tuple((-x, y) for x, y in reversed(segment)) for segment in reversed(half)]
    return piece(
        "sleeve",
        edge("wrist", EdgeKind.WRIST, straight((-110, 0), (110, 0)), finish=Finish.HEM_ONCE),
        edge("underarm.front", EdgeKind.UNDERARM, straight((110, 0), (160, 420))),
        edge("cap", EdgeKind.CAP, chain([*half, *left])),
        edge("underarm.back", EdgeKind.UNDERARM, straight((-160, 420), (-110, 0))),
        notches=(Notch("cap.top", "shoulder notch", Place("cap", 0, 2.0)),),
        lines=(
            level("lengthen", LineKind.LENGTHEN, (-134, 200), (134, 200)),
            Line("grain", "grainline", LineKind.GRAIN, straight((0, 40), (0, 500))),
        ),
    )


def back() -> Piece:
    """The front again as a back with a higher neck; its side seam is the front's."""
    given = front()
    neck = chain([((70, 590), (60, 575), (30, 570), (0, 570))])
    edges = tuple(
        replace(e, runs=(Run(neck),))
        if e.id == "neck"
        else replace(e, kind=EdgeKind.CENTRE_BACK, runs=(Run(straight((0, 570), (0, 0))),))
        if e.id == "fold"
        else e
        for e in given.edges
    )
    return replace(given, id="back", name="back", edges=edges)


def bodice() -> Garment:
    """Front and back sewn at side and shoulder; both are the same side seam, so it walks exactly."""
    return Garment(
        "bodice",
        "bodice",
        (front(), back()),
        (
            Seam(
                "sides",
                "side seam",
                (EdgeRef("front", "side"),),
                (EdgeRef("back", "side"),),
                matches=(Match("waist", "front", "side.notch", "back", "side.notch"),),
                sewn=2,
            ),
            Seam("shoulders", "shoulder seam", (EdgeRef("front", "shoulder"),), (EdgeRef("back", "shoulder"),), sewn=1),
        ),
    )


PIECES = {
    "panel": leaning(),
    "front": front(),
    "front with dart": front(with_dart=True),
    "sleeve": sleeve(),
    "skirt": skirt(),
}

MOTIONS: dict[str, Motion] = {
    "slid": slide(37.25, -81.5),
    "turned": turn(33.0, (120.0, 40.0)),
    "mirrored": mirror((0.0, 0.0), (0.3, 1.0)),
}


def moved(given: Piece, motion: Motion) -> Piece:
    """The whole piece under a motion, outline kept anticlockwise, marks mapped."""
    edges = tuple(
        replace(
            e,
            runs=tuple(replace(r, chain=r.chain.moved(motion)) for r in e.runs),
            joints=tuple(j if j is None else replace(j, along=motion.vector(j.along)) for j in e.joints),
        )
        for e in given.edges
    )
    corners, notches = given.corners, given.notches
    if motion.mirrors:
        order = {e.id: e for e in given.edges}
        edges = tuple(
            replace(
                e,
                runs=tuple(replace(r, chain=r.chain.backwards()) for r in reversed(e.runs)),
                joints=tuple(reversed(e.joints)),
                at_start=e.at_end,
                at_end=e.at_start,
            )
            for e in reversed(edges)
        )
        corners = (corners[0], *reversed(corners[1:]))
        notches = tuple(
            replace(
                n,
                place=Place(
                    n.place.edge,
                    len(order[n.place.edge].runs) - 1 - n.place.run,
                    len(given.run_at(n.place).chain) - n.place.u,
                ),
            )
            for n in notches
        )
    return replace(
        given,
        edges=edges,
        corners=corners,
        notches=notches,
        marks=tuple(replace(m, point=motion.point(m.point)) for m in given.marks),
        darts=tuple(
            replace(d, bust_point=motion.point(d.bust_point), sewn_point=motion.point(d.sewn_point))
            for d in given.darts
        ),
        inner_darts=tuple(
            replace(d, points=tuple(motion.point(p) for p in d.points), widest=tuple(motion.point(p) for p in d.widest))
            for d in given.inner_darts
        ),
        lines=tuple(replace(line, chain=line.chain.moved(motion)) for line in given.lines),
    )
