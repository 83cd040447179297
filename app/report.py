"""The report of a draft as plain values: what report.json and ``walk --json`` hold (docs/report.md)."""

from __future__ import annotations

from typing import Any

import numpy as np

from app.getting_in import passage_values
from geometry import tolerances
from geometry.findings import Finding
from geometry.garments import EdgeRef
from geometry.lines import Chain
from geometry.motions import FloatArray
from geometry.pieces import Piece
from geometry.pipeline import Draft
from geometry.stages import CutPiece, JogBlend, SeamWalk

FORMAT, VERSION = "tuck-and-true report", 1
_DECIMALS = 4


def report(draft: Draft) -> dict[str, Any]:
    """The whole report; lengths in mm, angles in degrees, points in the traced piece's frame, y up."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "units": "mm",
        "tolerances": {
            "flatten_mm": tolerances.FLATTEN_MM,
            "refit_mm": tolerances.REFIT_MM,
            "true_mm": tolerances.TRUE_MM,
            "notice_mm": tolerances.NOTICE_MM,
            "warn_mm": tolerances.WARN_MM,
            "straight_deg": tolerances.STRAIGHT_DEG,
            "square_deg": tolerances.SQUARE_DEG,
        },
        "pieces": [_piece(draft, piece) for piece in draft.garment.pieces],
        "seams": [_seam(walk) for walk in (*draft.before, *draft.after)],
        "openings": [passage_values(passage) for passage in draft.passages],
        "blends": [_blend(b) for one in draft.blended.pieces.values() for b in one.blends],
        "findings": [finding_values(f) for f in draft.findings],
    }


def has_note_fault(draft: Draft) -> bool:
    """True when a note put a seam out so far that it is a fault."""
    return any(walk.verdict == "fault" and walk.since != "traced" for walk in draft.after)


def finding_values(finding: Finding) -> dict[str, Any]:
    """One finding as plain values."""
    place = None if finding.place is None else [_number(finding.place[0]), _number(finding.place[1])]
    return {
        "code": finding.code,
        "level": finding.level.value,
        "note": finding.note,
        "piece": finding.piece,
        "place_mm": place,
        "about": finding.about,
        "says": finding.says,
    }


def points_values(points: FloatArray) -> list[list[float]]:
    """Points (m, 2) as lists of two numbers, 4 decimals, no negative zero."""
    rounded: list[list[float]] = (np.round(np.asarray(points), _DECIMALS) + 0.0).tolist()
    return rounded


def _piece(draft: Draft, traced: Piece) -> dict[str, Any]:
    redrawn = draft.redrawn.piece(traced.id)
    return {
        "id": traced.id,
        "name": traced.name,
        "on_fold": traced.on_fold,
        "cut_count": traced.cut_count,
        "before": _state(traced, draft.cut_before[traced.id]),
        "after": _state(redrawn, draft.cut[traced.id]),
    }


def _state(piece: Piece, cut: CutPiece) -> dict[str, Any]:
    edges = []
    index = 0
    for edge in piece.edges:
        following = index + len(edge.chain.flat[0]) - 1
        edges.append(
            {
                "id": edge.id,
                "name": edge.name,
                "kind": edge.kind.value,
                "length_mm": _number(edge.length),
                "from_index": index,
                "to_index": following,
            }
        )
        index = following
    edges[-1]["to_index"] = 0
    return {
        "area_mm2": _number(_area(piece.outline)),
        "outline_mm": points_values(piece.outline),
        "cut_outline_mm": None if cut.cutting is None else points_values(_ring(cut.cutting)),
        "edges": edges,
    }


def _ring(closed: Chain) -> FloatArray:
    return closed.flat[0][:-1]


def _area(points: FloatArray) -> float:
    x, y = points[:, 0], points[:, 1]
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2


def _seam(walk: SeamWalk) -> dict[str, Any]:
    return {
        "id": walk.seam,
        "name": walk.name,
        "stage": walk.stage,
        "first": [_ref(ref) for ref in walk.first],
        "second": [_ref(ref) for ref in walk.second],
        "first_mm": _number(walk.first_mm),
        "second_mm": _number(walk.second_mm),
        "difference_mm": _number(walk.difference_mm),
        "ease_mm": [_number(walk.ease[0]), _number(walk.ease[1])],
        "verdict": walk.verdict,
        "notches": [
            {"name": n.name, "first_at_mm": _number(n.first_at), "second_at_mm": _number(n.second_at)}
            for n in walk.notches
        ],
        "stretches": [
            {
                "kind": s.kind,
                "first_mm": _number(s.first_mm),
                "second_mm": _number(s.second_mm),
                "ease_mm": [_number(s.least), _number(s.most)],
                "verdict": s.verdict,
            }
            for s in walk.stretches
        ],
        "since": walk.since,
    }


def _ref(ref: EdgeRef) -> dict[str, Any]:
    return {"piece": ref.piece, "edge": ref.edge}


def _blend(blend: JogBlend) -> dict[str, Any]:
    return {
        "piece": blend.piece,
        "edge": blend.edge,
        "note": blend.note,
        "kind": blend.kind,
        "share": _number(blend.share),
        "jog_mm": _number(blend.jog_mm),
        "kink_deg": _number(blend.kink_deg),
        "run_mm": [_number(blend.run_mm[0]), _number(blend.run_mm[1])],
        "max_curvature_ratio": _maybe(blend.max_curvature_ratio),
        "new_inflections": blend.new_inflections,
        "end_tangent_deg": None if blend.end_tangent_deg is None else [_number(a) for a in blend.end_tangent_deg],
        "off_line_mm": _number(blend.off_line_mm),
        "within_bounds": blend.within_bounds,
        "original_mm": points_values(blend.original),
        "old_lines_mm": [points_values(line) for line in blend.old_lines],
        "blended_mm": points_values(blend.blended),
    }


def _maybe(value: float | None) -> float | None:
    return None if value is None else _number(value)


def _number(value: float) -> float:
    return round(float(value), _DECIMALS) + 0.0
