"""The actors' sheets: each list is done whole, walks without a fault, is written out, and prints."""

from __future__ import annotations

import io
import re
from functools import cache
from pathlib import Path

import pypdfium2
import pytest

import sample_pieces
from app.command_line import main
from app.documents import Document
from app.files.garment_file import open_file
from geometry.garments import EdgeRef
from geometry.pieces import MarkKind
from geometry.pipeline import Draft, draft
from sample_pieces.drafting.actors import ACTORS
from tests.sample_measures import width_at

NAMES = [actor.name for actor in ACTORS]
INCH = 25.4


def file_of(name: str) -> Path:
    return sample_pieces.path(f"actors/{name}.garment.json")


@cache
def opened(name: str) -> tuple[Document, Draft]:
    document, _ = open_file(file_of(name))
    return document, draft(document.garment, document.notes)


def test_there_are_three_bodies_with_six_to_ten_notes_each() -> None:
    assert len(NAMES) == 3
    assert all(6 <= len(opened(name)[0].notes) <= 10 for name in NAMES)
    assert len({opened(name)[0].garment.id for name in NAMES}) == 3


@pytest.mark.parametrize("name", NAMES)
def test_every_note_is_done_and_says_why(name: str) -> None:
    document, drafted = opened(name)
    assert all(step.done for step in drafted.followed.steps)
    assert all(note.remark for note in document.notes)
    for piece in drafted.redrawn.pieces:
        assert piece.polygon.is_valid and piece.polygon.exterior.is_ccw
        assert drafted.cut[piece.id].cutting is not None


@pytest.mark.parametrize("name", NAMES)
def test_the_redrawn_garment_walks_without_a_fault(name: str) -> None:
    assert {walked.verdict for walked in opened(name)[1].after} <= {"true", "ease", "notice"}
    assert not [finding.says for finding in opened(name)[1].findings if finding.level == "fault"]
    assert main(["walk", str(file_of(name))]) == 0


@pytest.mark.parametrize("name", NAMES)
def test_one_command_redraws_it_and_one_prints_it(name: str, tmp_path: Path) -> None:
    out, pages = tmp_path / f"{name}.garment.json", tmp_path / f"{name}.pdf"
    assert main(["redraw", str(file_of(name)), "--out", str(out)]) == 0
    again, _ = open_file(out)
    assert not again.notes and len(again.garment.pieces) == len(opened(name)[0].garment.pieces)
    assert main(["print", str(file_of(name)), "--out", str(pages)]) == 0
    document = pypdfium2.PdfDocument(io.BytesIO(pages.read_bytes()))
    assert len(document) > 8
    text = document[1].get_textpage().get_text_bounded()
    assert opened(name)[0].garment.name in text


@pytest.mark.parametrize("name", NAMES)
def test_the_sheet_lists_every_note_with_its_reason(name: str) -> None:
    text = (file_of(name).parent / f"{name}.md").read_text(encoding="utf-8")
    listed = re.findall(r"^(\d+)\. .*\. \*(.+)\*$", text, re.MULTILINE)
    assert [why for _, why in listed] == [note.remark for note in opened(name)[0].notes]


# --- the redrawn garments have the measured difference; subtraction and division of the sheet's own numbers ----


def girth(drafted: Draft, line: str, *pieces: str) -> float:
    """By how many mm the redrawn pieces are wider at a level than as drafted, both halves."""
    return 2 * sum(
        width_at(drafted.redrawn, f"{piece}.{line}") - width_at(drafted.garment, f"{piece}.{line}") for piece in pieces
    )


def test_the_nurse_has_her_waist_her_centre_back_and_her_bust() -> None:
    drafted = opened("nurse")[1]
    # 31 - 28 in at the waist, 40 - 38 at the hip; 4 mm of it across the back, to the hem.
    assert girth(drafted, "waist", "front", "back") == pytest.approx(3 * INCH + 4.0, abs=1.0)
    assert girth(drafted, "hip", "front", "back") == pytest.approx(2 * INCH + 4.0, abs=1.0)
    # 5/8 in at the half front's bust point, which lies 10 mm lower for that note and by the drop for the other.
    was, now = (
        next(mark.point for mark in garment.piece("front").marks if mark.kind is MarkKind.BUST_POINT)
        for garment in (drafted.garment, drafted.redrawn)
    )
    assert now[0] - was[0] == pytest.approx(5 / 8 * INCH, abs=1e-6)
    facing = drafted.redrawn.edge(EdgeRef("front_facing", "front_facing.edge")).length
    assert facing == pytest.approx(drafted.redrawn.edge(EdgeRef("front", "front.edge")).length, abs=0.8)


def test_the_clown_has_his_waist_his_leg_and_his_hem() -> None:
    drafted = opened("clown")[1]
    hems = [
        sum(garment.edge(EdgeRef(p, f"{p}.hem")).length for p in ("front", "back"))
        for garment in (drafted.garment, drafted.redrawn)
    ]
    assert hems == [pytest.approx(444.0), pytest.approx(504.0, abs=0.1)]
    band = drafted.redrawn.edge(EdgeRef("waistband", "waistband.waist")).length
    assert band - drafted.garment.edge(EdgeRef("waistband", "waistband.waist")).length == pytest.approx(1.5 * INCH)
    assert girth(drafted, "hip", "front", "back") == pytest.approx(2 * INCH, abs=0.5)
    crotch = [
        sum(garment.edge(EdgeRef(p, f"{p}.crotch")).length for p in ("front", "back"))
        for garment in (drafted.garment, drafted.redrawn)
    ]
    assert crotch[1] - crotch[0] == pytest.approx(30.0, abs=3.0)


def test_the_prince_has_his_length_his_waist_and_his_neck() -> None:
    drafted = opened("prince")[1]
    back = [garment.edge(EdgeRef("back", "back.fold")).length for garment in (drafted.garment, drafted.redrawn)]
    assert back[1] - back[0] == pytest.approx(30.0, abs=1e-6)
    front = [garment.edge(EdgeRef("front", "front.fold")).length for garment in (drafted.garment, drafted.redrawn)]
    assert front[1] - front[0] == pytest.approx(30.0 - 12.0, abs=1e-6)
    assert girth(drafted, "waist", "front", "back") == pytest.approx(-24.0, abs=0.5)
    # The sleeve's side is 20 mm longer, and shorter by the 7 mm of its underarm.
    underarm = EdgeRef("sleeve", "sleeve.front_underarm")
    longer = drafted.redrawn.edge(underarm).length - drafted.garment.edge(underarm).length
    assert longer == pytest.approx(20.0 - 7.0, abs=0.8)
