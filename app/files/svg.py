"""Pieces on a sheet as SVG: size and viewBox in mm, a layer per role, true curves, no transforms."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator

from app.files.line_table import LineTable
from geometry.drawing import LOOKS, Look, Role, Stroke, Words
from geometry.letter_widths import advances_mm
from geometry.lines import Chain
from geometry.motions import Point
from geometry.sheets import Sheet, six_numbers
from geometry.thinning import thinned

FONT_FAMILY = "DejaVu Sans, Verdana, sans-serif"


def svg_bytes(sheet: Sheet, title: str = "", table: LineTable | None = None) -> bytes:
    """An SVG file of the sheet; with a ``table`` its lines are solid, as wide and in the colour that it says.

    Layers are groups with the role's name as label; inside, a group a piece carries the six numbers of the motion
    that laid it on the sheet (mm, y up) as ``data-laid``. y is turned over in the numbers alone. Curves
    are kept, and finely traced lines drawn in fewer segments (``geometry.thinning``).
    """
    import svgwrite

    size = (f"{_number(sheet.width)}mm", f"{_number(sheet.height)}mm")
    drawing = svgwrite.Drawing(
        size=size, viewBox=f"0 0 {_number(sheet.width)} {_number(sheet.height)}", profile="full", debug=False
    )
    drawing.attribs["xmlns:inkscape"] = "http://www.inkscape.org/namespaces/inkscape"
    if title:
        drawing.set_desc(title=title)
    for role in Role if table is None else table:
        layer = _layer(drawing, role, table)
        for one, piece_id in zip(sheet.placed, _xml_ids(sheet), strict=True):
            strokes = [stroke for stroke in one.there.strokes if stroke.role is role]
            parts = list(_strokes(drawing, sheet, strokes, f"{piece_id}.{layer['id']}"))
            parts += [_words(drawing, sheet, words) for words in one.there.words if words.role is role]
            if not parts:
                continue
            group = drawing.g(id=f"{layer['id']}.{piece_id}")
            group.attribs["data-piece"] = one.piece_id
            group.attribs["data-laid"] = " ".join(_number(value) for value in six_numbers(one.motion))
            for part in parts:
                group.add(part)
            layer.add(group)
        if layer.elements:
            drawing.add(layer)
    text = io.StringIO()
    drawing.write(text, pretty=True, indent=1)
    return text.getvalue().encode("utf-8")


def path_data(chain: Chain, closed: bool, height: float) -> str:
    """Path commands of a chain, absolute, y turned over within ``height`` mm; straight segments as L, others as C."""
    parts = [f"M {_pair(chain.start, height)}"]
    for index, (cubic, is_line) in enumerate(zip(chain.cubics, chain.straight, strict=True)):
        if is_line and closed and index == len(chain) - 1:
            break
        points = [(float(x), float(y)) for x, y in (cubic[3:] if is_line else cubic[1:])]
        parts.append(("L " if is_line else "C ") + " ".join(_pair(point, height) for point in points))
    return " ".join(parts) + (" Z" if closed else "")


def _layer(drawing, role: Role, table: LineTable | None):  # type: ignore[no-untyped-def]
    look = LOOKS[role] if table is None else Look(table[role].width_mm)
    shade = "#" + f"{round(look.grey * 255):02x}" * 3 if table is None else table[role].colour
    layer = drawing.g(id=_xml_id(role.value), fill="none", stroke=shade, stroke_width=_number(look.width))
    layer.attribs["inkscape:groupmode"] = "layer"
    layer.attribs["inkscape:label"] = role.value
    if look.dashes:
        layer.attribs["stroke-dasharray"] = " ".join(_number(dash) for dash in look.dashes)
    return layer


def _strokes(drawing, sheet: Sheet, strokes: list[Stroke], prefix: str) -> Iterator:  # type: ignore[no-untyped-def, type-arg]
    for index, stroke in enumerate(strokes, start=1):
        path = drawing.path(d=path_data(thinned(stroke.chain), stroke.closed, sheet.height), id=f"{prefix}.{index}")
        if stroke.name:
            path.attribs["inkscape:label"] = stroke.name
        yield path


def _words(drawing, sheet: Sheet, words: Words):  # type: ignore[no-untyped-def]
    """Lettering; a turned line has each letter set in its own place, as transforms are not used."""
    style = {
        "font_family": FONT_FAMILY,
        "font_size": _number(words.size_mm),
        "font_weight": "bold" if words.bold else "normal",
        "fill": "black",
        "stroke": "none",
    }
    x, y = words.base
    if not words.angle_deg:
        return drawing.text(words.words, insert=(_number(x), _number(sheet.height - y)), **style)
    cos, sin = math.cos(math.radians(words.angle_deg)), math.sin(math.radians(words.angle_deg))
    xs, ys, along = [], [], 0.0
    for advance in advances_mm(words.words, words.height_mm, bold=words.bold):
        xs.append(_number(x + along * cos))
        ys.append(_number(sheet.height - y - along * sin))
        along += advance
    text = drawing.text(words.words, **style)
    text.attribs["x"], text.attribs["y"] = " ".join(xs), " ".join(ys)
    text.attribs["rotate"] = _number(-words.angle_deg)
    return text


def _xml_ids(sheet: Sheet) -> list[str]:
    """An id for each piece that XML accepts, all different."""
    found: list[str] = []
    for one in sheet.placed:
        plain = _xml_id(one.piece_id)
        found.append(plain if plain not in found else f"{plain}.{len(found) + 1}")
    return found


def _xml_id(name: str) -> str:
    plain = re.sub(r"[^A-Za-z0-9._-]+", "-", name) or "piece"
    return plain if plain[0].isalpha() else f"p{plain}"


def _pair(point: Point, height: float) -> str:
    return f"{_number(point[0])} {_number(height - point[1])}"


def _number(value: float) -> str:
    """At most four decimals, no trailing zeros, no negative zero."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
