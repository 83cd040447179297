"""Sewn elsewhere, the cut edge stays: the whole cutting line, corners and all, on every sample."""

from __future__ import annotations

from typing import Any

import pytest

from geometry.alterations import find
from geometry.garments import Garment
from geometry.notes import Address, Note, Target
from geometry.pipeline import Draft, Memory, draft, preview
from geometry.sameness import same
from geometry.thinning import gap_between
from sample_pieces.draft import funnel_neck, undershirt, waistcoat
from tests.canon import bodice

GARMENTS = {"undershirt": undershirt, "waistcoat": waistcoat, "funnel neck": funnel_neck, "bodice": bodice}


def sew(piece: str, edge: str, width: float, at: float | None = None, note_id: str = "n") -> Note:
    across = None if at is None else (Address(edge, "start", share=at),)
    target = Target(piece, edge=edge, across=across)
    return Note(note_id, "sew_seam_at", find("sew_seam_at").checked({"width": width}), (target,))


def other(name: str, *targets: Target, note_id: str = "m", **values: Any) -> Note:
    return Note(note_id, name, find(name).checked(values), targets)


def drafted(garment: Garment, *notes: Note) -> Draft:
    made = draft(garment, notes)
    assert all(step.done for step in made.followed.steps), [f.says for f in made.findings]
    return made


def assert_cut_edge_stays(made: Draft) -> None:
    for piece_id, was in made.cut_before.items():
        now = made.cut[piece_id].cutting
        assert was.cutting is not None and now is not None
        assert gap_between(was.cutting, now) < 1e-9, piece_id


@pytest.mark.parametrize(
    ("garment", "piece", "edge", "width"),
    [
        ("waistcoat", "front", "front.shoulder", 20.0),
        ("waistcoat", "front", "front.shoulder", 12.0),
        ("waistcoat", "front", "front.side", 25.0),
        ("waistcoat", "front", "front.side", 12.0),
        ("undershirt", "front", "front.side", 10.0),
        ("funnel neck", "front", "front.shoulder", 10.0),
        ("bodice", "front", "side", 10.0),
    ],
)
def test_the_whole_cutting_line_stays(garment: str, piece: str, edge: str, width: float) -> None:
    made = drafted(GARMENTS[garment](), sew(piece, edge, width))
    assert_cut_edge_stays(made)
    moved = made.redrawn.piece(piece).edge(edge)
    assert made.redrawn.width(moved) == pytest.approx(width)


@pytest.mark.parametrize("at", [0.15, 0.4, 0.6, 0.85])
@pytest.mark.parametrize("width", [9.0, 12.0, 25.0])
def test_to_nothing_at_a_place_the_cutting_line_stays_as_well(width: float, at: float) -> None:
    made = drafted(waistcoat(), sew("front", "front.side", width, at))
    assert_cut_edge_stays(made)
    sides = next(walk for walk in made.after if walk.seam == "sides")
    assert sides.verdict == "true"


@pytest.mark.parametrize("at", [0.2, 0.5, 0.8])
@pytest.mark.parametrize(
    ("garment", "edge", "width"),
    [("undershirt", "front.armhole", 9.0), ("undershirt", "front.neck", 8.0), ("funnel neck", "front.armhole", 8.0)],
)
def test_a_seam_of_several_edges_runs_to_nothing_at_a_place_of_one(
    garment: str, edge: str, width: float, at: float
) -> None:
    made = draft(GARMENTS[garment](), [sew("front", edge, width, at)])
    assert made.followed.steps[0].done, [f.says for f in made.findings]
    assert_cut_edge_stays(made)
    traced, redrawn = made.garment.piece("front").edge(edge).chain, made.redrawn.piece("front").edge(edge).chain
    nothing = traced.point(traced.at_length(at * traced.length))
    # Nothing is moved at the place named, and the whole amount at the further end of the edge.
    assert redrawn.nearest(nothing)[1] < 0.01
    end = redrawn.length * (0.97 if at < 0.5 else 0.03)
    amount = abs(made.garment.width(made.garment.piece("front").edge(edge)) - width)
    assert traced.nearest(redrawn.point(redrawn.at_length(end)))[1] == pytest.approx(amount, rel=0.05)


def test_the_named_edge_moves_and_not_the_one_beyond_the_place() -> None:
    made = drafted(waistcoat(), sew("front", "front.neck", 12.0, 1.0))
    traced, redrawn = made.garment.piece("front"), made.redrawn.piece("front")
    assert not same(redrawn.edge("front.neck").chain, traced.edge("front.neck").chain, 0.1)
    front_edge = next(edge for edge in traced.edges if edge.id not in ("front.neck",) and "edge" in edge.name)
    assert redrawn.edge(front_edge.id).length == pytest.approx(front_edge.length, abs=0.5)


def test_a_new_allowance_after_it_is_measured_from_the_seam_as_sewn() -> None:
    # 15 mm sewn at 12, then cut with 20: the cutting line lies 20 mm outside the new stitching line, worked by hand.
    wide = other("allowance_width", Target("front", edge="side"), Target("back", edge="side"), width=20.0)
    made = drafted(bodice(), sew("front", "side", 12.0), wide)
    stitching = made.redrawn.piece("front").edge("side").chain
    cutting = made.cut["front"].cutting
    assert cutting is not None
    place, (tx, ty) = stitching.point(stitching.at_length(150.0)), stitching.tangent(stitching.at_length(150.0))
    assert cutting.nearest((place[0] + 20 * ty, place[1] - 20 * tx))[1] < 0.01


def test_notes_after_it_move_the_cut_edge_with_the_paper() -> None:
    shorten = other("shorten_or_lengthen", Target("front"), Target("back"), amount=20.0)
    both = drafted(bodice(), sew("front", "side", 10.0), shorten)
    alone = drafted(bodice(), shorten)
    for piece_id in ("front", "back"):
        one, two = both.cut[piece_id].cutting, alone.cut[piece_id].cutting
        assert one is not None and two is not None and gap_between(one, two) < 1e-6


def test_a_frame_shows_the_same_cutting_line_as_the_whole_draft() -> None:
    notes = (sew("front", "front.side", 12.0, 0.4), other("armhole_too_low", Target("front"), Target("back")))
    garment = waistcoat()
    frame = preview(garment, notes, "front", Memory())
    whole = draft(garment, notes)
    assert same(frame.cut["front"].cutting, whole.cut["front"].cutting, 0.0)


def test_the_edges_it_runs_on_into_are_offered() -> None:
    made = drafted(waistcoat(), sew("front", "front.neck", 12.0))
    offers = made.followed.steps[0].offers
    assert any("Back" in offer.says and "12 mm as well" in offer.says for offer in offers), [o.says for o in offers]
    more = [Note(f"o{i}", o.alteration, o.amounts, o.targets) for i, o in enumerate(offers)]
    again = drafted(waistcoat(), sew("front", "front.neck", 12.0), *more)
    shoulders = [walk for walk in again.after if "shoulder" in walk.name]
    assert shoulders and all(walk.verdict in ("true", "ease") for walk in shoulders), [
        (w.name, w.difference_mm) for w in shoulders
    ]
