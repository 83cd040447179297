"""Blending between sizes, against widths worked by hand from the published table, and laws of its own.

Half widths of the tabard are a quarter of the table's girth with its ease: published envelope table, misses (bust
36 in in size 14, hip 38, 40 and 42 in in sizes 14, 16 and 18); ease 96, 150 and 76 mm is ours.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.alterations import find
from geometry.following import take_step
from geometry.garments import Garment
from geometry.lines import Chain
from geometry.nests import in_every_size, in_size, piece_in
from geometry.notes import Address, Note, Target
from geometry.pieces import LineKind, Piece
from geometry.pipeline import Draft, draft
from geometry.sameness import same
from sample_pieces.draft import tabard
from tests.size_cases import bodice_nest, darted_nest, skirt_nest, sleeve_nest

INCH = 25.4
TABARD = tabard()
SIDE = Target("front", edge="front.side")
SIZES = ("10", "12", "14", "16", "18")


def blend(*targets: Target, **values: str) -> Note:
    alteration = find("blend_between_sizes")
    return Note("note-1", alteration.name, alteration.checked(values), targets or (SIDE,))


def drafted(garment: Garment, *notes: Note) -> Draft:
    done = draft(garment, notes)
    assert all(step.done for step in done.followed.steps), [f.says for f in done.findings]
    return done


def half_width(piece: Piece, kind: LineKind) -> float:
    """From the fold to the side along a level line (mm)."""
    line = piece.line(kind)
    assert line is not None
    return line.chain.length


def out_at(chain: Chain, height: float) -> float:
    return float(chain.point(chain.crossings((0.0, height), (1.0, 0.0))[0])[0])


def test_half_widths_are_those_of_the_sizes_named() -> None:
    # Published envelope table, misses, and division: size 14 bust 36 in, size 16 hip 40 in; ease 96 and 76 mm.
    redrawn = drafted(TABARD, blend(hip="16")).redrawn
    for piece in redrawn.pieces:
        assert half_width(piece, LineKind.BUST) == pytest.approx((36 * INCH + 96) / 4, abs=0.01)
        assert half_width(piece, LineKind.HIP) == pytest.approx((40 * INCH + 76) / 4, abs=0.01)
        assert piece.edge(f"{piece.id}.hem").length == pytest.approx((40 * INCH + 76) / 4, abs=0.01)
    # 2 in over 4 edges (two on the fold, each side twice): 12.7 mm on each, by division.
    (reading,) = draft(TABARD, (blend(hip="16"),)).followed.steps[0].readings
    assert "on each of 4 edges: size 16 at the hip, 12.7 mm further out (50.8 mm in all)" in reading


@pytest.mark.parametrize("bust", SIZES)
@pytest.mark.parametrize("hip", ["10", "14", "18"])
@pytest.mark.parametrize("waist", ["drawn over", "12"])
def test_every_pair_of_sizes_keeps_its_widths_and_its_seams(bust: str, waist: str, hip: str) -> None:
    # Published envelope table, misses, and division; heights are those of the size worked in.
    bodies = {"10": (32.5, 25, 34.5), "12": (34, 26.5, 36), "14": (36, 28, 38), "16": (38, 30, 40), "18": (40, 32, 42)}
    done = drafted(TABARD, blend(bust=bust, waist=waist, hip=hip))
    for piece in done.redrawn.pieces:
        assert half_width(piece, LineKind.BUST) == pytest.approx((bodies[bust][0] * INCH + 96) / 4, abs=0.01)
        assert half_width(piece, LineKind.HIP) == pytest.approx((bodies[hip][2] * INCH + 76) / 4, abs=0.01)
        if waist != "drawn over":
            assert half_width(piece, LineKind.WAIST) == pytest.approx((bodies[waist][1] * INCH + 150) / 4, abs=0.01)
        fold = piece.fold
        assert fold is not None and fold.length == pytest.approx(TABARD.piece(piece.id).fold.length, abs=1e-6)  # type: ignore[union-attr]
    assert {walk.verdict for walk in done.after} == {"true"}
    assert max(abs(walk.difference_mm) for walk in done.after) < 0.01


def test_the_seam_runs_on_the_one_line_and_on_the_other_and_leaves_both_smoothly() -> None:
    """Between size and size it touches neither; where it leaves them it has their direction (within 0.05 degrees)."""
    side = drafted(TABARD, blend(hip="18")).redrawn.piece("front").edge("front.side").chain
    own = TABARD.piece("front").edge("front.side").chain
    other = piece_in(TABARD, "18", "front").edge("front.side").chain
    hip, bust = (TABARD.piece("front").line(kind).chain.start[1] for kind in (LineKind.HIP, LineKind.BUST))  # type: ignore[union-attr]
    for height in np.linspace(bust, bust + 30, 7):
        assert out_at(side, height) == pytest.approx(out_at(own, height), abs=1e-6)
    for height in np.linspace(1.0, hip, 9):
        assert out_at(side, height) == pytest.approx(out_at(other, height), abs=1e-6)
    middle = (hip + bust) / 2
    assert out_at(own, middle) + 3 < out_at(side, middle) < out_at(own, middle) + 25.4
    for height, line in ((bust, own), (hip, other)):
        u, v = (chain.crossings((0.0, height), (1.0, 0.0))[0] for chain in (side, line))
        for shift in (-1e-4, 1e-4):
            (ax, ay), (bx, by) = side.tangent(u + shift), line.tangent(v)
            assert abs(np.degrees(np.arctan2(ax * by - ay * bx, ax * bx + ay * by))) < 0.05


def test_the_change_lies_as_a_batten_does() -> None:
    """Between the levels the change is 2.5 t^2 - 2.5 t^4 + t^5 of the whole, worked by hand: least squared third
    derivative with ends and directions given. The nest's sizes differ by the same 10 mm all along here."""
    garment = parallel_nest(10.0)
    side = drafted(garment, blend(Target("panel", edge="side"), hip="2")).redrawn.piece("panel").edge("side").chain
    own = garment.piece("panel").edge("side").chain
    for t in (0.1, 0.25, 0.5, 0.75, 0.9):
        height = 300.0 - 200.0 * t
        wanted = 10.0 * (2.5 * t**2 - 2.5 * t**4 + t**5)
        assert out_at(side, height) - out_at(own, height) == pytest.approx(wanted, abs=0.01)


def parallel_nest(apart: float, curved: bool = True) -> Garment:
    """A panel 400 mm high with bust at 300 and hip at 100, its side bulging by 20 mm or straight, in two sizes."""
    from geometry.garments import Garment as Made
    from geometry.lines import chain, straight
    from geometry.nests import nested
    from geometry.pieces import EdgeKind, Finish
    from tests.canon import edge, level, piece

    def panel(out: float) -> Piece:
        wide = 200.0 + out
        bulge = 20.0 if curved else 0.0
        side = chain([((wide, 0), (wide + bulge, 133), (wide + bulge, 267), (wide, 400))])
        side = side if curved else straight((wide, 0), (wide, 400))
        return piece(
            "panel",
            edge("hem", EdgeKind.HEM, straight((0, 0), (wide, 0)), finish=Finish.HEM_ONCE),
            edge("side", EdgeKind.SIDE, side),
            edge("top", EdgeKind.OTHER, straight((wide, 400), (0, 400))),
            edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 400), (0, 0)), finish=Finish.FOLD),
            lines=(
                level("bust", LineKind.BUST, (0, 300), (out_at(side, 300.0), 300)),
                level("hip", LineKind.HIP, (0, 100), (out_at(side, 100.0), 100)),
            ),
        )

    made = [Made("panel", "panel", (panel(out),), size=name) for name, out in (("1", 0.0), ("2", apart))]
    return nested(made, "1")


def test_straight_lines_are_drawn_over_with_a_ruler() -> None:
    """From (200, 300) to (210, 100): a straight line leaning 10 in 200, by division."""
    garment = parallel_nest(10.0, curved=False)
    side = drafted(garment, blend(Target("panel", edge="side"), hip="2")).redrawn.piece("panel").edge("side").chain
    for height in (110.0, 150.0, 200.0, 250.0, 290.0):
        assert out_at(side, height) == pytest.approx(200.0 + (300.0 - height) / 20.0, abs=1e-6)
    assert side.straight.all() and out_at(side, 350.0) == pytest.approx(200.0) and out_at(side, 50.0) == 210.0


@pytest.mark.parametrize("size", SIZES)
def test_one_size_at_every_level_is_that_size_in_width(size: str) -> None:
    """Lengths stay those of size 14; where a level lies as high in both sizes the lines are the same."""
    done = drafted(TABARD, blend(bust=size, waist=size, hip=size, hem=size)).redrawn.piece("front")
    other = piece_in(TABARD, size, "front")
    for kind in (LineKind.BUST, LineKind.WAIST, LineKind.HIP):
        assert half_width(done, kind) == pytest.approx(half_width(other, kind), abs=0.01)
    for height in np.linspace(1.0, 170.0, 8):
        mine, its = done.edge("front.side").chain, other.edge("front.side").chain
        assert out_at(mine, height) == pytest.approx(out_at(its, height), abs=1e-6)


@pytest.mark.parametrize("nest", [bodice_nest, darted_nest, sleeve_nest, skirt_nest])
def test_a_whole_edge_in_the_other_size_is_its_edge(nest) -> None:  # type: ignore[no-untyped-def]
    garment = nest()
    for piece in garment.pieces:
        edges = [e.id for e in piece.edges if e.kind in ("side", "underarm")]
        passed = {"bust": "2", "waist": "2", "hip": "2", "hem": "2"}
        kinds = {line.kind for line in piece.lines}
        values = {k: v for k, v in passed.items() if k == "hem" or LineKind(f"{k} line") in kinds}
        values = {"bust": "drawn over", "hip": "drawn over"} | values
        targets = tuple(Target(piece.id, edge=one) for one in edges)
        alone = replace(garment, seams=())
        redrawn = drafted(alone, blend(*targets, **values)).redrawn.piece(piece.id)
        other = piece_in(garment, "2", piece.id)
        for one in edges:
            mine, its = redrawn.edge(one), other.edge(one)
            assert mine.length == pytest.approx(its.length, abs=0.6), "heights are those of size 1"
            for end in ("start", "end"):
                assert getattr(mine, end)[0] == pytest.approx(getattr(its, end)[0], abs=0.5)


def test_marks_and_levels_go_with_the_seam() -> None:
    done = drafted(TABARD, blend(hip="18"))
    for piece in done.redrawn.pieces:
        traced = TABARD.piece(piece.id)
        notch, was = piece.notches[0], traced.notches[0]
        assert piece.point_at(notch.place)[1] == pytest.approx(traced.point_at(was.place)[1], abs=1e-6)
        for line, old in zip(piece.lines, traced.lines, strict=True):
            if line.kind in (LineKind.BUST, LineKind.WAIST, LineKind.HIP):
                side = piece.edge(f"{piece.id}.side").chain
                assert side.nearest(line.chain.end)[1] < 1e-3
                assert line.chain.end[1] == pytest.approx(old.chain.end[1], abs=1e-6)
        assert piece.marks == traced.marks
    assert all(abs(n.first_at - n.second_at) < 0.01 for walk in done.after for n in walk.notches)


def test_a_marked_place_is_at_the_same_height_on_both_pieces() -> None:
    marked = Target("front", edge="front.side", across=(Address("front.side", "start", length=300.0),))
    redrawn = drafted(TABARD, blend(marked, place="18", hip="as it is")).redrawn
    front = TABARD.piece("front").edge("front.side").chain
    height = front.point(front.at_length(300.0))[1]
    for piece in ("front", "back"):
        own, other = (one.edge(f"{piece}.side").chain for one in
                      (TABARD.piece(piece), piece_in(TABARD, "18", piece)))  # fmt: skip
        side = redrawn.piece(piece).edge(f"{piece}.side").chain
        # The waist of size 18 is 3 mm higher than that of 14; the place lies at the same share of the way to it.
        assert out_at(side, height) == pytest.approx(out_at(other, 170 + (height - 170) * 208 / 205), abs=0.01)
        assert out_at(side, 170.0) == pytest.approx(out_at(own, 170.0), abs=0.01)


def test_a_sleeve_is_offered_the_size_of_the_armhole_it_is_sewn_to() -> None:
    from sample_pieces.draft import undershirt
    from tests.size_cases import wider

    shirt = replace(undershirt(), size="1")
    underarm = ("sleeve.front_underarm", "sleeve.back_underarm")
    sides = {"front": ("front.side",), "back": ("back.side",), "sleeve": underarm}
    larger = tuple(wider(p, sides.get(p.id, ()), bust=6.0) for p in shirt.pieces)
    from geometry.nests import nested

    nest = nested((shirt, replace(shirt, pieces=larger, size="2")), "1")
    step = take_step(nest, blend(SIDE, bust="2"))
    assert step.done and [offer.says for offer in step.offers] == [
        "Blend the underarm seam of “Sleeve” with it, as it is at the wrist"
    ]
    offer = step.offers[0]
    done = drafted(nest, blend(SIDE, bust="2"), Note("note-2", offer.alteration, offer.amounts, offer.targets))
    of_nest = {walk.seam: walk.difference_mm for walk in draft(in_size(nest, "2"), ()).before}
    assert done.redrawn.piece("sleeve").edge("sleeve.cap").length > nest.piece("sleeve").edge("sleeve.cap").length + 3
    for walk in done.after:
        assert walk.difference_mm == pytest.approx(of_nest[walk.seam], abs=0.3), "as true as the nest itself is"


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({"hip": "20"}, "is not drawn in size “20”; it is drawn in 10, 12, 14, 16, 18"),
        ({"place": "16"}, "Mark a place on “side seam” of “Front” first"),
    ],
)
def test_what_cannot_be_blended_is_said(values: dict[str, str], says: str) -> None:
    step = take_step(TABARD, blend(**values))
    assert not step.done and step.after is TABARD and says in step.findings[0].says


def test_a_garment_of_one_size_has_none_to_blend_with() -> None:
    from tests.canon import bodice

    step = take_step(bodice(), blend(Target("front", edge="side"), hip="2"))
    assert not step.done and "is drawn in one size only" in step.findings[0].says
    nest = bodice_nest()
    step = take_step(nest, blend(Target("front", edge="side"), hip="2"))
    assert not step.done and "does not pass the hip; leave the size there drawn over" in step.findings[0].says
    step = take_step(nest, blend(Target("front"), bust="2"))
    assert not step.done and "Say which edge is meant" in step.findings[0].says


def test_a_named_size_that_is_the_one_worked_in_changes_nothing() -> None:
    assert take_step(TABARD, blend(bust="14", hip="14")).after is TABARD
    worked = in_size(TABARD, "18")
    assert take_step(worked, blend(hip="18")).after is worked


@settings(max_examples=25)
@given(st.sampled_from(SIZES), st.sampled_from(SIZES), st.sampled_from(SIZES), st.sampled_from(["as it is", *SIZES]))
def test_blends_of_any_sizes_sew_together_and_lie_between_the_sizes(worked: str, bust: str, hip: str, hem: str) -> None:
    garment = in_size(TABARD, worked)
    done = drafted(garment, blend(bust=bust, hip=hip, hem=hem))
    assert max(abs(walk.difference_mm) for walk in done.after) < 0.01
    lowest, highest = (in_size(TABARD, size).piece("back").edge("back.side").chain for size in ("10", "18"))
    side = done.redrawn.piece("back").edge("back.side").chain
    for height in np.linspace(5.0, 540.0, 12):
        # Heights differ by up to 7 mm between the sizes, and the seam leans by less than half a right angle.
        assert out_at(lowest, height) - 4 < out_at(side, height) < out_at(highest, height) + 4


def test_a_fitting_note_before_it_stays_done() -> None:
    """The difference of the sizes is laid on the seam as the notes before left it: 5 mm in, then 12.7 mm out."""
    taken = find("take_in_or_let_out")
    first = Note("note-0", taken.name, taken.checked({"waist": 0.0, "hip": 5.0, "hem": 5.0}), (SIDE,))
    redrawn = drafted(TABARD, first, blend(hip="16")).redrawn.piece("front")
    assert half_width(redrawn, LineKind.HIP) == pytest.approx((38 * INCH + 76) / 4 - 5.0 + 12.7, abs=0.05)


def test_a_knit_nest_blends_as_well() -> None:
    knit = in_every_size(TABARD, lambda one: replace(one, knit=True))
    assert same(drafted(knit, blend(hip="18")).redrawn.pieces, drafted(TABARD, blend(hip="18")).redrawn.pieces, 0.0)
