"""SVG comes in: units, viewBox, transforms, use, nested svg, layers; curves within 0.01 mm of the draft."""

from __future__ import annotations

import math

import pytest
from svgelements import Point

import sample_pieces
from app.tracing.svg_shapes import plain_point
from geometry.errors import PatternError
from geometry.motions import STAY, Motion
from tests.drawing_files import TO_PAGE, drafted, found_in, front_path, off, only, outline, path_data, svg, traced

EXACT_MM = 0.01


def test_the_sample_tracing_is_the_draft() -> None:
    result = traced(sample_pieces.path("tracings/undershirt-front-back.svg").read_bytes())
    for name in ("front", "back"):
        piece = only(result, name).piece
        assert off(piece, outline(name)) < 0.0002
        assert [edge.kind for edge in piece.edges] == [edge.kind for edge in drafted(name).edges]
        assert [edge.length for edge in piece.edges] == pytest.approx([e.length for e in drafted(name).edges], abs=1e-3)
        assert piece.on_fold
    assert result.found.size_source == "the file's own size, 590 x 650 mm"


@pytest.mark.parametrize(
    ("head", "per_mm"),
    [
        ('width="600mm" height="700mm" viewBox="0 0 600 700"', 1.0),
        ('width="60cm" height="70cm" viewBox="0 0 6000 7000"', 10.0),
        # 25.4 mm to the inch exactly; 72 points and 6 picas to the inch (SVG 1.1, 4.2).
        ('width="25.4in" height="25.4in" viewBox="0 0 1000 1000"', 1000 / 645.16),
        ('width="720pt" height="720pt" viewBox="0 0 720 720"', 72 / 25.4),
        ('width="60pc" height="60pc" viewBox="-5 -7 500 500"', 500 / 254),
    ],
)
def test_true_units_are_taken_without_a_question(head: str, per_mm: float) -> None:
    motion = Motion(per_mm, 0.0, 0.0, -per_mm, 3.0, 620 * per_mm)
    result = traced(svg(front_path(motion), head))
    assert off(only(result, "front").piece, outline("front")) < EXACT_MM
    assert not [question for question in result.questions if question.key == "units"]


@pytest.mark.parametrize(
    ("head", "answer", "mm_per_unit"),
    [
        ('width="2400" height="2800"', "96dpi", 25.4 / 96),
        ('width="2400px" height="2800px" viewBox="0 0 2400 2800"', "96dpi", 25.4 / 96),
        ('width="1200px" height="1400px" viewBox="0 0 2400 2800"', "96dpi", 25.4 / 192),
        ('width="1800" height="2100"', "72dpi", 25.4 / 72),
        ('width="2100px" height="2400px"', "90dpi", 25.4 / 90),
        ('width="100%" height="100%" viewBox="0 0 600 700"', "mm", 1.0),
        ('viewBox="0 0 60 70"', "cm", 10.0),
    ],
)
def test_what_is_in_pixels_or_percent_is_asked_about_with_the_size_of_the_piece(
    head: str, answer: str, mm_per_unit: float
) -> None:
    motion = Motion(1 / mm_per_unit, 0.0, 0.0, -1 / mm_per_unit, 5.0, 700 / mm_per_unit)
    data = svg(front_path(motion), head)
    silent = traced(data)
    (question,) = [one for one in silent.questions if one.key == "units"]
    assert question.by_default and question.answer == ("mm" if "60 70" in head else "96dpi")
    says = next(choice.says for choice in question.choices if choice.value == answer)
    # The front is 248.5 mm wide (hem) and 610 mm high; 25.4 mm to the inch.
    assert "248.5 x 610.0 mm (9.78 x 24.02 in)" in says
    assert off(only(traced(data, {"units": answer}), "front").piece, outline("front")) < EXACT_MM


def test_files_of_an_old_editor_are_taken_at_90_to_the_inch_unless_answered() -> None:
    head = (
        'width="2100" height="2400" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
        'inkscape:version="0.48.4 r9939"'
    )
    motion = Motion(90 / 25.4, 0.0, 0.0, -90 / 25.4, 0.0, 2200.0)
    assert off(only(traced(svg(front_path(motion), head)), "front").piece, outline("front")) < EXACT_MM


def test_transforms_use_nested_svg_and_symbols_are_put_in_their_places() -> None:
    turned = "translate(300 340) rotate(30) scale(2 2)"
    half = Motion(0.5, 0.0, 0.0, -0.5, -60.0, 150.0)
    data = path_data(outline("front"), half)
    drawn = f'<path id="front" fill="none" stroke="#000" d="{data}"/>'
    by_transform = svg(f'<g transform="{turned}">{drawn}</g>')
    by_use = svg(f'<defs><g id="d">{drawn}</g></defs><use xlink:href="#d" transform="{turned}"/>')
    by_matrix = svg(
        f'<g transform="translate(300,340)"><g transform="rotate(30)"><g transform="matrix(2 0 0 2 0 0)">'
        f"{drawn}</g></g></g>"
    )
    by_svg = svg(
        f'<g transform="translate(300 340) rotate(30)"><svg x="-200" y="-200" width="400" height="400" '
        f'viewBox="-100 -100 200 200">{drawn}</svg></g>'
    )
    by_symbol = svg(
        f'<symbol id="s" viewBox="-100 -100 200 200">{drawn}</symbol><g transform="translate(300 340) '
        f'rotate(30)"><use href="#s" x="-200" y="-200" width="400" height="400"/></g>'
    )
    whole = half.then(Motion(2.0, 0.0, 0.0, 2.0)).then(_turn(30)).then(Motion(e=300.0, f=340.0))
    expected = outline("front").moved(whole.then(Motion(d=-1.0, f=700.0)))
    for file in (by_transform, by_use, by_matrix, by_svg, by_symbol):
        lines = found_in(file).lines
        assert len(lines) == 1 and lines[0].closed
        assert abs(lines[0].chain.cubics - expected.cubics).max() < 1e-6


def _turn(degrees: float) -> Motion:
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return Motion(cos, sin, -sin, cos)


def test_shapes_and_arcs_have_the_lengths_of_geometry() -> None:
    body = (
        '<rect id="a" x="10" y="10" width="100" height="50"/><circle id="b" cx="200" cy="60" r="42"/>'
        '<rect id="c" x="10" y="100" width="100" height="60" rx="10"/>'
        '<path id="d" d="M 200 200 a 60 60 0 0 1 60 60 l -60 0 z"/><path id="e" d="M300 300 q 50 -80 100 0 t 60 0 z"/>'
    )
    lengths = {line.name: line.chain.length for line in found_in(svg(body)).lines}
    assert lengths["a"] == pytest.approx(300.0, abs=1e-9)
    assert lengths["b"] == pytest.approx(2 * math.pi * 42, abs=1e-5)
    assert lengths["c"] == pytest.approx(2 * 80 + 2 * 40 + 2 * math.pi * 10, abs=1e-5)
    assert lengths["d"] == pytest.approx(120 + math.pi / 2 * 60, abs=1e-5)


def test_layers_are_told_and_hidden_ones_left_out_unless_asked_for() -> None:
    shown = f'<g id="front-layer">{front_path(TO_PAGE)}</g>'
    hidden = '<g id="old" style="display:none"><rect x="400" y="10" width="150" height="100"/></g>'
    unseen = '<rect x="400" y="300" width="150" height="100" visibility="hidden"/>'
    sheet = '<style>.off {display: none} /* x */</style><rect class="off" x="400" y="500" width="150" height="100"/>'
    data = svg(shown + hidden + unseen + sheet)
    result = traced(data)
    assert [one.piece.id for one in result.pieces] == ["front"]
    (question,) = [one for one in result.questions if one.key == "hidden"]
    assert question.answer == "leave out" and "3 hidden lines" in question.asks and "“old”" in question.asks
    assert len(traced(data, {"hidden": "read"}).pieces) == 4
    layers = svg(f'<g id="one">{front_path(TO_PAGE)}</g><g id="two"><rect x="400" y="10" width="150" height="99"/></g>')
    assert [one.piece.id for one in traced(layers, {"layers": "one"}).pieces] == ["front"]
    with pytest.raises(PatternError, match="no layer “three”"):
        traced(layers, {"layers": "three"})


def test_an_ordinary_doctype_and_plain_entities_are_read() -> None:
    doctype = '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
    assert traced(svg(front_path(TO_PAGE), more=doctype)).pieces
    entity = '<!DOCTYPE svg [<!ENTITY ink "#000000">]>'
    body = front_path(TO_PAGE).replace('stroke="black"', 'stroke="&ink;"')
    (line,) = found_in(svg(body, more=entity)).lines
    assert line.colour == "#000000"


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (svg('<image href="x.png" width="10" height="10"/>'), "only holds a picture"),
        (svg(""), "nothing is drawn"),
        (svg('<g id="a"><use href="#a"/></g>'), "used inside itself"),
        (svg('<use id="a" href="#a"/>'), "used inside itself"),
        (svg("<g>" * 70 + '<rect width="50" height="50"/>' + "</g>" * 70), "too deeply"),
        (svg('<path d="M 0 0 L 10 nan"/>'), "damaged"),
        (svg('<path d="M 0 0 L 1e300 5"/>'), "damaged"),
        (svg('<g transform="rotate(banana)"><rect width="50" height="50"/></g>'), "."),
        (b"<html><body/></html>", "no SVG"),
        (b"<svg", "damaged"),
        (b"", "empty"),
        (b"\xff\xd8\xff\xe0 a photo", "picture’s file is damaged"),
        (b"hello", "no SVG, DXF or PDF"),
    ],
)
def test_what_cannot_be_read_is_one_sentence(data: bytes, says: str) -> None:
    with pytest.raises(PatternError) as refused:
        traced(data)
    assert says in refused.value.says and refused.value.says.endswith(".") and "\n" not in refused.value.says


def test_entity_bombs_and_outside_references_are_refused_and_never_fetched() -> None:
    bomb = (
        '<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa">'
        + "".join(f'<!ENTITY {chr(98 + i)} "{f"&{chr(97 + i)};" * 10}">' for i in range(8))
        + "]>"
    )
    outside = '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
    for more in (bomb, outside):
        with pytest.raises(PatternError, match="not read"):
            traced(svg("<text>&i;&x;</text>", more=more))
    result = traced(svg(front_path(TO_PAGE) + '<use href="http://example.invalid/a.svg#b"/>'))
    assert [finding.code for finding in result.findings] == ["outside-left-out"]
    # Ten uses of ten uses of ten uses …: a million rectangles from a few lines.
    levels = "".join(f'<g id="g{i + 1}">' + f'<use href="#g{i}"/>' * 10 + "</g>" for i in range(6))
    with pytest.raises(PatternError, match="more than any pattern"):
        traced(svg(f'<defs><g id="g0"><rect width="50" height="50"/></g>{levels}</defs><use href="#g6"/>'))


def test_a_drawing_stretched_in_one_direction_is_a_finding() -> None:
    head = 'width="600mm" height="350mm" viewBox="0 0 600 700" preserveAspectRatio="none"'
    assert "size-uneven" in [one.code for one in traced(svg(front_path(TO_PAGE), head)).findings]
    assert STAY.stays


def test_a_point_of_which_one_number_is_missing_is_damage() -> None:
    """As the library gives it for a path whose numbers were cut away."""
    with pytest.raises(ValueError, match="damaged"):
        plain_point(Point(None, 28))
    assert plain_point(Point(3, 28)) == (3.0, 28.0)


@pytest.mark.parametrize(
    ("short", "long"),
    [
        # SVG 1.1, 8.3.6 and 8.3.7: after a curve of another kind the first handle is the point itself.
        ("C20 -60 60 -40 100 0T180 60 0 200", "C20 -60 60 -40 100 0Q100 0 180 60Q260 120 0 200"),
        ("Q60 -80 100 0S160 90 0 200", "Q60 -80 100 0C100 0 160 90 0 200"),
        ("Q60 -80 100 0T180 60 0 200", "Q60 -80 100 0Q140 80 180 60Q220 40 0 200"),
    ],
)
def test_a_short_form_takes_its_handle_only_from_a_curve_of_its_kind(short: str, long: str) -> None:
    head = 'width="400mm" height="400mm" viewBox="-100 -100 400 400"'
    pieces = [traced(svg(f'<path d="M0 0{data}z"/>', head)).pieces[0].piece for data in (short, long)]
    assert [edge.length for edge in pieces[0].edges] == pytest.approx([edge.length for edge in pieces[1].edges])


def test_a_transform_in_a_style_is_done_like_any_other() -> None:
    data = path_data(outline("front"), Motion(0.5, 0.0, 0.0, -0.5, 10.0, 320.0))
    drawn = f'<path id="front" fill="none" stroke="#000" d="{data}"/>'
    sheet = svg(f'<style>.twice {{ transform: scale(2) }}</style><g class="twice">{drawn}</g>')
    for whole in (sheet, svg(f'<g style="transform: translate(5px, 7px) scale(2)">{drawn}</g>')):
        assert off(only(traced(whole), "front").piece, outline("front")) < EXACT_MM


def test_a_drawing_that_is_used_in_another_size_has_that_size() -> None:
    data = path_data(outline("front"), Motion(0.1, 0.0, 0.0, -0.1, 2.0, 63.0))
    drawn = f'<svg id="d" width="6" height="6.5" viewBox="0 0 60 65"><path id="front" d="{data}"/></svg>'
    found = traced(svg(f'<defs>{drawn}</defs><use href="#d" width="600" height="650"/>'))
    assert off(only(found, "front").piece, outline("front")) < EXACT_MM


def test_what_cannot_be_seen_is_asked_about_as_hidden() -> None:
    unseen = '<g opacity="0"><path id="old" d="M700 10h100v100h-100z"/></g>'
    result = traced(svg(front_path(TO_PAGE) + unseen))
    assert [one.piece.name for one in result.pieces] == ["Front"]
    assert [question.answer for question in result.questions if question.key == "hidden"] == ["leave out"]
