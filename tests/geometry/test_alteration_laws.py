"""Laws that every alteration obeys, over every use of it on the canon."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from geometry.alterations import everything, find
from geometry.errors import PatternError
from geometry.following import follow, take_step
from geometry.garments import Garment
from geometry.notes import Note
from geometry.pieces import Piece
from geometry.sameness import same
from tests.alteration_cases import CASES, Case, opposite
from tests.canon import MOTIONS, moved

BY_NAME = {case.name: case for case in CASES}


def done(case: Case, note: Note | None = None, garment: Garment | None = None) -> Garment:
    step = take_step(garment or case.garment, note or case.note())
    assert step.done, [finding.says for finding in step.findings]
    return step.after


def test_every_alteration_has_a_use_here() -> None:
    assert {case.alteration for case in CASES} == {alteration.name for alteration in everything()}


@pytest.mark.parametrize("name", BY_NAME)
def test_an_amount_that_changes_nothing_returns_the_same_object(name: str) -> None:
    case = BY_NAME[name]
    assert done(case, case.none()) is case.garment


@pytest.mark.parametrize("name", BY_NAME)
def test_it_changes_something_and_loses_no_mark(name: str) -> None:
    case = BY_NAME[name]
    after = done(case)
    assert not same(after, case.garment)
    for piece in case.garment.pieces:
        new = after.piece(piece.id)
        for group in ("edges", "corners", "notches", "marks", "darts", "inner_darts", "lines"):
            kept = [one.id for one in getattr(new, group) if not one.id.startswith("note1.")]
            assert kept == [one.id for one in getattr(piece, group) if one.id not in case.gone]


@pytest.mark.parametrize("name", BY_NAME)
def test_edges_it_does_not_disturb_keep_their_length_and_other_pieces_are_the_same_object(name: str) -> None:
    case = BY_NAME[name]
    after = done(case)
    if case.alteration in ("sew_seam_at", "allowance_width") or "fill" in name:
        return _check_untouched_pieces(case, after)
    for piece in case.garment.pieces:
        for edge in piece.edges:
            new = after.piece(piece.id).edge(edge.id)
            if edge.id in case.redrawn or new.disturbed or len(new.runs) != len(edge.runs):
                continue
            if not edge.chain.is_straight:
                assert new.length == pytest.approx(edge.length, abs=0.001)
    return _check_untouched_pieces(case, after)


def _check_untouched_pieces(case: Case, after: Garment) -> None:
    touched = {target.piece for target in case.targets}
    for target in case.targets:
        if target.edge is not None:
            for seam in case.garment.seams_of(target.piece, target.edge):
                touched |= {ref.piece for ref in (*seam.first, *seam.second)}
    for piece in case.garment.pieces:
        if piece.id not in touched:
            assert after.piece(piece.id) is piece


@pytest.mark.parametrize("motion", MOTIONS)
@pytest.mark.parametrize("name", BY_NAME)
def test_moving_turning_and_mirroring_the_piece_commutes(name: str, motion: str) -> None:
    case, how = BY_NAME[name], MOTIONS[motion]

    def everywhere(garment: Garment) -> Garment:
        return replace(garment, pieces=tuple(moved(piece, how) for piece in garment.pieces), seams=())

    targets = case.note().targets
    if how.mirrors:
        targets = tuple(
            replace(t, across=tuple(replace(a, end="end" if a.end == "start" else "start") for a in t.across))
            if t.across
            else t
            for t in targets
        )
    seamless = replace(case.garment, seams=())
    first = everywhere(done(case, garment=seamless))
    second = done(case, replace(case.note(), targets=targets), everywhere(seamless))
    for piece in first.pieces:
        assert_same_place(piece, second.piece(piece.id))


def assert_same_place(first: Piece, second: Piece) -> None:
    """Same ids, and every run end, mark and line within 1e-6 mm."""
    for edge in first.edges:
        other = second.edge(edge.id)
        assert len(edge.runs) == len(other.runs)
        for a, b in zip(edge.runs, other.runs, strict=True):
            assert a.kind is b.kind
            for share in (0.0, 0.31, 0.5, 0.77, 1.0):
                pa, pb = (r.chain.point(r.chain.at_length(share * r.chain.length)) for r in (a, b))
                assert pa == pytest.approx(pb, abs=1e-6)
    for notch, match in zip(first.notches, second.notches, strict=True):
        assert first.point_at(notch.place) == pytest.approx(second.point_at(match.place), abs=1e-6)
    assert same(first.marks, second.marks, 1e-6)
    assert same(first.darts, second.darts, 1e-6) or any(d.fold_to for d in first.darts)
    for line, other_line in zip(first.lines, second.lines, strict=True):
        assert line.chain.start == pytest.approx(other_line.chain.start, abs=1e-6)
        assert line.chain.end == pytest.approx(other_line.chain.end, abs=1e-6)


@pytest.mark.parametrize("name", [name for name, case in BY_NAME.items() if opposite(case)])
def test_lengthening_and_then_shortening_at_the_same_line_gives_everything_back(name: str) -> None:
    case = BY_NAME[name]
    longer = opposite(case)
    assert longer is not None
    back = done(case, case.note("note2"), done(longer, longer.note("note1")))
    assert same(back, case.garment, 1e-6)


@pytest.mark.parametrize("name", [name for name, case in BY_NAME.items() if case.undone_by is not None])
def test_the_opposite_note_gives_everything_back(name: str) -> None:
    case = BY_NAME[name]
    back = done(case, case.note("note2", **(case.undone_by or {})), done(case))
    assert same(back, case.garment, 1e-6)


@pytest.mark.parametrize("name", BY_NAME)
def test_the_same_answer_to_the_byte(name: str) -> None:
    case = BY_NAME[name]
    assert same(done(case), done(case), 0.0)


@pytest.mark.parametrize("name", BY_NAME)
def test_a_note_that_is_off_or_cannot_be_done_leaves_the_garment_and_the_next_ones_go_on(name: str) -> None:
    case = BY_NAME[name]
    impossible = replace(case.note("note1"), targets=(replace(case.targets[0], piece="nowhere"),))
    followed = follow(case.garment, (replace(case.note("off"), on=False), impossible, case.note("note3")))
    assert [step.done for step in followed.steps] == [False, False, True]
    assert followed.steps[1].after is case.garment
    assert "nowhere" in followed.steps[1].findings[0].says
    assert same(followed.garment, done(case), 0.0) or "note1" != "note3"


def test_too_large_an_amount_is_not_done_and_the_largest_that_fits_is_named() -> None:
    case = BY_NAME["tuck two armholes"]
    step = take_step(case.garment, case.note(amount=60.0, height=150.0))
    assert not step.done and step.after is case.garment
    says = step.findings[0].says
    largest = float(says.rsplit("fits is ", 1)[1].split(" mm")[0])
    assert 15 < largest < 20
    assert take_step(case.garment, case.note(amount=largest, height=150.0)).done
    assert not take_step(case.garment, case.note(amount=largest + 1.0, height=150.0)).done


def test_amounts_are_checked_when_read() -> None:
    shorten = find("shorten_or_lengthen")
    with pytest.raises(PatternError, match="no amount called"):
        shorten.checked({"amuont": 3})
    with pytest.raises(PatternError, match="goes from 0 to 300"):
        shorten.checked({"amount": -3})
    with pytest.raises(PatternError, match="is a number"):
        shorten.checked({"amount": float("nan")})
    with pytest.raises(PatternError, match="is one of"):
        shorten.checked({"way": "stretch"})


@pytest.mark.parametrize("alteration", everything(), ids=lambda a: a.name)
def test_the_sentence_names_only_fields_and_every_amount_has_limits(alteration) -> None:  # type: ignore[no-untyped-def]
    import string

    named = {field for _, field, _, _ in string.Formatter().parse(alteration.sentence) if field}
    assert named <= set(alteration.fields()) | {"pieces", "blend"}
    assert alteration.examples and alteration.describes
    for field in alteration.fields().values():
        assert field.choices or (field.least < field.most and field.least <= field.default <= field.most)
    orders = [a.order for a in everything()]
    assert all(a < b for a, b in pairwise(orders))
