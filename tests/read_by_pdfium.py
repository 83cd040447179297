"""The lines of a PDF as pypdfium2 reads them: page objects and those inside forms, with all their matrices."""

from __future__ import annotations

import ctypes
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium

MM = 25.4 / 72
#: Points of a curve are taken at these shares of each cubic.
SHARES = np.linspace(0.0, 1.0, 33)[1:, None]


@dataclass(frozen=True)
class Line:
    """One line of a page: its points (n, 2) in mm from the page's lower left corner, y up, and its layer's name."""

    layer: str
    points: np.ndarray
    closed: bool


def lines(pdf: bytes, index: int) -> list[Line]:
    """Every line that is drawn on a page, also where the page's frame hides it."""
    document = pypdfium2.PdfDocument(pdf)
    page = document[index]
    objects = [pdfium.FPDFPage_GetObject(page.raw, k) for k in range(pdfium.FPDFPage_CountObjects(page.raw))]
    return [line for one in objects for line in _lines(one, np.eye(3))]


def frames(pdf: bytes, index: int) -> list[tuple[float, float, float, float]]:
    """What of each form a page shows: x0, y0, x1, y1 in mm."""
    page = pypdfium2.PdfDocument(pdf)[index]
    objects = [pdfium.FPDFPage_GetObject(page.raw, k) for k in range(pdfium.FPDFPage_CountObjects(page.raw))]
    found = []
    for one in objects:
        if pdfium.FPDFPageObj_GetType(one) == pdfium.FPDF_PAGEOBJ_FORM:
            clip = pdfium.FPDFPageObj_GetClipPath(one)
            count = pdfium.FPDFClipPath_CountPathSegments(clip, 0)
            points = MM * np.array([_point(pdfium.FPDFClipPath_GetPathSegment(clip, 0, k)) for k in range(count)])
            found.append((*points.min(axis=0).tolist(), *points.max(axis=0).tolist()))
    return found


def _lines(one: Any, outer: np.ndarray) -> Iterator[Line]:
    kind, matrix = pdfium.FPDFPageObj_GetType(one), outer @ _matrix(one)
    if kind == pdfium.FPDF_PAGEOBJ_FORM:
        for k in range(pdfium.FPDFFormObj_CountObjects(one)):
            yield from _lines(pdfium.FPDFFormObj_GetObject(one, k), matrix)
    elif kind == pdfium.FPDF_PAGEOBJ_PATH:
        layer = _layer(one)
        for points, closed in _subpaths(one):
            yield Line(layer, (points @ matrix[:2, :2].T + matrix[:2, 2]) * MM, closed)


def _subpaths(path: Any) -> Iterator[tuple[np.ndarray, bool]]:
    """The lines of a path in its own frame, curves as points on them."""
    points: list[np.ndarray] = []
    handles: list[np.ndarray] = []
    closed = False
    for k in range(pdfium.FPDFPath_CountSegments(path)):
        segment = pdfium.FPDFPath_GetPathSegment(path, k)
        kind, at = pdfium.FPDFPathSegment_GetType(segment), np.array(_point(segment))
        if kind == pdfium.FPDF_SEGMENT_MOVETO:
            if points:
                yield np.concatenate(points), closed
            points = [at[None]]
        elif kind == pdfium.FPDF_SEGMENT_BEZIERTO:
            handles.append(at)
            if len(handles) == 3:
                a, (b, c, d), t = points[-1][-1], handles, SHARES
                points.append((1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t * t * (1 - t) * c + t**3 * d)
                handles = []
        else:
            points.append(at[None])
        closed = bool(pdfium.FPDFPathSegment_GetClose(segment))
    if points:
        yield np.concatenate(points), closed


def _point(segment: Any) -> tuple[float, float]:
    x, y = ctypes.c_float(), ctypes.c_float()
    assert pdfium.FPDFPathSegment_GetPoint(segment, x, y)
    return x.value, y.value


def _matrix(one: Any) -> np.ndarray:
    found = pdfium.FS_MATRIX()
    assert pdfium.FPDFPageObj_GetMatrix(one, found)
    return np.array([(found.a, found.c, found.e), (found.b, found.d, found.f), (0.0, 0.0, 1.0)])


def _layer(one: Any) -> str:
    """The name of the layer that a page object stands in; empty where it stands in none."""
    for k in range(pdfium.FPDFPageObj_CountMarks(one)):
        mark, letters, size = pdfium.FPDFPageObj_GetMark(one, k), (ctypes.c_ushort * 200)(), ctypes.c_ulong()
        if pdfium.FPDFPageObjMark_GetParamStringValue(mark, b"Name", letters, 400, size):
            return bytes(letters)[: size.value].decode("utf-16-le").rstrip("\0")
    return ""
