"""Laws that every alteration obeys, over every use of it on the canon."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
import shapely

from geometry.alterations import everything, find
from geometry.errors import PatternError
from geometry.following import follow, take_step
from geometry.garments import Garment
from geometry.notes import Note, Target
from geometry.pieces import Piece, RunKind
from geometry.pipeline import draft
from geometry.sameness import same
from tests.alteration_cases import CASES, Case, opposite
from tests.canon import MOTIONS, front, moved, sleeve

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
def test_edges_it_does_not_touch_keep_their_length_and_other_pieces_are_the_same_object(name: str) -> None:
    """Untouched: not drawn anew, not left in parts, and clear of all paper taken out or put in."""
    case = BY_NAME[name]
    step = take_step(case.garment, case.note())
    assert step.done
    for piece in case.garment.pieces:
        strips = [shapely.Polygon(s.outline).buffer(0.05) for s in step.strips if s.piece == piece.id]
        changed = shapely.union_all(strips)
        for edge in piece.edges:
            new = step.after.piece(piece.id).edge(edge.id)
            if edge.id in case.redrawn or new.disturbed or len(new.runs) != len(edge.runs):
                continue
            if shapely.LineString(edge.chain.flat[0]).disjoint(changed):
                assert new.length == pytest.approx(edge.length, abs=0.001), edge.id
    _check_untouched_pieces(case, step.after)


@pytest.mark.parametrize("name", BY_NAME)
def test_every_outline_stays_simple_and_anticlockwise_as_moved_and_as_redrawn(name: str) -> None:
    drafted = draft(BY_NAME[name].garment, (BY_NAME[name].note(),))
    for garment in (drafted.followed.garment, drafted.redrawn):
        for piece in garment.pieces:
            ring = shapely.LinearRing(piece.outline)
            assert ring.is_simple and ring.is_ccw


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
    for dart, other_dart in zip(first.darts, second.darts, strict=True):
        assert (dart.id, dart.edge) == (other_dart.id, other_dart.edge)
        assert dart.bust_point == pytest.approx(other_dart.bust_point, abs=1e-6)
        assert dart.sewn_point == pytest.approx(other_dart.sewn_point, abs=1e-6)
    assert same(first.inner_darts, second.inner_darts, 1e-6)
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


#: Shortened where the piece's own line or a straight one across lies, so that lengthening finds the same place again.
SHORTENED = [
    name
    for name, case in BY_NAME.items()
    if opposite(case) and all(target.across is None for target in case.targets)
]


@pytest.mark.parametrize("name", SHORTENED)
def test_shortening_and_then_lengthening_gives_back_corners_straight_edges_and_marks_outside_the_strip(
    name: str,
) -> None:
    case = BY_NAME[name]
    longer = opposite(case)
    assert longer is not None
    first = take_step(case.garment, case.note("note1"))
    second = take_step(first.after, longer.note("note2"))
    assert first.done and second.done
    for piece in case.garment.pieces:
        taken = [shapely.Polygon(strip.outline).buffer(1e-3) for strip in first.strips if strip.piece == piece.id]
        back = second.after.piece(piece.id)
        for edge in piece.edges:
            new = back.edge(edge.id)
            assert new.start == pytest.approx(edge.start, abs=1e-6)
            if edge.chain.is_straight:
                assert new.end == pytest.approx(edge.end, abs=1e-6)
                assert new.length == pytest.approx(edge.length, abs=1e-6)
        marks = [(mark.point, other.point) for mark, other in zip(piece.marks, back.marks, strict=True)]
        marks += [(piece.point_at(n.place), back.point_at(m.place)) for n, m in zip(piece.notches, back.notches)]
        outside = [(old, new) for old, new in marks if not any(strip.covers(shapely.Point(old)) for strip in taken)]
        assert outside or not marks
        for old, new in outside:
            assert new == pytest.approx(old, abs=1e-6)


def test_the_pairs_that_undo_each_other_are_among_the_uses() -> None:
    undone = {(case.alteration, case.values.get("way")) for case in CASES if case.undone_by is not None}
    undone |= {(case.alteration, "lengthen") for case in CASES if opposite(case)}
    for pair in (
        ("shorten_or_lengthen", "lengthen"),
        ("slash_and_spread", "overlap"),
        ("take_in_or_let_out", "let out"),
        ("full_or_small_bust", "small bust"),
    ):
        assert pair in undone


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
    assert same(followed.garment, done(case, case.note("note3")), 0.0)


def test_too_large_an_amount_is_not_done_and_the_largest_that_fits_is_named() -> None:
    case = BY_NAME["tuck two armholes"]
    step = take_step(case.garment, case.note(amount=60.0, height=150.0))
    assert not step.done and step.after is case.garment
    says = step.findings[0].says
    largest = float(says.rsplit("fits is ", 1)[1].split(" mm")[0])
    assert 15 < largest < 20
    assert take_step(case.garment, case.note(amount=largest, height=150.0)).done
    assert not take_step(case.garment, case.note(amount=largest + 1.0, height=150.0)).done


def test_a_mouth_that_loses_an_end_and_a_cap_too_flat_are_named_where_they_lie() -> None:
    darted, arm = front(with_dart=True), sleeve()
    [mouth] = [run.chain for edge in darted.edges for run in edge.runs if run.kind is RunKind.MOUTH]
    shorten, wider = find("shorten_or_lengthen"), find("upper_arm")
    with pytest.raises(PatternError, match="holds one end of the dart mouth") as swallowed:
        shorten.do(Garment("g", "g", (darted,)), shorten.checked({"amount": 100.0}), (Target("front"),), "note-1")
    assert swallowed.value.point == mouth.start
    with pytest.raises(PatternError, match="is too flat") as flat:
        wider.do(Garment("g", "g", (arm,)), wider.checked({"amount": 120.0}), (Target("sleeve"),), "note-1")
    assert flat.value.point is not None and arm.polygon.distance(shapely.points(flat.value.point)) < 0.01


def test_amounts_are_checked_when_read() -> None:
    shorten = find("shorten_or_lengthen")
    with pytest.raises(PatternError, match="no amount called"):
        shorten.checked({"amuont": 3})
    with pytest.raises(PatternError, match="goes from 0 mm to 300 mm"):
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
