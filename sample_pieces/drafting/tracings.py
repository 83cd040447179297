"""Front and back of the undershirt as a tracing: closed outlines and the lines on them, in mm, as SVG and DXF."""

from __future__ import annotations

import io

from geometry.garments import Garment
from geometry.lines import Chain, flatten, joined
from geometry.motions import slide
from geometry.pieces import Piece
from geometry.tolerances import FLATTEN_MM

#: The back lies this far to the right of the front, and both this far in from the corner of the sheet (mm).
BACK_ASIDE, MARGIN = 300.0, 20.0
SHEET_WIDTH, SHEET_HEIGHT = 590.0, 650.0
OUTLINE, LINES = "outline", "lines"


def traced_pieces(garment: Garment) -> tuple[tuple[Piece, Chain, tuple[tuple[str, Chain], ...]], ...]:
    """Front and back with their outlines and named lines where they lie on the sheet, y up."""
    laid = []
    for piece_id, aside in (("front", 0.0), ("back", BACK_ASIDE)):
        piece = garment.piece(piece_id)
        motion = slide(aside + MARGIN, MARGIN)
        outline = joined([edge.chain for edge in piece.edges]).moved(motion)
        laid.append((piece, outline, tuple((line.id, line.chain.moved(motion)) for line in piece.lines)))
    return tuple(laid)


def tracing_svg(garment: Garment) -> bytes:
    """True curves: one closed path a piece in the layer “outline”, one path a line in the layer “lines”."""
    import svgwrite

    from app.files.svg import path_data

    drawing = svgwrite.Drawing(
        size=(f"{SHEET_WIDTH:g}mm", f"{SHEET_HEIGHT:g}mm"),
        viewBox=f"0 0 {SHEET_WIDTH:g} {SHEET_HEIGHT:g}",
        debug=False,
    )
    look = {"fill": "none", "stroke": "black", "stroke_width": 0.5}
    outlines, lines = drawing.g(id=OUTLINE, **look), drawing.g(id=LINES, **look)
    for piece, outline, inner in traced_pieces(garment):
        outlines.add(drawing.path(d=path_data(outline, True, SHEET_HEIGHT), id=piece.id))
        for line_id, line in inner:
            lines.add(drawing.path(d=path_data(line, False, SHEET_HEIGHT), id=line_id))
    drawing.add(outlines)
    drawing.add(lines)
    text = io.StringIO()
    drawing.write(text, pretty=True, indent=1)
    return text.getvalue().encode("utf-8")


def tracing_dxf(garment: Garment) -> bytes:
    """R2000 in mm: one closed polyline a piece, within FLATTEN_MM of the curve; the lines in a layer of their own."""
    import ezdxf

    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        document = ezdxf.new("R2000")
        document.header["$INSUNITS"] = 4
        document.header["$MEASUREMENT"] = 1
        for layer in (OUTLINE, LINES):
            document.layers.add(layer.upper())
        space = document.modelspace()
        for _, outline, inner in traced_pieces(garment):
            points = [(round(float(x), 4), round(float(y), 4)) for x, y in flatten(outline, FLATTEN_MM)[0][:-1]]
            space.add_lwpolyline(points, close=True, dxfattribs={"layer": OUTLINE.upper()})
            for _, line in inner:
                space.add_line(line.start, line.end, dxfattribs={"layer": LINES.upper()})
        text = io.StringIO()
        document.write(text)
        return bytes(document.encode(text.getvalue()))
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before
