"""From a draft to files: which drawings go into which, as bytes. Nothing here writes to the disk."""

from __future__ import annotations

import json
from typing import Any

from geometry.arranging import arrange
from geometry.drawing import Drawing, record
from geometry.pipeline import Draft
from geometry.sheets import A4, LETTER, Paper, Sheet, SheetSettings, beside

PAPERS: dict[str, Paper] = {"a4": A4, "letter": LETTER}


def drawings(draft: Draft, *, redrawn: bool = True, with_before: bool = False) -> tuple[Drawing, ...]:
    """A recorded drawing of each piece: as redrawn (with the traced outline under it if asked), or as traced."""
    cut = draft.cut if redrawn else draft.cut_before
    return tuple(
        record(cut[piece.id], before=piece if with_before and draft.redrawn.piece(piece.id) is not piece else None)
        for piece in draft.garment.pieces
    )


def svg_file(draft: Draft, *, redrawn: bool = True, with_before: bool = False) -> bytes:
    """All pieces side by side as SVG."""
    from app.files.svg import svg_bytes

    return svg_bytes(beside(drawings(draft, redrawn=redrawn, with_before=with_before)), draft.garment.name)


def dxf_file(draft: Draft, version: str = "R2000") -> bytes:
    """All pieces side by side as DXF, "R2000" or "R12"."""
    from app.files.dxf import dxf_bytes

    return dxf_bytes(beside(drawings(draft)), "R12" if version == "R12" else "R2000")


def page_sheet(draft: Draft, settings: SheetSettings) -> Sheet:
    """The pieces arranged on a sheet for these pages."""
    return arrange(drawings(draft), settings)


def pdf_file(draft: Draft, settings: SheetSettings) -> tuple[bytes, dict[str, Any]]:
    """The pages to print and tape, and the page records of ``print --json``."""
    from app.files.pdf import tiles_pdf

    data, records = tiles_pdf(page_sheet(draft, settings), settings, draft.garment.name)
    return data, dict(records)


def json_bytes(values: Any) -> bytes:
    """Plain values as readable JSON; the same values always give the same bytes."""
    return (json.dumps(values, ensure_ascii=False, allow_nan=False, indent=1) + "\n").encode()
