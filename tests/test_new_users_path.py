"""The path that docs/first-piece.md tells is walked: from a photograph to pages, and it is the piece photographed."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import cv2
import pypdfium2
import pytest
from pytestqt.qtbot import QtBot

from app.command_line import main
from app.files.garment_file import open_file
from app.window.window import MainWindow
from geometry.pieces import EdgeKind
from tests.new_users_path import walk
from tests.photo_scenes import front_piece, usual_small
from tests.window_case import bare_window

__all__ = ["bare_window"]

DOCS = Path(__file__).resolve().parent.parent / "docs"


def test_a_new_user_comes_from_marker_sheets_to_printed_pages(
    bare_window: MainWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    """Hem, fold and armhole against the piece that was photographed (1 mm, a quarter of a phone's pixels); the note
    takes 30 mm off the fold; the pages are there, and the seams walk."""
    photo = tmp_path / "IMG_2041.jpg"
    assert cv2.imwrite(str(photo), usual_small())
    seen: list[str] = []
    pages = walk(bare_window, photo, tmp_path, lambda name, _: seen.append(name))
    assert (tmp_path / "marker sheets.pdf").read_bytes().startswith(b"%PDF-")
    document, _ = open_file(tmp_path / "front.garment.json")
    (piece,) = document.garment.pieces
    assert document.garment.name == "Understudy vest" and piece.name == "Front" and piece.on_fold
    true = front_piece()
    for kind, at in ((EdgeKind.HEM, 0), (EdgeKind.ARMHOLE, 2), (EdgeKind.CENTRE_FRONT, 5)):
        (edge,) = piece.edges_of(kind)
        assert edge.length == pytest.approx(true.part(at, at + 1).length, abs=1.0)
    assert all(abs(x) < 1e-6 for x, _ in next(edge for edge in piece.edges if edge.on_fold).chain.flat[0]), "plumb"
    redrawn = bare_window.session.draft.redrawn.piece(piece.id)
    (fold,) = redrawn.edges_of(EdgeKind.CENTRE_FRONT)
    assert fold.length == pytest.approx(true.part(5, 6).length - 30.0, abs=1.0)
    with closing(pypdfium2.PdfDocument(pages)) as printed:
        assert len(printed) > 4
    assert main(["walk", str(tmp_path / "front.garment.json")]) == 0
    told = (DOCS / "first-piece.md").read_text(encoding="utf-8")
    assert [name for name in seen if f"path-{name}.jpg" in told] == ["loaded", "named", "note", "print"]
