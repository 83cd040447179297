"""SVG read back by an independent reader: sizes in mm, outlines, layers, no transforms, the same bytes twice."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from functools import cache
from xml.etree import ElementTree

import numpy as np
import pytest
import svgelements

from app.files.svg import path_data, svg_bytes
from geometry.drawing import Placed, Recorder, Role, draw_piece, record
from geometry.lines import arc, flatten, joined, polyline, straight
from geometry.motions import Motion
from geometry.pieces import Run
from geometry.sheets import Sheet, beside
from tests import canon, drawn

SVG = "{http://www.w3.org/2000/svg}"
LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"
#: svgelements gives CSS pixels, 96 an inch (CSS Values and Units Level 3).
MM_PER_PX = 25.4 / 96


def root_of(data: bytes) -> ElementTree.Element:
    return ElementTree.fromstring(data)


def groups(data: bytes, role: Role) -> list[ElementTree.Element]:
    layers = [g for g in root_of(data).findall(f"{SVG}g") if g.get(LABEL) == role.value]
    return [group for layer in layers for group in layer.findall(f"{SVG}g")]


@cache
def parsed(data: bytes) -> dict[str, svgelements.Path]:
    """Paths by id as svgelements reads the file."""
    elements = svgelements.SVG.parse(io.BytesIO(data), reify=True).elements()
    return {element.id: element for element in elements if isinstance(element, svgelements.Path)}


def read_outline(data: bytes, path_id: str, height: float, motion: Motion) -> np.ndarray:
    """Points (m, 2) of a path as svgelements reads the file, in the piece's own frame."""
    t = np.arange(0, 1, 0.01)[:, None]
    parts: list[np.ndarray] = []
    for segment in parsed(data)[path_id].segments():
        if isinstance(segment, svgelements.CubicBezier):
            a, b, c, d = ((p.x, p.y) for p in (segment.start, segment.control1, segment.control2, segment.end))
            weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
            parts.append(sum(w * np.array(p) for w, p in zip(weights, (a, b, c, d))))
        elif not isinstance(segment, svgelements.Move):
            parts.append(np.array([(segment.start.x, segment.start.y)]))
    px = np.concatenate(parts) * MM_PER_PX
    return motion.undone().points(np.stack([px[:, 0], height - px[:, 1]], axis=1))


@pytest.mark.parametrize("index", range(4))
@pytest.mark.parametrize("role", [Role.STITCH, Role.CUT])
def test_outlines_read_back_within_two_hundredths(index: int, role: Role) -> None:
    """Both ways within 0.02 mm, read by svgelements (mm = px x 25.4 / 96)."""
    sheet = drawn.side_by_side()
    data, one = svg_bytes(sheet), sheet.placed[index]
    layer = role.value.replace(" ", "-")
    read = read_outline(data, f"{one.piece_id}.{layer}.1", sheet.height, one.motion)
    chain = next(stroke.chain for stroke in one.drawing.strokes if stroke.role is role)
    assert drawn.apart(read, flatten(chain, 0.002)[0][:-1]) < 0.02


def test_a_wrong_scale_would_be_seen() -> None:
    """The check above can fail: read as 90 units an inch, an outline is millimetres off."""
    sheet = drawn.side_by_side()
    one = sheet.placed[0]
    read = read_outline(svg_bytes(sheet), f"{one.piece_id}.stitching-line.1", sheet.height, one.motion) * 96 / 90
    assert drawn.apart(read, one.drawing.strokes[1].chain.flat[0][:-1]) > 5


def test_size_is_in_millimetres_and_the_view_box_too() -> None:
    sheet = drawn.side_by_side()
    root = root_of(svg_bytes(sheet, "Wardrobe room"))
    assert root.get("width") == f"{sheet.width:.4f}".rstrip("0").rstrip(".") + "mm"
    _, _, wide, high = (float(value) for value in root.get("viewBox", "").split())
    assert (wide, high) == pytest.approx((sheet.width, sheet.height), abs=1e-4)
    assert root.find(f"{SVG}title") is not None
    parsed = svgelements.SVG.parse(io.BytesIO(svg_bytes(sheet)), reify=True)
    assert parsed.width * MM_PER_PX == pytest.approx(sheet.width, abs=1e-3)


def test_a_layer_per_role_with_label_and_unique_ids() -> None:
    data = svg_bytes(drawn.side_by_side())
    root = root_of(data)
    used = {item.role.value for d in drawn.drawings() for item in (*d.strokes, *d.words)}
    assert {layer.get(LABEL) for layer in root.findall(f"{SVG}g")} == used
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    assert b"transform" not in data
    assert not re.search(rb"\d\.\d{5,}", data), "four decimals at most"
    dashes = {layer.get(LABEL): layer.get("stroke-dasharray") for layer in root.findall(f"{SVG}g")}
    assert dashes["cutting line"] is None and dashes["stitching line"]
    assert all(layer.get("fill") == "none" for layer in root.findall(f"{SVG}g"))


def test_segments_stay_few_along_every_edge() -> None:
    """At most one segment for each 10 mm of edge and four more, stitching and cutting line alike."""
    data = svg_bytes(drawn.side_by_side())
    for role in (Role.STITCH, Role.CUT):
        for group, cut in zip(groups(data, role), drawn.cuts()):
            count = sum(len(re.findall("[LC]", path.get("d", ""))) for path in group.findall(f"{SVG}path"))
            allowed = sum(int(edge.chain.length / 10) + 4 for edge in cut.piece.edges)
            assert 0 < count <= allowed


def test_a_finely_traced_piece_is_written_in_few_segments() -> None:
    front = canon.front()
    shares = np.arange(0, 1.0001, 1 / 256)
    chains = [polyline(e.chain.points(e.chain.at_lengths(shares * e.chain.length))) for e in front.edges]
    edges = tuple(replace(edge, runs=(Run(chain),)) for edge, chain in zip(front.edges, chains))
    traced = replace(front, edges=edges, notches=())
    sheet = beside([record(drawn.cut(traced))])
    (group,) = groups(svg_bytes(sheet), Role.STITCH)
    count = len(re.findall("[LC]", group[0].get("d", "")))
    assert count <= sum(int(edge.chain.length / 10) + 4 for edge in traced.edges)
    read = read_outline(svg_bytes(sheet), "front.stitching-line.1", sheet.height, sheet.placed[0].motion)
    assert drawn.apart(read, traced.outline) < 0.02


def test_curves_stay_curves() -> None:
    corner = joined([straight((0, 0), (30, 0)), arc((30, 10), 10, -90, 0), straight((40, 10), (0, 0))])
    data = path_data(corner, True, 100)
    assert data == "M 0 100 L 30 100 C 32.6522 100 35.1957 98.9464 37.0711 97.0711 C 38.9464 95.1957 40 92.6522 40 90 Z"


def test_lettering_is_kept_as_text_and_turned_letters_have_their_own_places() -> None:
    root = root_of(svg_bytes(drawn.side_by_side()))
    texts = list(root.iter(f"{SVG}text"))
    said = [text.text for text in texts]
    assert "Front" in said and "cut 1 on fold, self" in said
    turned = [text for text in texts if text.get("rotate")]
    assert turned
    for text in turned:
        assert len(text.get("x", "").split()) == len(text.get("y", "").split()) == len(text.text or "")


def test_before_lines_are_a_layer_of_their_own_when_asked_for() -> None:
    cut = drawn.cuts()[0]
    with_before = svg_bytes(beside([record(cut, before=canon.front())]))
    assert len(groups(with_before, Role.BEFORE)) == 1
    assert not groups(svg_bytes(beside([record(cut)])), Role.BEFORE)


def test_the_same_bytes_twice() -> None:
    recorder = Recorder()
    for cut in drawn.cuts():
        draw_piece(recorder, cut)
    assert svg_bytes(beside(recorder.drawings), "x") == svg_bytes(drawn.side_by_side(), "x")


def test_names_that_xml_does_not_take_are_made_plain() -> None:
    drawing = drawn.drawings()[3]
    odd = type(drawing)("1 & <piece>", "Pièce & <co>", drawing.strokes, drawing.words)
    root = root_of(svg_bytes(Sheet((Placed(odd), Placed(odd, Motion(e=400.0))), 900, 500)))
    pieces = {group.get("data-piece") for layer in root.findall(f"{SVG}g") for group in layer}
    assert pieces == {"1 & <piece>"}
    ids = [element.get("id", "") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids)) and all(re.fullmatch(r"[A-Za-z][\w.-]*", one) for one in ids)
