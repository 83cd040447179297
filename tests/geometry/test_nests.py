"""A nest of sizes: shared ids, the size worked in, and what is done to all of them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from geometry.errors import PatternError
from geometry.following import follow
from geometry.nests import alone, in_every_size, in_size, nested, other_sizes, piece_in, size_names
from geometry.notes import Note, Target
from geometry.pieces import Finish
from geometry.pipeline import draft
from geometry.sameness import same
from sample_pieces.draft import tabard
from sample_pieces.drafting.tabard import BUST_EASE, HIP_EASE, TABLE, WAIST_EASE
from tests.canon import bodice

TABARD = tabard()


def test_the_sizes_share_their_ids_and_stand_in_order() -> None:
    assert size_names(TABARD) == ("10", "12", "14", "16", "18") and TABARD.size == "14"
    for size in size_names(TABARD):
        for mine, other in zip(TABARD.pieces, in_size(TABARD, size).pieces, strict=True):
            for group in ("edges", "corners", "notches", "marks", "lines"):
                assert [one.id for one in getattr(mine, group)] == [one.id for one in getattr(other, group)]


def test_another_size_and_back_is_the_same_garment() -> None:
    back = in_size(in_size(TABARD, "18"), "14")
    assert same(back, TABARD, 0.0) and in_size(TABARD, "14") is TABARD
    assert [size for size, _ in other_sizes(TABARD, "front")] == ["10", "12", "16", "18"]
    assert piece_in(TABARD, "18", "front") is in_size(TABARD, "18").piece("front")


@pytest.mark.parametrize("size", list(TABLE))
def test_every_size_has_the_girths_of_the_table_with_its_ease_and_walks(size: str) -> None:
    """Bust, waist and hip in inches: published envelope table, misses; 25.4 mm each; a quarter on each half piece."""
    garment = in_size(TABARD, size)
    for piece in garment.pieces:
        for level, inches, ease in zip(
            ("bust", "waist", "hip"), TABLE[size], (BUST_EASE, WAIST_EASE, HIP_EASE), strict=True
        ):
            line = next(one for one in piece.lines if one.id == f"{piece.id}.{level}")
            assert line.chain.length == pytest.approx((inches * 25.4 + ease) / 4, abs=0.01)
    found = draft(garment, ())
    assert {walk.verdict for walk in found.before} == {"true"} and not found.findings


def test_a_size_that_is_not_drawn_is_refused_with_those_that_are() -> None:
    with pytest.raises(PatternError, match="not drawn in size “19”; it is drawn in 10, 12, 14, 16, 18"):
        in_size(TABARD, "19")
    with pytest.raises(PatternError, match="not drawn in size “12”; it is drawn in one without a name"):
        in_size(bodice(), "12")
    with pytest.raises(PatternError, match="no piece “sleeve” in size “12”"):
        piece_in(TABARD, "12", "sleeve")


def test_what_is_done_in_every_size_keeps_the_nest_together() -> None:
    def narrower(one):  # type: ignore[no-untyped-def]
        return replace(one, widths={**one.widths, Finish.SEAM: 10.0})

    changed = in_every_size(TABARD, narrower)
    assert changed.size == "14" and size_names(changed) == size_names(TABARD)
    assert all(in_size(changed, size).widths[Finish.SEAM] == 10.0 for size in TABLE)
    assert in_every_size(bodice(), narrower).widths[Finish.SEAM] == 10.0


def test_sizes_of_different_garments_are_no_nest() -> None:
    front = TABARD.pieces[0]
    renamed = replace(TABARD, pieces=(replace(front, name="Fore"), TABARD.pieces[1]), size="20", nest={})
    with pytest.raises(PatternError, match="Size “20” of “Tabard” does not share everything but its lines"):
        nested((TABARD, renamed), "14")


def test_notes_hold_no_geometry_so_they_are_done_in_every_size() -> None:
    from geometry.alterations import find

    shorten = find("shorten_or_lengthen")
    note = Note("note-1", shorten.name, shorten.checked({"amount": 20.0}), (Target("front"), Target("back")))
    for size in TABLE:
        garment = in_size(TABARD, size)
        followed = follow(garment, (note,))
        assert followed.steps[0].done and followed.garment.nest is garment.nest
        fold = [one.piece("front").edge("front.fold").length for one in (garment, followed.garment)]
        assert fold[0] - fold[1] == pytest.approx(20.0, abs=1e-6)


def test_redrawn_pieces_stand_alone() -> None:
    assert size_names(alone(TABARD)) == ("14",) and alone(bodice()).nest == {}
