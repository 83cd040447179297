"""Corners set by hand on a traced outline and taken away: what becomes of the edges, their names, and the answers."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from app.command_line import main
from app.tracing.answering import kinds_answer
from app.tracing.corner_answers import corner_changes
from app.tracing.questions import Answers
from app.tracing.tracing import Traced, TracedPiece, trace
from geometry.errors import PatternError
from geometry.motions import Point
from geometry.pieces import EdgeKind
from tests import nest_files
from tests.drawing_files import drafted, found_in, only, svg, traced

SVG = Path(__file__).resolve().parents[2] / "sample_pieces" / "tracings" / "undershirt-front-back.svg"
#: The front begins at 20, 20 mm in its file; its shoulder ends at the neck 165 mm right and 610 mm above that.
NECK_POINT = 4
#: A body whose shoulder runs into its neckline with a turn of 10 degrees, which is no corner found by itself.
BLUNT = (
    '<path id="Front" d="M 20,680 H 270 V 400 Q 215,400 215,290 L 160,270 '
    'C 130,264.7 104,276 99,300 C 90,345 60,350 20,350 Z"/>'
)  # fmt: skip


def front(answers: Answers) -> TracedPiece:
    return only(traced(SVG.read_bytes(), answers), "front")


def corner(index: int) -> Point:
    one = front({})
    return one.lies.point(one.drawn.edges[index].whole.start)


def names(one: TracedPiece) -> list[str]:
    return [edge.name for edge in one.piece.edges]


def after(given: Answers, at: Point, *, wanted: bool) -> tuple[Answers, Traced]:
    """The answers with a corner more or less, as the window gives them, and what follows from them."""
    found = found_in(SVG.read_bytes())
    changes = corner_changes(trace(found, given), given, at, wanted=wanted)
    answers = {key: value for key, value in {**given, **changes}.items() if value is not None}
    return answers, trace(found, answers)


def test_a_corner_on_a_straight_edge_makes_two_of_it_and_moves_nothing() -> None:
    """At a vent in the side: both halves are side seam, and all lengths are those of the draft."""
    one = front({"corners-by-hand": "at 120.003,20.4\nat 247,220"})
    assert names(one) == ["hem", "hem 2", "side seam", "side seam 2", "armhole", "shoulder seam", "neckline", "fold"]
    whole = [edge.length for edge in drafted("front").edges]
    lengths = [edge.length for edge in one.piece.edges]
    assert lengths[0] == pytest.approx(100.003, abs=0.01)
    assert [lengths[0] + lengths[1], lengths[2] + lengths[3], *lengths[4:]] == pytest.approx(whole, abs=0.01)
    says = [finding.says for finding in one.findings if finding.code == "corner-set"]
    assert says == [
        "A corner was set by hand on “Front”, between hem and hem 2.",
        "A corner was set by hand on “Front”, between side seam and side seam 2.",
    ]


def test_a_corner_that_was_missed_is_found_near_the_click_and_the_edges_are_named_anew() -> None:
    """The neck point, where shoulder and neckline meet at 10 degrees, clicked 4 mm beside it."""
    before = only(traced(svg(BLUNT)), "front")
    assert len(before.piece.edges) == 5
    one = only(traced(svg(BLUNT), {"corners-by-hand": "at 156.4,431.8"}), "front")
    assert names(one)[:5] == ["hem", "side seam", "armhole", "shoulder seam", "neckline"]
    x, y = one.lies.point(one.drawn.edges[4].whole.start)
    assert (x, y) == pytest.approx((160.0, 430.0), abs=0.01), "the file's own node, 700 mm less 270 up"


def test_a_corner_set_and_taken_away_again_leaves_the_piece_as_it_was() -> None:
    plain = front({})
    for rows in ("at 120,20\nnot 121,21", "not {0},{1}\nat {0},{1}".format(*corner(NECK_POINT))):
        one = front({"corners-by-hand": rows})
        assert names(one) == names(plain) and not [f for f in one.findings if f.code.startswith("corner")]
        kept = zip(one.piece.edges, plain.piece.edges, strict=True)
        assert all(a.length == pytest.approx(b.length, abs=1e-6) for a, b in kept)


def test_answers_about_other_edges_stay_with_their_edges() -> None:
    """All confirmed, one edge called otherwise, allowances by name and by number; then a vent in the side seam."""
    given = {
        "edges:front": kinds_answer(front({})),
        "called:front": "4=yoke seam",
        "fold:front": "fold",
        "line:front": "cutting line",
        "allowance:front": "10 mm, hem=25 mm, 5=6 mm, side seam=15 mm",
    }
    answers, result = after(given, (247.0, 220.0), wanted=True)
    assert answers["called:front"] == "5=yoke seam" and answers["fold:front"] == "7"
    assert answers["allowance:front"] == "10 mm, hem=25 mm, 6=6 mm, 2=15 mm, 3=15 mm"
    one = only(result, "front")
    assert names(one) == ["hem", "side seam", "side seam 2", "armhole", "yoke seam", "neckline", "fold"]
    assert [edge.width for edge in one.piece.edges] == [25.0, 15.0, 15.0, 10.0, 10.0, 6.0, None]
    edges = next(each for each in one.questions if each.key == "edges:front")
    assert not edges.by_default, "both halves are what the edge was said to be"
    answers, result = after(answers, corner(NECK_POINT), wanted=False)
    assert names(only(result, "front"))[-1] == "fold" and answers["called:front"] == "5=yoke seam"


def test_beside_a_true_corner_the_edges_are_asked_about_again() -> None:
    found = found_in(svg(BLUNT))
    given = {"edges:front": kinds_answer(only(trace(found, {}), "front"), 2, EdgeKind.ARMHOLE)}
    changes = corner_changes(trace(found, given), given, (160.0, 430.0), wanted=True)
    answers = {key: value for key, value in {**given, **changes}.items() if value is not None}
    one = only(trace(found, answers), "front")
    assert next(each for each in one.questions if each.key == "edges:front").by_default
    assert names(one)[3:5] == ["shoulder seam", "neckline"]


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("at 120", "--corner-at “120” should be"),
        ("not a,b", "--no-corner “a,b” should be"),
        ("at 120,150", "no further than 15 mm"),
        ("not 120,20", "no corner within 15 mm"),
        ("at 21,20", "a corner there already"),
        ("at 1.2.3,4", "should be"),
    ],
)
def test_a_corner_that_cannot_be_is_said(row: str, says: str) -> None:
    with pytest.raises(PatternError, match=says):
        traced(SVG.read_bytes(), {"corners-by-hand": row})


def test_a_piece_keeps_two_corners() -> None:
    lens = svg('<path id="Patch" d="M 100,100 Q 200,300 300,100 Q 200,0 100,100 Z"/>')
    assert len(only(traced(lens), "patch").piece.edges) == 2
    with pytest.raises(PatternError, match="two corners left"):
        traced(lens, {"corners-by-hand": "not 100,600"})


def test_the_command_line_takes_them(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    out = tmp_path / "shirt.garment.json"
    x, y = corner(NECK_POINT)
    options = ["--corner-at", "120,20", "--no-corner", f"{x:.2f},{y:.2f}", "--edge", "front:6=neckline"]
    assert main(["trace", str(SVG), "--out", str(out), "--json", *options]) == 0
    values: dict[str, Any] = json.loads(capsys.readouterr().out)
    (piece,) = [one for one in values["pieces"] if one["id"] == "front"]
    assert len(piece["edges"]) == 6
    assert {one["code"] for one in piece["findings"]} >= {"corner-set", "corner-taken-away"}


def test_a_corner_is_set_in_every_size() -> None:
    """A vent at a third of the side of the picked size stands at a third of the side in every other."""
    found = found_in(nest_files.svg_layers())
    plain = trace(found, {})
    one = plain.pieces[0]
    side = one.drawn.edges[1].whole.moved(one.lies)
    x, y = side.point(side.at_length(side.length / 3))
    result = trace(found, {"corners-by-hand": f"at {x},{y}"})
    assert list(result.nest) == list(plain.nest) and len(result.nest) == 5
    for pieces, before in zip(result.nest.values(), plain.nest.values(), strict=True):
        whole = before[0].edges[1].length
        assert [edge.length for edge in pieces[0].edges[1:3]] == pytest.approx([whole / 3, 2 * whole / 3], abs=0.01)
