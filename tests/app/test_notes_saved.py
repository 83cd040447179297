"""Every alteration survives saving and opening: the same note, the same redrawn pieces."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.documents import Document
from app.files.garment_file import read_bytes, to_bytes
from geometry.following import follow
from geometry.notes import BlendChoice
from geometry.sameness import same
from tests.alteration_cases import CASES

BY_NAME = {case.name: case for case in CASES}


@pytest.mark.parametrize("name", BY_NAME)
def test_a_note_saved_and_opened_is_the_same_and_does_the_same(name: str) -> None:
    case = BY_NAME[name]
    note = replace(case.note("note-7"), blend=BlendChoice(0.25, 40.0, None), remark="“not too low”")
    document = Document(case.garment, (note,), notes_written=9)
    opened = read_bytes(to_bytes(document))
    assert opened.notes == document.notes and opened.notes_written == 9
    assert same(opened.garment, document.garment, 0.0)
    assert same(follow(opened.garment, opened.notes).garment, follow(case.garment, (note,)).garment, 0.0)
