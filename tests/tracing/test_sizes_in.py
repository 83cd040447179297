"""Several sizes in one file come in as a nest: every size of the drafted tabard, whatever the file; and odd ones."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
import shapely

from app.command_line import main
from app.documents import Document
from app.files.garment_file import open_file, save_file
from app.tracing.found import Found, FoundLine, FoundPoint, FoundWords
from app.tracing.gathering import garment_of, nest_findings
from app.tracing.questions import Answers
from app.tracing.tracing import Traced, trace
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.lines import Chain, flatten, polyline, straight
from geometry.motions import Motion, Point, turn
from geometry.nests import in_size, size_names
from geometry.pieces import LineKind, Piece
from geometry.pipeline import draft
from tests import nest_files
from tests.drawing_files import off, traced

NEST = nest_files.NEST
#: The edges of the drafted pieces and of the traced ones, from the hem round.
EDGES = ("hem", "side-seam", "armhole", "shoulder-seam", "neckline", "fold")
NAMES = {"size-names": "10,12,14,16,18"}


def drafted(size: str, piece_id: str) -> Piece:
    return in_size(NEST, size).piece(piece_id)


def check_outlines(garment: Garment, bound: float) -> None:
    """Every edge of every size lies on its draft's, by shapely on points 3 mm close, where the draft's sizes lie to
    each other."""
    for size, pieces in garment.nest.items():
        for piece in pieces:
            original = drafted(size, piece.id)
            assert [edge.id for edge in piece.edges] == [f"{piece.id}.{name}" for name in EDGES]
            assert [edge.kind for edge in piece.edges] == [edge.kind for edge in original.edges]
            for mine, its in zip(piece.edges, original.edges, strict=True):
                assert mine.length == pytest.approx(its.length, abs=2 * bound)
                assert math.dist(mine.start, its.start) < bound
                for one, other in ((mine.chain, its.chain), (its.chain, mine.chain)):
                    points = one.points(np.linspace(0.0, len(one), round(one.length / 3) + 2))
                    line = shapely.LineString(flatten(other, 0.0005)[0])
                    assert shapely.distance(shapely.points(points), line).max() < bound


@pytest.mark.parametrize(
    ("data", "bound", "names"),
    [
        (nest_files.svg_layers, 0.01, {}),
        (nest_files.svg_unnamed, 0.01, NAMES),
        (lambda: nest_files.dxf(named=True), 0.01, {}),
        (lambda: nest_files.dxf(named=False), 0.01, NAMES),
        (lambda: nest_files.pdf(named=True), 0.02, {}),
        (lambda: nest_files.pdf(named=False), 0.02, NAMES),
    ],
    ids=["svg layers", "svg unnamed", "dxf layers", "dxf unnamed", "pdf layers", "pdf unnamed"],
)
def test_every_size_of_the_drafted_nest_comes_back(data, bound: float, names: Answers) -> None:  # type: ignore[no-untyped-def]
    answers = {"size": "14", **names}
    if names:
        # Without lettering front and back are told apart by their necklines.
        answers |= {"name:1": "Front", "name:2": "Back"}
    result = traced(data(), answers)
    garment = garment_of([result], "Tabard")
    assert size_names(garment) == size_names(NEST) and garment.size == "14"
    check_outlines(garment, bound)
    assert [one.code for one in result.findings] == ["sizes-nested"]
    assert [seam.name for seam in garment.seams] == ["shoulder seam", "side seam"]


def test_marks_come_back_in_every_size() -> None:
    garment = garment_of([traced(nest_files.svg_layers(), {"size": "16"})], "Tabard")
    for size, pieces in garment.nest.items():
        for piece in pieces:
            original = drafted(size, piece.id)
            (notch,) = piece.notches
            assert math.dist(piece.point_at(notch.place), original.point_at(original.notches[0].place)) < 0.01
            marks = [one.point for one in piece.marks]
            assert np.allclose(marks, [one.point for one in original.marks], atol=0.01)
            for kind in (LineKind.GRAIN, LineKind.BUST, LineKind.WAIST, LineKind.HIP):
                line, its = piece.line(kind), original.line(kind)
                assert line is not None and its is not None
                assert math.dist(line.chain.start, its.chain.start) < 0.01


def test_a_traced_nest_is_worked_with_as_a_drafted_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The sizes are listed and changed, blended between and printed; the blend is the one on the drafted nest."""
    source, out = tmp_path / "tabard.svg", tmp_path / "tabard.garment.json"
    source.write_bytes(nest_files.svg_layers())
    assert main(["trace", str(source), "--size", "14", "--out", str(out), "--json"]) == 0
    values = json.loads(capsys.readouterr().out)
    assert values["size"] == "14" and values["sizes"] == ["10", "12", "14", "16", "18"]
    blend = ["blend-between-sizes", "--hip", "18", "--on"]
    assert main(["notes", "add", str(out), *blend, "front:front.side-seam"]) == 0
    original = tmp_path / "drafted.garment.json"
    assert main(["sizes", str(out), "--work-in", "12"]) == 0
    save_file(original, Document(in_size(NEST, "12"), ()))
    assert main(["notes", "add", str(original), *blend, "front:front.side"]) == 0
    ours, theirs = (open_file(path)[0] for path in (out, original))
    assert ours.garment.size == "12"
    redrawn = [draft(one.garment, one.notes).blended.garment for one in (ours, theirs)]
    for name in ("front", "back"):
        assert redrawn[0].piece(name).polygon.area > drafted("12", name).polygon.area + 1000
        assert off(redrawn[0].piece(name), nest_files.whole(redrawn[1].piece(name))) < 0.02
    capsys.readouterr()
    assert main(["print", str(out), "--nest", "--out", str(tmp_path / "pages.pdf"), "--json"]) == 0
    assert b"size 18" in (tmp_path / "pages.pdf").read_bytes()


def test_the_picked_size_alone_comes_in_where_the_others_are_left_out() -> None:
    result = traced(nest_files.svg_layers(marks=False), {"size": "12", "other-sizes": "leave out"})
    assert not result.nest and result.size == "12" and not result.findings
    assert garment_of([result], "Tabard").nest == {}
    (asked,) = [one for one in result.questions if one.key == "other-sizes"]
    assert "10, 14, 16 and 18" in asked.asks and [one.value for one in asked.choices] == ["bring in", "leave out"]


def test_names_of_sizes_are_as_many_as_there_are_sizes() -> None:
    data = nest_files.svg_unnamed()
    assert traced(data).size == "1" and list(traced(data).nest) == ["1", "2", "3", "4", "5"]
    assert traced(data, {**NAMES, "size": "2"}).size == "12"
    for words in ("10,12", "10,12,12,14,16", "10,12,,14,16", "n" * 40 + ",1,2,3,4"):
        with pytest.raises(PatternError, match=r"--size-names|The name of a size"):
            traced(data, {"size-names": words})


# -- sizes made by hand, one of them odd -------------------------------------------------------------------------------

#: A skirt front of 5 edges, fold on the left, with a pointed hip; sizes are wider by this (mm).
_GROWN = {"8": 0.0, "10": 10.0, "12": 22.0}


def skirt(size: str, *, corner: bool = True) -> list[Point]:
    wide = 240.0 + _GROWN[size]
    hip = [(wide, 500.0)] if corner else []
    return [(0.0, 0.0), (wide + 30.0, 0.0), *hip, (wide - 60.0, 700.0), (0.0, 700.0)]


def of_sizes(
    *lines: tuple[str, Chain], answers: Answers | None = None, points: tuple[FoundPoint, ...] = (), way: str = "svg"
) -> Traced:
    """A file with layers called after sizes; “” is for what belongs to all."""
    layered = tuple(FoundLine(one, layer=size, name="" if len(one) == 1 else "Skirt front") for size, one in lines)
    return trace(Found(way, layered, points=points), {"size": "10", **(answers or {})})


def ring(points: list[Point]) -> Chain:
    return polyline([*points, points[0]])


def said(result: Traced) -> dict[str, str]:
    return {one.code: one.says for one in result.findings}


def test_a_size_with_another_corner_is_left_out_and_said() -> None:
    """Size 12 was drawn without the corner at the hip, so it has an edge less; 8 and 10 come in."""
    shapes = [(size, ring(skirt(size, corner=size != "12"))) for size in _GROWN]
    result = of_sizes(*shapes, answers={"name:1": "Skirt front"})
    assert list(result.nest) == ["8", "10"]
    assert said(result)["size-left-out"] == (
        "Size 12 was left out: its “Skirt front” is not drawn as in size 10; it has 4 edges, not 5: no corner between "
        "side seam and waist."
    )


def test_a_size_that_lacks_a_piece_is_left_out_and_a_piece_of_its_own_is_said() -> None:
    shapes = [(size, ring(skirt(size))) for size in _GROWN]
    pocket = [(x + 500.0, y) for x, y in ((0.0, 0.0), (120.0, 0.0), (150.0, 160.0), (0.0, 150.0))]
    lacking = of_sizes(*shapes, ("8", ring(pocket)), ("10", ring(pocket)))
    assert list(lacking.nest) == ["8", "10"] and "Size 12 was left out: it has no “" in said(lacking)["size-left-out"]
    besides = of_sizes(*shapes, ("12", ring(pocket)))
    assert list(besides.nest) == ["8", "10", "12"]
    assert said(besides)["piece-of-one-size"].startswith("Size 12 also has “")
    # What stands on no size's layer is of every size.
    common = of_sizes(*shapes, ("all", ring(pocket)))
    assert list(common.nest) == ["8", "10", "12"] and [len(one) for one in common.nest.values()] == [2, 2, 2]


def test_marks_of_one_size_are_carried_to_the_others_or_left_out_and_said() -> None:
    """A notch 100 mm along a hem of 280 is at 100/280 of every hem; a level line right across is one in every size."""
    hip = straight((0.0, 500.0), (skirt("10")[2][0], 500.0))
    notch = straight((100.0, 0.0), (100.0, 5.0))
    shapes = [(size, ring(skirt(size))) for size in _GROWN]
    result = of_sizes(*shapes, ("10", notch), ("10", hip), ("12", straight((50.0, 700.0), (50.0, 695.0))))
    assert list(result.nest) == ["8", "10", "12"]
    assert "in sizes 8 and 12 has no" in said(result)["marks-carried"]
    assert "in size 12 has marks that size 10 has not (" in said(result)["marks-of-one-size"]
    for size, (piece,) in result.nest.items():
        (mark,) = piece.notches
        hem = skirt(size)[1][0]
        assert piece.point_at(mark.place) == pytest.approx((100.0 * hem / skirt("10")[1][0], 0.0), abs=1e-6)
        (line,) = piece.lines
        assert line.chain.start == pytest.approx((0.0, 500.0), abs=1e-6)
        assert line.chain.end == pytest.approx((skirt(size)[2][0], 500.0), abs=1e-6)


def test_a_nest_is_answered_once_for_all_sizes() -> None:
    """Laid on its side and wrong side up, traced on the cutting line: what is answered for one is done in all."""
    lying = turn(90.0, (0.0, 0.0))
    shapes = [(size, ring(skirt(size)).moved(lying)) for size in _GROWN]
    grains = [
        (size, FoundLine(straight((80.0, 100.0), (80.0, 600.0)).moved(lying), layer=size, name="grainline"))
        for size in _GROWN
    ]
    layered = (*(FoundLine(one, layer=size, name="Sash") for size, one in shapes), *(line for _, line in grains))
    answers = {"size": "10", "fold:1": "none", "up:1": "wrong side up", "line": "cutting line", "allowance": "10 mm"}
    result = trace(Found("svg", layered), answers)
    widths = []
    for (piece,) in result.nest.values():
        x0, y0, x1, y1 = piece.polygon.bounds
        # The hem of the skirt is its widest place; 10 mm go off both sides, where it leans 30 in 500 a little more.
        widths.append(x1 - x0)
        assert y1 - y0 == pytest.approx(680.0, abs=1e-6)
        assert piece.set_in is True and piece.name == "Sash"
    assert np.diff(widths) == pytest.approx([10.0, 12.0], abs=1e-6)
    # Turned over about the picked size's middle, all sizes keep their upright side on one line.
    uprights = [piece.polygon.bounds[2] for (piece,) in result.nest.values()]
    assert uprights == pytest.approx([uprights[0]] * 3, abs=1e-6)


def test_sizes_laid_side_by_side_are_found_by_their_names() -> None:
    shapes = [(size, ring(skirt(size)).moved(Motion(e=400.0 * k))) for k, size in enumerate(_GROWN)]
    result = of_sizes(*shapes)
    assert list(result.nest) == ["8", "10", "12"]
    assert [piece.polygon.bounds[0] for (piece,) in result.nest.values()] == pytest.approx([0.0] * 3, abs=1e-9)


@pytest.mark.parametrize(
    ("layer", "name"),
    [("Size {}", "front"), ("{} cutting line", "front"), ("front size {}", ""), ("", "front-{}"), ("", "{} Front")],
)
def test_sizes_stand_in_the_names_of_layers_or_lines(layer: str, name: str) -> None:
    lines = [
        FoundLine(ring(skirt(size)), closed=True, layer=layer.format(size), name=name.format(size)) for size in _GROWN
    ]
    result = trace(Found("svg", tuple(lines)), {"size": "12"})
    assert list(result.nest) == ["8", "10", "12"] and result.size == "12"
    assert [one.piece.name for one in result.pieces] == ["Front" if name else "Piece 1"]


@pytest.mark.parametrize(
    ("layers", "names"),
    [
        (("", "", ""), ("front 1", "front 2", "front 3")),
        (("", "", ""), ("path 10", "path 12", "path 14")),
        (("1", "2", "3"), ("", "", "")),
    ],
)
def test_numbers_of_pieces_are_no_sizes(layers: tuple[str, ...], names: tuple[str, ...]) -> None:
    """Side by side they are pieces; a number of one figure, or one that a drawing program gave, counts them."""
    lines = [
        FoundLine(ring(skirt("8")).moved(Motion(e=400.0 * k)), closed=True, layer=layers[k], name=names[k])
        for k in range(3)
    ]
    result = trace(Found("svg", tuple(lines)), {})
    assert len(result.pieces) == 3 and not result.nest and not result.size


def test_a_size_on_layers_of_no_size_is_one_of_its_own() -> None:
    """The size printed with the others' lines beside it, as our own pages with a nest have it."""
    words = (FoundWords("Size 10, cut 1", (80.0, 300.0), layer="lettering"),)
    lines = [
        FoundLine(ring(skirt(s)), closed=True, layer="" if s == "10" else f"size {s}", name="front") for s in _GROWN
    ]
    result = trace(Found("svg", tuple(lines), words=words), {})
    assert list(result.nest) == ["10", "8", "12"] and result.size == "10"
    assert [round(piece.edges[0].length) for (piece,) in result.nest.values()] == [280, 270, 292]


def test_our_own_pages_with_a_nest_come_back_in_every_size(tmp_path: Path) -> None:
    """They show both lines of the size they were printed in and the cutting lines of the others: from these the others
    are set in by the allowances that the one shows."""
    garment, pages = tmp_path / "tabard.garment.json", tmp_path / "pages.pdf"
    save_file(garment, Document(in_size(NEST, "14"), ()))
    assert main(["print", str(garment), "--nest", "--out", str(pages)]) == 0
    result = traced(pages.read_bytes())
    assert result.size == "14"
    check_outlines(garment_of([result], "Tabard"), 0.02)
    for piece in (one.piece for one in result.pieces):
        # The lines have no names in the pages; the words beside them call them.
        its = {line.kind: line for line in drafted("14", piece.id).lines}
        assert {line.kind for line in piece.lines} == its.keys()
        assert all(math.dist(line.chain.start, its[line.kind].chain.start) < 0.02 for line in piece.lines)
        assert [mark.kind for mark in piece.marks] == [mark.kind for mark in drafted("14", piece.id).marks]
    said = {one.code: one.says for one in result.findings}
    assert "Sizes 10, 12, 16 and 18 show their cutting line alone" in said["one-line-of-two"]
    # Worked in another size, the one that shows both is read by its cutting line as well.
    allowance = "15 mm, hem=32 mm, armhole=0 mm, neckline=0 mm"
    other = traced(pages.read_bytes(), {"size": "16", "line": "cutting line", "allowance": allowance})
    assert [piece.piece.name for piece in other.pieces] == ["Front", "Back"] and len(other.nest) == 5
    assert "Size 14 also shows its stitching line" in {one.code: one.says for one in other.findings}["one-line-of-two"]
    for size, pieces in other.nest.items():
        assert max(off(piece, nest_files.whole(drafted(size, piece.id))) for piece in pieces) < 0.02


@pytest.mark.parametrize("solid", ["8", "10", "12"])
def test_sizes_told_by_their_dashes_may_have_a_solid_one_that_holds_what_is_common(solid: str) -> None:
    dashes = {"8": (6.0, 3.0), "10": (1.0, 2.0), "12": (8.0, 2.0, 2.0, 2.0), solid: ()}
    lines = [FoundLine(ring(skirt(size)), closed=True, dash=dashes[size]) for size in _GROWN]
    grain = FoundLine(straight((80.0, 100.0), (80.0, 600.0)), name="grainline")
    answers = {"size-names": "8,10,12", "size": "10", "name:1": "Skirt front"}
    result = trace(Found("svg", (*lines, grain)), answers)
    assert [one.code for one in result.findings] == ["sizes-nested"]
    for size, (piece,) in result.nest.items():
        assert piece.edges[0].length == pytest.approx(270.0 + _GROWN[size])
        assert [line.kind for line in piece.lines] == [LineKind.GRAIN]


def test_a_stitching_line_in_each_size_is_no_size() -> None:
    """Two sizes, each a solid cutting line with a dashed stitching line 15 mm inside it, in colours of their own."""
    lines = []
    for size, colour in (("8", "#000000"), ("12", "#ff0000")):
        points = skirt(size)
        cutting = shapely.Polygon(points).buffer(15.0, join_style="mitre").exterior.coords[:-1]
        lines.append(FoundLine(ring(list(cutting)), closed=True, colour=colour))
        lines.append(FoundLine(ring(points), closed=True, colour=colour, dash=(5.0, 3.0)))
    result = trace(Found("svg", tuple(lines)), {"size-names": "8,12", "name:1": "Skirt front"})
    assert list(result.nest) == ["8", "12"] and [one.code for one in result.findings] == ["sizes-nested"]
    for size, (piece,) in result.nest.items():
        assert piece.polygon.area == pytest.approx(shapely.Polygon(skirt(size)).area)
        assert {edge.width for edge in piece.edges} - {None} == {15.0}


def test_a_corner_that_turns_less_in_one_size_is_the_same_corner() -> None:
    """What turns by more than 12 degrees at the hip is a corner; in size 8 it turns by a little less."""

    def shape(out: float) -> Chain:
        return ring([(0.0, 0.0), (240.0 + out, 0.0), (260.0 + out, 400.0), (240.0, 600.0), (0.0, 600.0)])

    shapes = [("8", shape(10.0)), ("10", shape(14.0)), ("12", shape(18.0))]
    turns = []
    for _, one in shapes:
        (ax, ay), (bx, by) = one.tangent(2.0, before=True), one.tangent(2.0)
        turns.append(math.degrees(math.asin(ax * by - ay * bx)))
    assert turns[0] < 12.0 < turns[1] < turns[2]
    assert list(of_sizes(*shapes).nest) == ["8", "10", "12"]


def test_blocks_of_an_exchange_that_lie_over_each_other_are_a_nest() -> None:
    """Layers from memory, as in the reader: 1 is the cutting boundary. Front and back of both sizes start at 0, 0."""
    lines, words = [], []
    for size in ("10", "12"):
        for name, high in (("Front", 0.0), ("Back", 40.0)):
            group = f"{name}-{size}"
            points = [(x, y + high if y > 600 else y) for x, y in skirt(size)]
            lines.append(FoundLine(ring(points), closed=True, layer="1", group=group))
            said_words = (f"Piece Name: Skirt {name}", f"Size: {size}")
            words += [FoundWords(one, (60.0, 300.0), layer="1", group=group) for one in said_words]
    result = trace(Found("dxf", tuple(lines), words=tuple(words)), {"size": "12"})
    assert list(result.nest) == ["10", "12"] and not [one for one in result.findings if one.code != "sizes-nested"]
    for size, pieces in result.nest.items():
        heights = [piece.polygon.bounds[3] for piece in pieces]
        assert [piece.name for piece in pieces] == ["Skirt Front", "Skirt Back"] and heights == [700.0, 740.0]
        assert [piece.edges[0].length for piece in pieces] == pytest.approx([270.0 + _GROWN[size]] * 2)


def test_two_files_of_several_sizes_make_a_nest_of_those_that_both_hold() -> None:
    front = of_sizes(*[(size, ring(skirt(size))) for size in _GROWN], answers={"name:1": "Skirt front"})
    back = of_sizes(*[(size, ring(skirt(size))) for size in ("10", "12")], answers={"name:1": "Skirt back"})
    belt = trace(Found("svg", (FoundLine(ring([(0, 0), (700, 0), (700, 60), (0, 60)]), name="Belt"),)), {})
    garment = garment_of([front, back, belt], "Skirt")
    assert size_names(garment) == ("10", "12") and garment.size == "10"
    codes = {one.code: one.says for one in nest_findings([front, back, belt])}
    assert "8" in codes["size-left-out"] and "“Belt”" in codes["same-in-every-size"]
    assert in_size(garment, "12").piece("belt").polygon.area == pytest.approx(42_000.0)


def test_an_option_that_nothing_asks_for_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source, out = tmp_path / "sash.svg", tmp_path / "sash.garment.json"
    source.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300">'
        '<path id="sash" d="M10 10 H210 V90 H10 Z" fill="none" stroke="black"/></svg>'
    )
    options = ["--size", "12", "--grid", "3x2", "--scan", "300", "--pages", "2", "--file-units", "cm"]
    assert main(["trace", str(source), "--out", str(out), *options, "--json"]) == 0
    told = [one["says"] for one in json.loads(capsys.readouterr().out)["findings"] if one["code"] == "not-asked"]
    assert len(told) == 5
    for option in ("--size “12”", "--grid “3x2”", "--scan “300”", "--pages “2”", "--file-units “cm”"):
        assert any(one.startswith(f"{option} was not taken: ") for one in told)
    assert main(["trace", str(source), "--out", str(out), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["findings"] == []


def test_thousands_of_outlines_inside_each_other_are_refused_in_a_sentence() -> None:
    """Hostile: each held against every other, 5,000 of them took more than a minute."""
    rings = "".join(
        f'<rect x="{i / 10}" y="{i / 10}" width="{900 - i / 5}" height="{900 - i / 5}" fill="none" stroke="#000"/>'
        for i in range(1200)
    )
    with pytest.raises(PatternError, match="1200 outlines, too many that may lie over each other"):
        traced(f'<svg xmlns="http://www.w3.org/2000/svg" width="90cm" viewBox="0 0 900 900">{rings}</svg>'.encode())
