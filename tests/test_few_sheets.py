"""The table of few sheets in docs/printing.md, counted again."""

from __future__ import annotations

import re

import pytest

import sample_pieces
from app import outputs
from app.files.garment_file import open_file
from geometry.arranging import alone, arrange, least_pages
from geometry.pipeline import draft
from geometry.sheets import SheetSettings
from tests.vocabulary_words import ROOT

ROWS = re.findall(
    r"^\| ([\w-]+), (upright|lying) \| (\d+) \| (\d+) \| (\d+) \| (\d+) \| (\d+) \|$",
    (ROOT / "docs" / "printing.md").read_text(encoding="utf-8"), re.MULTILINE,
)


def test_the_table_has_both_ways_of_every_sample_that_was_looked_at() -> None:
    assert len(ROWS) >= 12 and {way for _, way, *_ in ROWS} == {"upright", "lying"}
    for _, _, *counts in ROWS:
        by_itself, boxes, laid, askew, area = map(int, counts)
        assert area <= askew <= laid <= boxes <= by_itself


@pytest.mark.long
@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row[0]}-{row[1]}")
def test_the_table_of_few_sheets_is_true(row: tuple[str, ...]) -> None:
    document, _ = open_file(sample_pieces.path(f"{row[0]}.garment.json"))
    pieces = outputs.paper_drawings(draft(document.garment, document.notes))
    settings = SheetSettings(landscape=row[1] == "lying")
    laid = [arrange(pieces, settings, **how) for how in ({"closely": False}, {}, {"freely": True})]
    sheets = [outputs.count_of(one, settings) for one in laid]
    assert [alone(pieces, settings), *sheets, least_pages(pieces, settings)] == [int(count) for count in row[2:]]
