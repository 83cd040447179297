"""The tabard's nest of five sizes drawn in several ways, to be traced back: a layer a size, or lines that name none."""

from __future__ import annotations

import io

import ezdxf
import pikepdf

from geometry.garments import Garment
from geometry.lines import Chain, flatten, joined, straight
from geometry.motions import Motion
from geometry.nests import pieces_in
from geometry.pieces import LineKind, MarkKind, Piece
from sample_pieces.drafting.tabard import tabard
from tests.drawing_files import MM, path_data, svg

#: Where front and back lie on the sheet (mm); every size lies fold on fold and hem on hem.
ACROSS = {"front": 50.0, "back": 450.0}
WIDE, HIGH = 800.0, 900.0
_HEAD = f'width="{WIDE:g}mm" height="{HIGH:g}mm" viewBox="0 0 {WIDE:g} {HIGH:g}"'
_LAYER = 'xmlns:i="http://www.inkscape.org/namespaces/inkscape" i:groupmode="layer"'
NEST: Garment = tabard()


def whole(piece: Piece) -> Chain:
    return joined([edge.chain for edge in piece.edges])


def notch_line(piece: Piece) -> Chain:
    """Its first notch, 5 mm into the piece: the notches stand in side seams on the right."""
    x, y = piece.point_at(piece.notches[0].place)
    return straight((x, y), (x - 5.0, y))


def svg_layers(*, marks: bool = True) -> bytes:
    """A layer a size, with what is marked on the pieces in each."""
    parts = []
    for size in NEST.nest:
        body = "".join(_svg_piece(piece, marks=marks) for piece in pieces_in(NEST, size))
        parts.append(f'<g {_LAYER} i:label="Size {size}" fill="none" stroke="black">{body}</g>')
    return svg("".join(parts), _HEAD)


def _svg_piece(piece: Piece, *, marks: bool) -> str:
    page = _page(piece)
    body = f'<path id="{piece.id}" d="{path_data(whole(piece), page)}"/>'
    if not marks:
        return body
    body += _path("notch", notch_line(piece), page)
    body += "".join(
        _path(line.kind.value, line.chain, page) for line in piece.lines if line.kind is not LineKind.LENGTHEN
    )
    for mark in piece.marks:
        assert mark.kind is MarkKind.BUST_POINT
        x, y = page.point(mark.point)
        body += f'<circle id="bust point" cx="{x!r}" cy="{y!r}" r="2"/>'
    return body


def svg_unnamed() -> bytes:
    """Every outline in one look and without a name, the sizes in no order."""
    sizes = ("14", "18", "10", "16", "12")
    paths = [_path("", whole(piece), _page(piece)) for size in sizes for piece in pieces_in(NEST, size)]
    return svg(f'<g fill="none" stroke="black">{"".join(paths)}</g>', _HEAD)


def _path(name: str, line: Chain, page: Motion) -> str:
    data = path_data(line, page, closed=line.start == line.end)
    return f'<path id="{name}" d="{data}"/>' if name else f'<path d="{data}"/>'


def _page(piece: Piece) -> Motion:
    return Motion(1.0, 0.0, 0.0, -1.0, ACROSS[piece.id], HIGH - 50.0)


def dxf(*, named: bool) -> bytes:
    """Each outline as points 0.002 mm off its curves, and a notch on it; on a layer a size, or all on one."""
    document = ezdxf.new("R2000")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    for size in NEST.nest:
        layer = {"layer": f"SIZE_{size}" if named else "0"}
        for piece in pieces_in(NEST, size):
            dx = ACROSS[piece.id]
            points = [(x + dx, y) for x, y in flatten(whole(piece), 0.002)[0][:-1].tolist()]
            space.add_lwpolyline(points, close=True, dxfattribs=layer)
            if named:
                line = notch_line(piece)
                (x0, y0), (x1, y1) = line.start, line.end
                space.add_line((x0 + dx, y0), (x1 + dx, y1), dxfattribs=layer)
    text = io.StringIO()
    document.write(text)
    return document.encode(text.getvalue())


def pdf(*, named: bool) -> bytes:
    """One large sheet; a layer a size, each with a notch on the pieces, or lines that name no size."""
    from reportlab.pdfgen.canvas import Canvas

    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=(WIDE * MM, HIGH * MM), invariant=1, pageCompression=0)
    for size in NEST.nest:
        if named:
            canvas._code.append(f"/OC /S{size} BDC")
        for piece in pieces_in(NEST, size):
            _pdf_line(canvas, whole(piece), ACROSS[piece.id])
            if named:
                _pdf_line(canvas, notch_line(piece), ACROSS[piece.id])
        if named:
            canvas._code.append("EMC")
    canvas.save()
    if not named:
        return stream.getvalue()
    with pikepdf.open(io.BytesIO(stream.getvalue())) as file:
        groups = {
            size: file.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name=f"Size {size}"))
            for size in NEST.nest
        }
        every = pikepdf.Array(list(groups.values()))
        file.Root["/OCProperties"] = pikepdf.Dictionary(OCGs=every, D=pikepdf.Dictionary())
        properties = pikepdf.Dictionary({f"/S{size}": group for size, group in groups.items()})
        file.pages[0].obj["/Resources"]["/Properties"] = properties
        out = io.BytesIO()
        file.save(out)
    return out.getvalue()


def _pdf_line(canvas, line: Chain, dx: float) -> None:  # type: ignore[no-untyped-def]
    path = canvas.beginPath()
    for index, (cubic, is_straight) in enumerate(zip(line.cubics, line.straight, strict=True)):
        points = [((float(x) + dx) * MM, (float(y) + 50.0) * MM) for x, y in cubic]
        if index == 0:
            path.moveTo(*points[0])
        if is_straight:
            path.lineTo(*points[3])
        else:
            path.curveTo(*points[1], *points[2], *points[3])
    if line.start == line.end:
        path.close()
    canvas.drawPath(path, stroke=1, fill=0)
