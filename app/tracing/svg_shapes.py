"""The shapes of SVG as lines: path, rect, circle, ellipse, line, polyline, polygon. Curves stay curves."""

from __future__ import annotations

import math
import re
from typing import Any
from xml.etree.ElementTree import Element

from app.tracing.path_maker import PathMaker
from app.tracing.svg_look import local, pixels
from geometry.lines import Chain
from geometry.motions import Motion

SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")


def shape_lines(element: Element, motion: Motion, viewport: tuple[float, float]) -> list[tuple[Chain, bool]]:
    """The lines of a shape and whether each is closed. Raises ValueError where its numbers are damaged."""
    maker = PathMaker(motion)
    tag = local(element.tag)
    if tag == "path":
        _path(element.get("d", ""), maker)
    elif tag in ("polyline", "polygon"):
        numbers = [float(text) for text in _NUMBER.findall(element.get("points", ""))]
        for index in range(0, len(numbers) - 1, 2):
            (maker.line if index else maker.move)((numbers[index], numbers[index + 1]))
        if tag == "polygon":
            maker.close()
    else:
        _simple(element, tag, maker, viewport)
    return maker.lines()


def _simple(element: Element, tag: str, maker: PathMaker, viewport: tuple[float, float]) -> None:
    across, down = viewport

    def get(name: str, whole: float) -> float:
        return pixels(element.get(name, ""), whole)

    if tag == "line":
        maker.move((get("x1", across), get("y1", down)))
        maker.line((get("x2", across), get("y2", down)))
    elif tag == "rect":
        _rect(element, maker, viewport)
    else:
        slant = math.hypot(across, down) / math.sqrt(2)
        rx = get("r", slant) if tag == "circle" else get("rx", across)
        ry = get("r", slant) if tag == "circle" else get("ry", down)
        if rx > 0 and ry > 0:
            cx, cy = get("cx", across), get("cy", down)
            maker.move((cx + rx, cy))
            maker.ellipse((cx, cy), (rx, 0.0), (0.0, ry), 0.0, math.tau)
            maker.close()


def _rect(element: Element, maker: PathMaker, viewport: tuple[float, float]) -> None:
    x, y = pixels(element.get("x", ""), viewport[0]), pixels(element.get("y", ""), viewport[1])
    wide, high = pixels(element.get("width", ""), viewport[0]), pixels(element.get("height", ""), viewport[1])
    if wide <= 0 or high <= 0:
        return
    rx, ry = pixels(element.get("rx", ""), viewport[0], -1.0), pixels(element.get("ry", ""), viewport[1], -1.0)
    rx, ry = (ry if rx < 0 else rx), (rx if ry < 0 else ry)
    rx, ry = min(max(rx, 0.0), wide / 2), min(max(ry, 0.0), high / 2)
    if rx == 0 or ry == 0:
        maker.move((x, y))
        for corner in ((x + wide, y), (x + wide, y + high), (x, y + high)):
            maker.line(corner)
    else:
        quarter = math.pi / 2
        maker.move((x + rx, y))
        for index, (cx, cy) in enumerate(
            ((x + wide - rx, y + ry), (x + wide - rx, y + high - ry), (x + rx, y + high - ry), (x + rx, y + ry))
        ):
            start = (index - 1) * quarter
            maker.line((cx + rx * math.cos(start), cy + ry * math.sin(start)))
            maker.ellipse((cx, cy), (rx, 0.0), (0.0, ry), start, quarter)
    maker.close()


def _path(data: str, maker: PathMaker) -> None:
    from svgelements import Arc, Close, CubicBezier, Move, Path, QuadraticBezier

    if not data.strip():
        return
    if not data.lstrip().startswith(("M", "m")):
        raise ValueError("a path does not begin with a move")
    try:
        path = Path(data)
    except (ValueError, IndexError, AttributeError, TypeError, ZeroDivisionError) as error:
        raise ValueError("the numbers of a path are damaged") from error
    handle: Any = None
    kind: object = None
    for one in path:
        if isinstance(one, (CubicBezier, QuadraticBezier)):
            last = "control2" if isinstance(one, CubicBezier) else "control"
            if one.smooth:
                # The library takes a handle from any curve before; the standard only from one of the same kind.
                mirrored = handle.reflected_across(one.start) if kind is type(one) else one.start
                setattr(one, "control1" if last == "control2" else last, mirrored)
            handle = getattr(one, last)
        kind = type(one)
        if isinstance(one, Move):
            maker.move(plain_point(one.end))
        elif isinstance(one, Close):
            maker.close()
        elif isinstance(one, CubicBezier):
            maker.curve(plain_point(one.control1), plain_point(one.control2), plain_point(one.end))
        elif isinstance(one, QuadraticBezier):
            maker.quadratic(plain_point(one.control), plain_point(one.end))
        elif isinstance(one, Arc):
            _arc(one, maker)
        else:
            maker.line(plain_point(one.end))


def _arc(one, maker: PathMaker) -> None:  # type: ignore[no-untyped-def]
    centre = plain_point(one.center)
    first = (one.prx.x - centre[0], one.prx.y - centre[1])
    second = (one.pry.x - centre[0], one.pry.y - centre[1])
    if math.hypot(*first) < 1e-12 or math.hypot(*second) < 1e-12 or abs(one.sweep) < 1e-12:
        maker.line(plain_point(one.end))
        return
    start = plain_point(one.start)
    x, y = start[0] - centre[0], start[1] - centre[1]
    at = math.atan2(
        (x * second[0] + y * second[1]) / (second[0] ** 2 + second[1] ** 2),
        (x * first[0] + y * first[1]) / (first[0] ** 2 + first[1] ** 2),
    )
    # The second radius may point either way; the sweep is along the drawing's own sense.
    turns = 1.0 if first[0] * second[1] - first[1] * second[0] > 0 else -1.0
    maker.ellipse(centre, first, second, at, float(one.sweep) * turns)
    maker.line(plain_point(one.end))


def plain_point(point) -> tuple[float, float]:  # type: ignore[no-untyped-def]
    """A point of svgelements as two numbers. Raises ValueError where one is missing, as in paths that were cut."""
    if point is None or point.x is None or point.y is None:
        raise ValueError("the numbers of a path are damaged")
    return (float(point.x), float(point.y))
