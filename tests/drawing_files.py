"""Drawings of the undershirt's front and back made in several ways, to be traced; and what they must agree with."""

from __future__ import annotations

import io
import math

import numpy as np
import shapely

from app.tracing.found import Found
from app.tracing.questions import Answers
from app.tracing.reading import read_found
from app.tracing.tracing import Traced, TracedPiece, trace
from geometry.lines import Chain, joined
from geometry.motions import Motion
from geometry.pieces import Piece
from sample_pieces.drafting.undershirt import undershirt

MM = 72 / 25.4
SVG = "http://www.w3.org/2000/svg"


def drafted(name: str) -> Piece:
    """The front or back as it was drafted, which the tracing must agree with."""
    return undershirt().piece(name)


def outline(name: str) -> Chain:
    return joined([edge.chain for edge in drafted(name).edges])


def traced(data: bytes, answers: Answers | None = None, name: str = "drawing") -> Traced:
    found = read_found(data, name, answers or {})
    return trace(found, answers or {})


def found_in(data: bytes, answers: Answers | None = None) -> Found:
    return read_found(data, "drawing", answers or {})


def only(result: Traced, piece_id: str) -> TracedPiece:
    return next(one for one in result.pieces if one.piece.id == piece_id)


def off(piece: Piece, original: Chain) -> float:
    """How far (mm) the outline of a piece and a closed line stray from each other, their lower left corners laid
    together; measured by shapely on points 0.25 mm close, which lie within 0.0002 mm of a bend of 42 mm radius."""
    rings = []
    for line in (joined([edge.chain for edge in piece.edges]), original):
        lengths = np.unique(np.concatenate([np.arange(0.0, line.length, 0.25), line.segment_lengths.cumsum()[:-1]]))
        points = line.points(line.at_lengths(lengths))
        rings.append(points - points.min(axis=0))
    a, b = rings
    pairs = ((a[::8], shapely.LinearRing(b)), (b[::8], shapely.LinearRing(a)))
    return max(float(shapely.distance(shapely.points(points), ring).max()) for points, ring in pairs)


def path_data(line: Chain, motion: Motion, *, closed: bool = True) -> str:
    """SVG path commands of a line after a map (any affine one), all digits kept."""
    cubics = motion.points(line.cubics)
    parts = [f"M {float(cubics[0, 0, 0])!r} {float(cubics[0, 0, 1])!r}"]
    for cubic, straight in zip(cubics, line.straight, strict=True):
        numbers = cubic[3:] if straight else cubic[1:]
        parts.append(("L " if straight else "C ") + " ".join(repr(float(value)) for value in numbers.ravel()))
    return " ".join(parts) + (" Z" if closed else "")


def svg(body: str, head: str = 'width="600mm" height="700mm" viewBox="0 0 600 700"', more: str = "") -> bytes:
    text = (
        f'<?xml version="1.0"?>{more}<svg xmlns="{SVG}" xmlns:xlink="http://www.w3.org/1999/xlink" {head}>{body}</svg>'
    )
    return text.encode()


def front_path(motion: Motion, extra: str = "") -> str:
    return f'<path id="front" d="{path_data(outline("front"), motion)}" fill="none" stroke="black" {extra}/>'


#: From the draft's mm, y up, to a page of 600 x 700 mm, y down.
TO_PAGE = Motion(1.0, 0.0, 0.0, -1.0, 20.0, 680.0)


def pdf_path(canvas, line: Chain, dx: float, dy: float) -> None:  # type: ignore[no-untyped-def]
    path = canvas.beginPath()
    for index, (cubic, straight) in enumerate(zip(line.cubics, line.straight, strict=True)):
        points = [((float(x) + dx) * MM, (float(y) + dy) * MM) for x, y in cubic]
        if index == 0:
            path.moveTo(*points[0])
        if straight:
            path.lineTo(*points[3])
        else:
            path.curveTo(*points[1], *points[2], *points[3])
    path.close()
    canvas.drawPath(path, stroke=1, fill=0)


def single_sheet_pdf() -> bytes:
    """Front and back on one large sheet, named, as any program would draw them."""
    from reportlab.pdfgen.canvas import Canvas

    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=(600 * MM, 700 * MM), invariant=1)
    for name, x in (("front", 20.0), ("back", 320.0)):
        pdf_path(canvas, outline(name), x, 20.0)
        canvas.setFont("Helvetica", 24)
        canvas.drawString((x + 60) * MM, 300 * MM, name.title())
    canvas.save()
    return stream.getvalue()


def tiled_pdf(*, frame: bool = True, margin: float = 10.0, step: tuple[float, float] = (190.0, 277.0)) -> bytes:
    """The same sheet on A4 pages, each clipped a little beyond its trim frame, row by row from the upper left."""
    from reportlab.pdfgen.canvas import Canvas

    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=(210 * MM, 297 * MM), invariant=1)
    wide, high = step
    columns, rows = math.ceil(600 / wide), math.ceil(700 / high)
    for row in range(rows):
        for column in range(columns):
            canvas.saveState()
            clip = canvas.beginPath()
            clip.rect((margin - 4) * MM, (margin - 4) * MM, (wide + 8) * MM, (high + 8) * MM)
            canvas.clipPath(clip, stroke=0, fill=0)
            dx, dy = margin - column * wide, margin - (rows - 1 - row) * high
            for name, x in (("front", 20.0), ("back", 320.0)):
                pdf_path(canvas, outline(name), x + dx, 20.0 + dy)
            canvas.restoreState()
            if frame:
                canvas.rect(margin * MM, margin * MM, wide * MM, high * MM)
            canvas.showPage()
    canvas.save()
    return stream.getvalue()
