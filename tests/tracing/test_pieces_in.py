"""From outline to piece: corners, darts, notches, cutting lines, sides, parts, sizes and seams, whatever the file."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest

import sample_pieces
from app.command_line import main
from app.files.garment_file import open_file
from app.tracing.corner_finding import corners_of
from app.tracing.found import Found, FoundLine, FoundWords
from app.tracing.gathering import garment_of
from app.tracing.guarded import read_guarded
from app.tracing.line_fitting import edge_lines, off_line
from app.tracing.questions import Answers
from app.tracing.tracing import Traced, trace
from geometry.errors import PatternError
from geometry.lines import Chain, arc, joined, polyline
from geometry.pieces import EdgeKind, Layout, LineKind, MarkKind, Piece
from geometry.pipeline import draft
from tests.drawing_files import (
    TO_PAGE,
    drafted,
    front_path,
    off,
    only,
    outline,
    path_data,
    single_sheet_pdf,
    svg,
    traced,
)
from tests.drawing_files import undershirt as shirt

TRACINGS = ("tracings/undershirt-front-back.svg", "tracings/undershirt-front-back.dxf")


def of_lines(*lines: Chain, answers: Answers | None = None, way: str = "svg", error_mm: float = 0.0) -> Traced:
    found = Found(way, tuple(FoundLine(line, points=way == "photo") for line in lines), error_mm=error_mm)
    return trace(found, answers or {})


@pytest.mark.parametrize("step", [1.0, 3.0, 6.0])
def test_points_of_a_curve_make_no_corner_and_are_drawn_as_a_curve_again(step: float) -> None:
    """A sector of 90 degrees, R 120: the arc is 188.496 mm long and has no corner in it."""
    curve = arc((0.0, 0.0), 120.0, 0.0, 90.0)
    points = curve.points(curve.at_lengths(np.arange(0.0, curve.length, step)))
    line = polyline([(0.0, 0.0), *map(tuple, points.tolist()), (0.0, 120.0), (0.0, 0.0)])
    corners = corners_of(line)
    assert len(corners) == 3
    edges = edge_lines(line, corners, 0.0)
    longest = max(edges, key=lambda edge: edge.length)
    assert longest.length == pytest.approx(math.pi * 60, abs=0.01)
    assert off_line(longest, curve) < 0.01
    assert sorted(len(edge) for edge in edges)[:2] == [1, 1]


def test_a_files_curves_are_kept_as_they_are() -> None:
    line = arc((0.0, 0.0), 42.0, 0.0, 270.0)
    whole = joined([line, polyline([line.end, (0.0, 0.0), line.start])])
    edges = edge_lines(whole, corners_of(whole), 0.0)
    kept = max(edges, key=lambda edge: edge.length)
    assert np.array_equal(kept.cubics, line.cubics)


def test_a_circle_has_no_corner_and_still_becomes_a_piece() -> None:
    line = arc((0.0, 0.0), 42.0, 0.0, 360.0)
    assert corners_of(line) == []
    (one,) = of_lines(line).pieces
    assert sum(edge.length for edge in one.piece.edges) == pytest.approx(math.tau * 42, abs=2e-3)
    assert len(one.piece.edges) == 2


@pytest.mark.parametrize("noise", [0.1, 0.2])
def test_points_of_a_picture_are_smoothed_and_keep_their_corners(noise: float) -> None:
    """Points every mm, off by a bell curve of ``noise`` mm: six corners, as the draft has, and no other."""
    line = outline("front")
    chance = np.random.default_rng(7)
    points = line.points(line.at_lengths(np.arange(0.0, line.length, 1.0)))
    points += chance.normal(0.0, noise, points.shape)
    (one,) = of_lines(polyline([*points.tolist(), points[0].tolist()]), way="photo", error_mm=noise).pieces
    assert [edge.kind for edge in one.piece.edges] == [edge.kind for edge in drafted("front").edges]
    assert off(one.piece, line) < 8 * noise
    assert one.error_mm == noise


def test_a_cutting_line_is_set_in_by_the_allowances_that_are_said() -> None:
    cutting = draft(shirt(), ()).cut["front"].cutting
    assert cutting is not None
    data = svg(f'<path id="front" d="{path_data(cutting, TO_PAGE)}" fill="none" stroke="#000"/>')
    answers = {"line": "cutting line", "allowance": "6 mm,hem=22 mm"}
    piece = only(traced(data, answers), "front").piece
    assert piece.set_in and off(piece, outline("front")) < 0.02
    # Who says how wide the allowance is says that it is in the line.
    unsaid = only(traced(data, {"allowance": "6 mm,hem=22 mm"}), "front").piece
    assert off(unsaid, outline("front")) < 0.02
    with pytest.raises(PatternError, match="fish"):
        traced(data, {"allowance": "fish"})
    as_drawn = only(traced(data), "front")
    assert as_drawn.piece.set_in is None and off(as_drawn.piece, cutting) < 0.01
    assert "stitching line" in [one.answer for one in as_drawn.questions if one.by_default]
    with pytest.raises(PatternError, match="no edge “collar”"):
        traced(data, {**answers, "allowance": "6 mm,collar=3 mm"})


def test_lettering_that_states_the_allowance_sets_the_piece_in() -> None:
    square = polyline([(0, 0), (230, 0), (230, 430), (0, 430), (0, 0)])
    words = '<text x="60" y="300" font-size="12">1.5 cm seam allowance included</text>'
    data = svg(f'<path d="{path_data(square, TO_PAGE)}" fill="none" stroke="#000"/>{words}')
    (one,) = traced(data).pieces
    assert one.piece.polygon.area == pytest.approx(200 * 400, abs=1.0)


def test_darts_and_notches_in_the_outline_are_picked_up() -> None:
    """A skirt with a waist dart 24 wide and 100 deep, legs sqrt(12² + 100²), and a V notch 5 deep at the side."""
    up = [(0, 0), (250, 0), (250, 300), (245, 305), (250, 310), (250, 600)]
    line = polyline([*up, (150, 600), (138, 500), (126, 600), (0, 600), (0, 0)])
    (one,) = of_lines(line, answers={"name:1": "Skirt front"}).pieces
    piece = one.piece
    assert len(piece.edges) == 4 and len(piece.darts) == 1 and len(piece.notches) == 1
    (dart,) = piece.darts
    assert dart.sewn_point == pytest.approx((138, 500), abs=1e-6)
    waist = piece.edge(dart.edge)
    assert waist.length == pytest.approx(226.0, abs=1e-6)
    assert piece.point_at(piece.notches[0].place) == pytest.approx((250, 305), abs=1e-6)


def test_a_piece_that_is_wrong_side_up_is_turned_over() -> None:
    data = single_sheet_pdf()
    right = only(traced(data, {"fold:front": "none"}), "front").piece
    wrong = only(traced(data, {"fold:front": "none", "up:front": "wrong side up"}), "front").piece
    assert right.cutting[0].layout is Layout.PAIR
    assert np.abs(np.sort(wrong.outline[:, 0]) - np.sort(248.5 - right.outline[:, 0])).max() < 1e-4
    assert [edge.length for edge in wrong.edges[::-1]] == pytest.approx([edge.length for edge in right.edges])


def test_a_piece_in_two_parts_is_laid_together_on_its_match_line() -> None:
    """A strip of 500 x 100 cut at 200, the second part turned by 30 degrees and laid elsewhere."""
    first = polyline([(0, 0), (200, 0), (200, 100), (0, 100), (0, 0)])
    cos, sin = math.cos(math.radians(30)), math.sin(math.radians(30))
    corners = [(0, 0), (300, 0), (300, 100), (0, 100), (0, 0)]
    second = polyline([(400 + x * cos - y * sin, 300 + x * sin + y * cos) for x, y in corners])
    result = of_lines(first, second)
    by_area = {round(one.piece.polygon.area): one for one in result.pieces}
    small, large = by_area[20000], by_area[30000]
    match = []
    for part in (small, large):
        lengths = [edge.whole.length for edge in part.drawn.edges]
        match.append(next(i for i, length in enumerate(lengths) if abs(length - 100) < 1e-6))
    words = f"{small.piece.id}:{match[0] + 1}={large.piece.id}:{match[1] + 1}"
    (one,) = of_lines(first, second, answers={"join": words}).pieces
    assert one.piece.polygon.area == pytest.approx(50000, abs=0.01)
    assert len(one.piece.edges) == 4


def test_sizes_of_different_look_over_each_other_are_told_apart() -> None:
    body = front_path(TO_PAGE)
    grown = joined([edge.chain for edge in drafted("back").edges])
    body += f'<path id="front" d="{path_data(grown, TO_PAGE)}" fill="none" stroke="red"/>'
    result = traced(svg(body))
    (question,) = [one for one in result.questions if one.key == "size"]
    assert len(question.choices) == 2 and len(result.pieces) == 1


def test_a_frame_round_the_pieces_is_left_out_and_a_pocket_is_where_it_is_placed() -> None:
    frame = '<rect x="5" y="5" width="590" height="690" fill="none" stroke="#000"/>'
    pocket = '<rect x="100" y="400" width="80" height="90" fill="none" stroke="#000"/>'
    dot = '<circle cx="150" cy="300" r="2" fill="none" stroke="#000"/>'
    result = traced(svg(frame + front_path(TO_PAGE) + pocket + dot))
    assert [one.piece.id for one in result.pieces] == ["front"]
    assert "frame-left-out" in [one.code for one in result.findings]
    assert [line.kind.value for line in result.pieces[0].piece.lines] == ["placement line"]
    assert [mark.point for mark in result.pieces[0].piece.marks] == [pytest.approx((130, 380), abs=1e-4)]


def test_a_corner_at_the_fold_is_made_square_only_when_asked() -> None:
    line = polyline([(0, 0), (250, 4), (250, 600), (0, 600), (0, 0)])
    answers = {"name:1": "Skirt front", "fold:1": "4"}
    question = [one for one in of_lines(line, answers=answers).pieces[0].questions if one.key.startswith("square")]
    assert question[0].answer == "as drawn" and "0.9 degrees" in question[0].asks
    piece = of_lines(line, answers={**answers, "square:1": "square"}).pieces[0].piece
    hem = piece.edges_of(EdgeKind.HEM)[0]
    assert hem.start[1] == pytest.approx(hem.end[1], abs=1e-9)


@pytest.mark.parametrize("name", [*TRACINGS, "pdf"])
def test_each_way_in_ends_in_a_garment_that_passes_the_walk(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = tmp_path / "sheet.pdf"
    source.write_bytes(single_sheet_pdf())
    path = source if name == "pdf" else sample_pieces.path(name)
    out = tmp_path / "shirt.garment.json"
    assert main(["trace", str(path), "--out", str(out), "--json"]) == 0
    values = json.loads(capsys.readouterr().out)
    for row in values["pieces"]:
        original = drafted(row["id"])
        assert row["area_mm2"] == pytest.approx(original.polygon.area, abs=20)
        assert [edge["kind"] for edge in row["edges"]] == [edge.kind.value for edge in original.edges]
        lengths = [edge.length for edge in original.edges]
        assert [edge["length_mm"] for edge in row["edges"]] == pytest.approx(lengths, abs=0.02)
        assert row["size_source"] and row["stated_error_mm"] <= 0.02 and row["asked"]
    assert main(["walk", str(out), "--json"]) == 0
    report = json.loads(capsys.readouterr().out)
    assert {seam["name"]: seam["verdict"] for seam in report["seams"]} == {"shoulder seam": "true", "side seam": "true"}
    document, _ = open_file(out)
    assert not [finding for finding in draft(document.garment, ()).findings if finding.level.value == "fault"]


def test_a_folder_is_done_in_one_go_and_what_is_refused_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    (folder / "one.svg").write_bytes(svg(front_path(TO_PAGE)))
    (folder / "two.dxf").write_bytes(b"0\nSECTION\n")
    assert main(["trace", str(folder), "--out", str(tmp_path / "out"), "--json"]) == 0
    values = json.loads(capsys.readouterr().out)
    assert [Path(row["file"]).name for row in values["garments"]] == ["one.garment.json"]
    assert "ends in the middle" in values["refused"][0]["says"]
    assert sorted(one.name for one in (tmp_path / "out").iterdir()) == ["one.garment.json"]


def test_files_of_a_folder_that_are_called_alike_do_not_overwrite_each_other(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder, out = tmp_path / "in", tmp_path / "out"
    folder.mkdir()
    (folder / "Front.svg").write_bytes(svg(front_path(TO_PAGE)))
    (folder / "front.pdf").write_bytes(single_sheet_pdf())
    assert main(["trace", str(folder), str(folder / "Front.svg"), "--out", str(out), "--json"]) == 0
    files = [Path(row["file"]).name for row in json.loads(capsys.readouterr().out)["garments"]]
    assert sorted(files) == ["Front-svg-2.garment.json", "Front-svg.garment.json", "front-pdf.garment.json"]
    assert sorted(one.name for one in out.iterdir()) == sorted(files)


def test_more_pieces_than_any_garment_has_are_refused() -> None:
    squares = [
        polyline([(x, y), (x + 30.0, y), (x + 30.0, y + 30.0), (x, y + 30.0), (x, y)])
        for x in np.arange(0.0, 500.0, 50.0).tolist()
        for y in np.arange(0.0, 550.0, 50.0).tolist()
    ]
    with pytest.raises(PatternError, match="110 pieces were found, more than the 100 of any garment"):
        of_lines(*squares)


def test_reading_a_dxf_writes_nothing_anywhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("XDG_CACHE_HOME", raising=False)
    assert read_guarded(sample_pieces.path(TRACINGS[1]).read_bytes(), "shirt.dxf", {}).lines
    assert not list(tmp_path.iterdir())


def test_answers_that_fit_nothing_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = str(sample_pieces.path(TRACINGS[0]))
    out = str(tmp_path / "a.garment.json")
    for words, says in (
        (["--fold", "collar=none"], "no piece “collar”"),
        (["--up", "front=inside"], "no choice here"),
        (["--edge", "front:2=sideways"], "EDGE=KIND"),
        (["--only", "sleeve"], "no piece “sleeve”"),
        (["--gap", "3 ells"], "3 ells"),
        (["--join", "front=back"], "PIECE:EDGE=PIECE:EDGE"),
    ):
        assert main(["trace", path, "--out", out, *words]) == 2
        assert says in capsys.readouterr().err
    assert not Path(out).exists()


def test_two_files_come_into_one_garment_and_are_sewn_together() -> None:
    front = traced(svg(front_path(TO_PAGE)))
    back = traced(svg(f'<path id="back" d="{path_data(outline("back"), TO_PAGE)}" fill="none" stroke="#000"/>'))
    garment = garment_of([front, back], "Undershirt")
    assert [seam.name for seam in garment.seams] == ["shoulder seam", "side seam"]
    with pytest.raises(PatternError, match="Two files hold a piece “Front”"):
        garment_of([front, front], "Undershirt")


@pytest.mark.parametrize(
    ("words", "at", "kind"),
    [
        ("WAIST LINE", (90.0, 308.0), LineKind.WAIST),
        ("Lengthen or shorten here", (60.0, 292.0), LineKind.LENGTHEN),
        ("bust", (60.0, 303.0), LineKind.BUST),
        ("waist line", (60.0, 340.0), LineKind.OTHER),
        ("waist 71 cm", (60.0, 303.0), LineKind.OTHER),
        ("waistband", (60.0, 303.0), LineKind.OTHER),
    ],
)
def test_a_line_without_a_name_is_called_by_the_words_beside_it(
    words: str, at: tuple[float, float], kind: LineKind
) -> None:
    ring = polyline([(0.0, 0.0), (240.0, 0.0), (230.0, 600.0), (0.0, 600.0), (0.0, 0.0)])
    lines = (FoundLine(ring, closed=True), *(FoundLine(polyline([(0.0, y), (232.0, y)])) for y in (300.0, 420.0)))
    result = trace(Found("svg", lines, words=(FoundWords(words, at, height_mm=5.0),)), {})
    near, far = sorted(only_piece(result).lines, key=lambda line: line.chain.start[1])
    assert (near.kind, far.kind) == (kind, LineKind.OTHER)


def test_a_dot_is_the_bust_point_where_it_is_lettered_so() -> None:
    ring = polyline([(0.0, 0.0), (240.0, 0.0), (230.0, 600.0), (0.0, 600.0), (0.0, 0.0)])
    dots = [joined([arc(at, 3.0, 0.0, 180.0), arc(at, 3.0, 180.0, 360.0)]) for at in ((100.0, 450.0), (60.0, 100.0))]
    lines = (FoundLine(ring, closed=True), *(FoundLine(dot, closed=True) for dot in dots))
    result = trace(Found("svg", lines, words=(FoundWords("Bust point", (90.0, 441.0), height_mm=4.0),)), {})
    upper, lower = sorted(only_piece(result).marks, key=lambda mark: -mark.point[1])
    assert upper.kind is MarkKind.BUST_POINT and upper.point == pytest.approx((100.0, 450.0))
    assert lower.kind is MarkKind.DOT and lower.point == pytest.approx((60.0, 100.0))


def only_piece(result: Traced) -> Piece:
    (one,) = result.pieces
    return one.piece


def test_an_outline_that_became_no_piece_is_said() -> None:
    square = polyline([(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0), (0.0, 0.0)])
    gaping = polyline([(200.0, 0.0), (300.0, 0.0), (300.0, 100.0), (200.0, 100.0), (200.0, 2.0)])
    looped = polyline([(400.0, 0.0), (500.0, 0.0), (500.0, 100.0), (395.0, 100.0), (395.0, 90.0), (400.0, 0.0)])
    crossed = polyline([(400.0, 0.0), (500.0, 0.0), (500.0, 100.0), (390.0, 60.0), (450.0, 110.0), (400.0, 0.0)])
    assert not of_lines(square, looped).findings
    opened, crossing = of_lines(square, gaping).findings[0], of_lines(square, crossed).findings[0]
    assert (opened.code, crossing.code) == ("open-left-out", "crossing-left-out")
    assert "at (200, 2) mm" in opened.says
    # The line from (500, 100) to (390, 60) meets that from (450, 110) to (400, 0).
    assert "crosses itself at (435, 76) mm" in crossing.says
    with pytest.raises(PatternError, match=r"crosses itself at \(435, 76\) mm"):
        of_lines(crossed)
