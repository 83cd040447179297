"""Paper beyond a turn line mirrors the garment edge and follows every note."""

from __future__ import annotations

from dataclasses import replace

import pytest

from geometry.alterations import find
from geometry.garments import Garment
from geometry.grown_on import facings_followed
from geometry.lines import straight
from geometry.motions import mirror
from geometry.notes import Address, Note, Target
from geometry.pieces import EdgeKind, Finish, Line, LineKind, Piece
from geometry.pipeline import draft
from sample_pieces.draft import funnel_neck
from tests.canon import edge, level, piece


def flared_funnel() -> Piece:
    """A front on the fold whose funnel flares: its side leans 40 mm out over 80 mm up to the turn line at y = 500."""
    return piece(
        "funnel",
        edge("hem", EdgeKind.HEM, straight((0, 0), (200, 0))),
        edge("side", EdgeKind.SIDE, straight((200, 0), (200, 420))),
        edge("funnel", EdgeKind.SHOULDER, straight((200, 420), (160, 500))),
        edge("facing side", EdgeKind.SHOULDER, straight((160, 500), (185, 550))),
        edge("facing", EdgeKind.FACING, straight((185, 550), (0, 550)), finish=Finish.RAW),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 550), (0, 0)), finish=Finish.FOLD),
        lines=(
            Line("turn", "turn line", LineKind.TURN, straight((0, 500), (160, 500))),
            level("lengthen", LineKind.LENGTHEN, (0, 200), (200, 200)),
        ),
    )


def drafted(given: Piece, *notes: Note) -> tuple[Piece, list[str]]:
    made = draft(Garment("g", "g", (given,)), notes)
    assert all(step.done for step in made.followed.steps), [f.says for f in made.findings]
    return made.redrawn.piece(given.id), [f.code for f in made.findings]


def assert_mirrored(after: Piece, turn_id: str, facing_id: str, garment_id: str) -> None:
    turn = next(line for line in after.lines if line.id == turn_id)
    about = mirror(turn.chain.start, turn.chain.start_tangent)
    facing, garment = after.edge(facing_id).chain, after.edge(garment_id).chain
    for part in (0.0, 0.3, 0.7, 1.0):
        place = facing.point(facing.at_length(part * facing.length))
        assert garment.nearest(about.point(place))[1] < 1e-6


def test_a_note_that_leaves_the_mirror_image_alone_leaves_the_facing_alone() -> None:
    shorten = find("shorten_or_lengthen")
    note = Note("n", shorten.name, shorten.checked({"amount": 20.0}), (Target("funnel"),))
    after, codes = drafted(flared_funnel(), note)
    assert "grown-on-facing" not in codes
    assert_mirrored(after, "turn", "facing side", "funnel")


def test_a_tuck_below_the_turn_line_is_followed_by_the_facing() -> None:
    shorten = find("shorten_or_lengthen")
    target = Target("funnel", across=(Address("funnel", "start", share=0.5),))
    note = Note("n", shorten.name, shorten.checked({"amount": 20.0, "line": "line drawn across"}), (target,))
    after, codes = drafted(flared_funnel(), note)
    assert "grown-on-facing" in codes
    assert_mirrored(after, "turn", "facing side", "funnel")
    # The funnel's side is now 40 mm out over 60 mm up; mirrored, the facing leans the same way back.
    (x0, y0), (x1, y1) = after.edge("facing side").start, after.edge("facing side").end
    assert (x1 - x0) / (y1 - y0) == pytest.approx(40 / 60, abs=1e-6)
    assert after.edge("facing").start == after.edge("facing side").end


def test_the_funnel_neck_of_the_sample_keeps_its_mirror_when_its_seam_is_sewn_nearer() -> None:
    garment = funnel_neck()
    sew = find("sew_seam_at")
    target = Target("front", edge="front.shoulder", across=(Address("front.shoulder", "start", share=0.4),))
    note = Note("n", sew.name, sew.checked({"width": 9.0}), (target,))
    made = draft(garment, (note,))
    assert made.followed.steps[0].done, [f.says for f in made.findings]
    for name in ("front", "back"):
        assert_mirrored(made.redrawn.piece(name), f"{name}.turn", f"{name}.facing_side", f"{name}.shoulder")
    shoulders = next(w for w in made.after if w.seam == "shoulders")
    assert shoulders.verdict == "true"


def test_a_turn_line_whose_paper_was_no_mirror_image_is_left_as_traced() -> None:
    given = flared_funnel()
    other = tuple(
        replace(e, runs=(replace(e.runs[0], chain=straight((160, 500), (160, 550))),)) if e.id == "facing side"
        else replace(e, runs=(replace(e.runs[0], chain=straight((160, 550), (0, 550))),)) if e.id == "facing"
        else e
        for e in given.edges
    )  # fmt: skip
    straight_up = replace(given, edges=other)
    changed = replace(straight_up, name="changed")
    assert facings_followed(changed, straight_up) == (changed, ())
