"""Layers and facts of the printed files, as pikepdf reads them and pypdfium2 shows them with a layer hidden."""

from __future__ import annotations

import io
from collections.abc import Collection
from functools import cache

import numpy as np
import pikepdf
import pypdfium2
import pytest

import sample_pieces
from app import outputs
from app.files.garment_file import open_file
from app.files.large_pdf import large_pdf
from app.files.pdf import tiles_pdf
from geometry.drawing import Role
from geometry.papers import A4
from geometry.pipeline import draft
from geometry.rolls import roll as roll_paper
from geometry.sheets import SheetSettings
from tests import drawn

SETTINGS = SheetSettings(A4)
DPI = 150
MM = 72 / 25.4


@cache
def tiles() -> bytes:
    return tiles_pdf(drawn.arranged(SETTINGS), SETTINGS, "Undershirt & “vest”")[0]


@cache
def roll() -> bytes:
    return large_pdf([drawn.side_by_side()], "Undershirt")


def listed(pdf: bytes) -> dict[str, list[str]]:
    """Layers by the heading under which a viewer lists them."""
    with pikepdf.open(io.BytesIO(pdf)) as document:
        properties = document.Root.OCProperties
        order = {str(part[0]): [str(one.Name) for one in list(part)[1:]] for part in properties.D.Order}
        assert len(properties.OCGs) == sum(map(len, order.values()))
        return order


def hidden(pdf: bytes, names: Collection[str]) -> bytes:
    """The file as a viewer shows it when these layers are switched off."""
    with pikepdf.open(io.BytesIO(pdf)) as document:
        properties = document.Root.OCProperties
        off = [group for group in properties.OCGs if str(group.Name) in names]
        assert len(off) == len(names)
        properties.D.OFF = pikepdf.Array(off)
        changed = io.BytesIO()
        document.save(changed)
        return changed.getvalue()


def dark(pdf: bytes, page: int) -> np.ndarray:
    image = pypdfium2.PdfDocument(pdf)[page].render(scale=DPI / 72, grayscale=True).to_numpy()
    return 1 - image.reshape(image.shape[:2]).astype(float) / 255


def share_dark(pdf: bytes, role: Role) -> float:
    """How much of a role's lines is dark on the pages, those of one page looked at."""
    records = tiles_pdf(drawn.arranged(SETTINGS), SETTINGS)[1]["pages"]
    seen: list[bool] = []
    for record in (one for one in records if not one["skipped"]):
        image = dark(pdf, record["page"] - 1)
        for stroke in (s for one in drawn.arranged(SETTINGS).placed for s in one.there.strokes if s.role is role):
            points = stroke.chain.points(np.linspace(0, len(stroke.chain), 300)) - record["origin_mm"]
            inside = (points > 8).all(axis=1) & (points < np.array(SETTINGS.live) - 8).all(axis=1)
            x, y = (points[inside] + record["live_mm"][:2]).T
            rows, columns = ((297.0 - y) / 25.4 * DPI).astype(int), (x / 25.4 * DPI).astype(int)
            near = [image[rows + dy, columns + dx] for dx in (-1, 0, 1) for dy in (-1, 0, 1)]
            seen += list(np.max(near, axis=0) > 0.2)
    assert len(seen) > 100
    return float(np.mean(seen))


def test_layers_are_listed_by_role_and_for_the_pages() -> None:
    roles = {words.role.value for one in drawn.drawings() for words in (*one.strokes, *one.words)}
    order = listed(tiles())
    assert set(order) == {"pieces", "pages"}
    assert set(order["pieces"]) == roles and len(roles) >= 12
    assert order["pages"] == ["joins and frame", "page names"]
    assert set(listed(roll())["pieces"]) == roles and listed(roll())["pages"] == ["page names"]


@pytest.mark.parametrize(("role", "other"), [(Role.STITCH, Role.CUT), (Role.CUT, Role.GRAIN), (Role.GRAIN, Role.CUT)])
def test_a_hidden_layer_is_not_shown_and_the_others_are(role: Role, other: Role) -> None:
    pdf = hidden(tiles(), {role.value})
    assert share_dark(tiles(), role) > 0.6 and share_dark(pdf, role) < 0.15
    assert share_dark(pdf, other) == share_dark(tiles(), other) > 0.9


def test_every_mark_of_a_tile_and_all_of_a_roll_are_in_some_layer() -> None:
    for pdf, page in ((tiles(), 1), (roll(), 0)):
        every = [name for names in listed(pdf).values() for name in names]
        assert dark(pdf, page).max() > 0.9
        assert not dark(hidden(pdf, every), page).any()


def test_the_first_page_is_shown_whatever_is_hidden() -> None:
    every = [name for names in listed(tiles()).values() for name in names]
    assert np.array_equal(dark(hidden(tiles(), every), 0), dark(tiles(), 0))


def test_lettering_is_hidden_apart_from_lines() -> None:
    words = {role.value for role in (Role.TITLE, Role.INSTRUCTIONS, Role.LABEL)}
    page = pypdfium2.PdfDocument(tiles())[1].get_textpage().get_text_bounded()
    assert "allowance" in page, "the text is there to be hidden"
    assert share_dark(hidden(tiles(), words), Role.CUT) == share_dark(tiles(), Role.CUT)
    assert dark(hidden(tiles(), words), 1).sum() < dark(tiles(), 1).sum()


@pytest.mark.parametrize("pdf", [tiles, roll])
def test_facts_can_be_read(pdf: object) -> None:
    """The document's facts, and the same in its XMP as pikepdf reads it (ISO 16684-1, ISO 32000-1 14.3)."""
    with pikepdf.open(io.BytesIO(pdf())) as document:  # type: ignore[operator]
        title = str(document.docinfo.Title)
        assert title.startswith("Undershirt") and document.docinfo.Creator == "Tuck & True"
        assert "Front" in str(document.docinfo.Keywords) and "without scaling" in str(document.docinfo.Subject)
        assert document.Root.Lang == "en-GB" and document.Root.ViewerPreferences.DisplayDocTitle
        assert document.Root.ViewerPreferences.PrintScaling == pikepdf.Name("/None")
        with document.open_metadata() as facts:
            assert facts["dc:title"] == title and facts["dc:creator"] == ["Tuck & True"]
            assert facts["pdf:Keywords"] == str(document.docinfo.Keywords)
            assert facts["dc:description"] == str(document.docinfo.Subject)


def test_viewers_call_pages_by_their_names() -> None:
    document = pypdfium2.PdfDocument(tiles())
    records = tiles_pdf(drawn.arranged(SETTINGS), SETTINGS)[1]["pages"]
    names = [one["name"] for one in records if not one["skipped"]]
    assert [document.get_page_label(index) for index in range(len(document))] == ["first page", *names]


def test_every_typeface_is_embedded() -> None:
    for pdf in (tiles(), roll()):
        with pikepdf.open(io.BytesIO(pdf)) as document:
            fonts = [font for page in document.pages for font in page.resources.Font.as_dict().values()]
            assert {str(font.BaseFont).split("+")[-1] for font in fonts} == {"DejaVuSans", "DejaVuSans-Bold"}
            assert all("/FontFile2" in font.FontDescriptor for font in fonts)
            held = [page.resources.get("/XObject", {}) for page in document.pages]
            forms = [form for one in held for _, form in one.items()]
            assert all(form.Resources.Font == document.pages[0].resources.Font for form in forms)


def test_the_same_bytes_on_a_rerun() -> None:
    assert large_pdf([drawn.side_by_side()], "Undershirt") == roll()
    assert tiles_pdf(drawn.arranged(SETTINGS), SETTINGS, "Undershirt & “vest”")[0] == tiles()


def test_each_other_size_has_a_layer_of_its_own() -> None:
    """The tabard is drawn in five sizes and worked in 14; the others are hidden one by one."""
    document, _ = open_file(sample_pieces.path("tabard.garment.json"))
    drafted = draft(document.garment, document.notes)
    beside = outputs.Beside(sizes=outputs.in_other_sizes(drafted))
    sheets = outputs.large_sheets(drafted, roll_paper(914.0), beside=beside)
    pdf = outputs.large_file(sheets, "Tabard")
    assert listed(pdf)["other sizes"] == ["size 10", "size 12", "size 16", "size 18"]
    shown = dark(pdf, 0).sum()
    each = [shown - dark(hidden(pdf, {name}), 0).sum() for name in listed(pdf)["other sizes"]]
    together = shown - dark(hidden(pdf, listed(pdf)["other sizes"]), 0).sum()
    assert min(each) > 0.1 * together and sum(each) == pytest.approx(together, rel=0.1)
