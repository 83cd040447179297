"""What is saved opens as it was, to the last bit; what is broken is refused in one sentence that says where.

Outside checks: the text is JSON as RFC 8259 has it (NaN, Infinity and half surrogates are none), and the schema is
valid by the JSON Schema draft 2020-12 meta-schema as the jsonschema library holds it.
"""

from __future__ import annotations

import copy
import dataclasses
import enum
import json
import math
import re
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.documents import Document, Settings, changed_on_opening, lengths_of
from app.files import garment_file, json_text, plain, schema, upgrades
from geometry import closures, garments, pieces
from geometry import notes as note_values
from geometry.alterations import everything, find
from geometry.closures import Girth, Opening, OpeningKind
from geometry.errors import PatternError
from geometry.garments import EdgeRef, Garment, Match, Pressed, Seam, Stretch, StretchKind
from geometry.lines import Chain, chain, straight
from geometry.motions import slide, turn
from geometry.nests import nested, size_names
from geometry.notes import Address, BlendChoice, Note, Target
from geometry.pieces import (
    Cloth,
    CopyOf,
    CornerCut,
    Cutting,
    Finish,
    InnerDart,
    Joint,
    Layout,
    MarkKind,
    NotchStyle,
    Piece,
    Run,
    Taper,
)
from geometry.sameness import same
from geometry.size_tables import Girths, SizeTable
from tests import canon

ROOT = Path(__file__).resolve().parents[2]
KEPT = Path(__file__).parent / "kept"
NAME = "top.garment.json"


def full_garment(size: str = "12", motion_deg: float = 0.0) -> Garment:
    """Every kind of value that a garment can hold, on small pieces."""
    front = canon.front(with_dart=True)
    hem, side, *others = front.edges
    front = replace(
        front,
        size=size,
        edges=(
            replace(hem, width=31.75, at_start=CornerCut.REFLECTED, tapers=(Taper(-3.5, 1.0, 0.25),)),
            replace(side, name="“side” — ¾ seam"),
            *others,
        ),
        notches=(replace(front.notches[0], count=2, style=NotchStyle.V_OUT), *front.notches[1:]),
        marks=(*front.marks, pieces.Mark("dot", "button", MarkKind.DOT, (0.1 + 0.2, -0.0))),
        inner_darts=(InnerDart("waist.dart", "waist dart", ((60, 120), (60, 220)), ((54, 170), (66, 170))),),
        cutting=(Cutting(Cloth.SELF, Layout.ON_FOLD), Cutting(Cloth.LINING, Layout.SINGLE, 2)),
    )
    back = replace(
        canon.back(), copies=(CopyOf("neck", "front", "neck"),), cutting=(Cutting(Cloth.SELF, Layout.ON_FOLD),)
    )
    if motion_deg:
        front = canon.moved(front, turn(motion_deg, (31.7, 8.1)))
    seams = (
        Seam(
            "sides",
            "side seam",
            (EdgeRef("front", "side"),),
            (EdgeRef("back", "side"),),
            stretches=(Stretch(), Stretch(StretchKind.STRETCHED, -12.5, 0.0, 0.85)),
            matches=(Match("waist", "front", "side.notch", "back", "side.notch"),),
            pressed=Pressed.TO_FIRST,
            sewn=2,
            accepted_mm=2.0,
        ),
        Seam(
            "shoulders", "shoulder seam", (EdgeRef("front", "shoulder"),), (EdgeRef("back", "shoulder", True),), sewn=1
        ),
    )
    widths = MappingProxyType(dict(garments.DEFAULT_WIDTHS) | {Finish.SEAM: 15.875})
    table = SizeTable("the wardrobe room's own", MappingProxyType({"12": Girths(880.5, None, 942.0), "14": Girths()}))
    return Garment(
        *("bodice", "Bodice for Act II", (front, back), seams, size, "the understudy", True, widths, table),
        stretch={Cloth.SELF: 37.5, Cloth.LINING: 0.0},
        girths={Girth.HEAD: 571.5, Girth.HAND: 220.0},
        openings=(
            Opening("keyhole", "keyhole", OpeningKind.SLIT, "front", "shoulder", "end", length=90.0),
            Opening("placket", "placket", OpeningKind.PLACKET, "front", "side", notch="side.notch"),
        ),
    )


def every_note() -> tuple[Note, ...]:
    """A note of every alteration there is, with targets of every form."""
    forms = (
        Target("front"),
        Target("front", line="waist", amount=12.7),
        Target("back", edge="side"),
        Target("back", across=(Address("side", "end", length=101.3), Address("fold", share=1 / 3))),
        Target("back", across=(Address("side", length=0.0),)),
    )
    return tuple(
        Note(
            f"note-{number}",
            alteration.name,
            alteration.checked({}),
            forms[: 1 + number % len(forms)],
            on=number % 2 == 0,
            rule=alteration.version,
            blend=BlendChoice(0.25, None, 60.5),
            remark="“too low”, she says\n– look again",
        )
        for number, alteration in enumerate(everything(), 1)
    )


def full_document() -> Document:
    garment = nested((full_garment(), full_garment("14", motion_deg=33.0)), "12")
    return Document(
        garment,
        every_note(),
        Settings("in", "letter"),
        lengths_of(garment),
        {"wardrobe room": {"shelf": [1, 2.5, None, True, "B"]}},
        notes_written=12,
    )


def small_document() -> Document:
    return Document(Garment("skirt", "Skirt", (canon.leaning(),)), every_note()[:1], notes_written=1)


def plain_of(document: Document) -> Any:
    return json.loads(garment_file.to_bytes(document))


def read(value: Any) -> Document:
    return garment_file.read_bytes(json.dumps(value).encode(), NAME)


def assert_same(one: Document, other: Document) -> None:
    for field in dataclasses.fields(Document):
        a, b = getattr(one, field.name), getattr(other, field.name)
        if field.name in {"results", "extra"}:
            assert a == b
        else:
            assert same(a, b, 0.0), field.name


def lines_of(piece: Piece) -> list[Chain]:
    return [run.chain for edge in piece.edges for run in edge.runs] + [line.chain for line in piece.lines]


# --- saved and opened ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("document", [full_document(), small_document()], ids=["full", "small"])
def test_what_is_saved_opens_the_same_to_the_last_bit(document: Document) -> None:
    data = garment_file.to_bytes(document)
    again = garment_file.read_bytes(data, NAME)
    assert_same(document, again)
    for one, other in zip(document.garment.pieces, again.garment.pieces, strict=True):
        for mine, theirs in zip(lines_of(one), lines_of(other), strict=True):
            assert mine.cubics.tobytes() == theirs.cubics.tobytes()
            assert mine.straight.tobytes() == theirs.straight.tobytes()
            assert not theirs.cubics.flags.writeable and not theirs.straight.flags.writeable
    assert garment_file.to_bytes(again) == data == garment_file.to_bytes(document)


def test_signs_of_nothing_and_last_digits_are_kept() -> None:
    again = read(plain_of(full_document()))
    x, y = again.garment.pieces[0].marks[-1].point
    assert x == 0.1 + 0.2 and math.copysign(1, y) == -1


@given(degrees=st.floats(-180, 180), dx=st.floats(-500, 500), dy=st.floats(-500, 500))
@settings(max_examples=12)
def test_a_piece_laid_anywhere_opens_the_same(degrees: float, dx: float, dy: float) -> None:
    motion = turn(degrees, (12.3, 45.6)).then(slide(dx, dy))
    garment = Garment("g", "g", (canon.moved(canon.front(with_dart=True), motion),))
    data = garment_file.to_bytes(Document(garment))
    again = garment_file.read_bytes(data, NAME, shipped=True)
    assert same(again.garment.pieces[0], garment.pieces[0], 0.0)
    assert garment_file.to_bytes(again) == data


@given(st.lists(st.lists(st.floats(-9999, 9999), min_size=6, max_size=6), min_size=1, max_size=5), st.booleans())
def test_any_line_comes_back_to_the_last_bit(rows: list[list[float]], apart: bool) -> None:
    at = (1.5, -2.5)
    segments: list[Any] = []
    for number, row in enumerate(rows):
        points = [at, (row[0], row[1]), (row[2], row[3]), (row[4], row[5])]
        segments.append([at, points[3]] if number % 3 == 2 else points)
        at = (row[4] + (5e-7 if apart else 0.0), row[5])
    line = chain(segments)
    again = plain.from_plain(Chain, json.loads(json.dumps(plain.to_plain(line))), ())
    assert again.cubics.tobytes() == line.cubics.tobytes() and (again.straight == line.straight).all()


def test_a_straight_line_that_was_turned_stays_straight_and_exact() -> None:
    line = straight((0.1, 0.7), (211.3, 18.9)).moved(turn(17.3, (3, 4))).part(0.123, 0.871)
    again = plain.from_plain(Chain, plain.to_plain(line), ())
    assert again.cubics.tobytes() == line.cubics.tobytes() and again.straight.all()


def test_an_edge_that_a_note_cut_is_kept_with_its_joint() -> None:
    garment = Garment("g", "g", (canon.leaning(),))
    piece = garment.pieces[0]
    side = piece.edge("side")
    low, high = side.chain.part(0, 0.4), side.chain.part(0.4, 1).moved(slide(0.75, 0))
    top = high.end
    waist = replace(piece.edge("waist"), runs=(Run(straight(top, piece.edge("waist").end)),))
    jogged = replace(side, runs=(Run(low), Run(high)), joints=(Joint("note-1", (1.0, 0.0)),))
    edges = tuple({"side": jogged, "waist": waist}.get(edge.id, edge) for edge in piece.edges)
    document = Document(replace(garment, pieces=(replace(piece, edges=edges),)))
    assert_same(document, read(plain_of(document)))


def test_the_sign_of_nothing_is_kept_where_segments_meet() -> None:
    line = chain(
        [((0.0, 1.0), (0.0, 0.0)), ((-0.0, 0.0), (0.0, -0.0), (2.0, 0.0), (3.0, 0.0)), ((3.0, 0.0), (4.0, -0.0))]
    )
    again = plain.from_plain(Chain, json.loads(json_text.layout(plain.to_plain(line))), ())
    assert again.cubics.tobytes() == line.cubics.tobytes()


def test_the_file_reads_as_people_read() -> None:
    lines = garment_file.to_bytes(full_document()).decode().splitlines()
    assert lines[:3] == ["{", '  "format": "tuck-and-true garment",', f'  "version": {upgrades.newest()},']
    curve = [line for line in lines if re.fullmatch(r" +\[-?[\d.]+(e-\d+)?(, -?[\d.]+(e-\d+)?){5}\],?", line)]
    assert len(curve) >= 10, "a cubic stands on a line of its own"
    assert not [line for line in lines if re.fullmatch(r" *-?[\d.]+,?", line)], "no number stands alone"
    assert any("“side” — ¾ seam" in line for line in lines)


def test_saving_to_disk_and_opening_again(tmp_path: Path) -> None:
    path = tmp_path / NAME
    stamp = garment_file.save_file(path, small_document())
    document, read_stamp = garment_file.open_file(path)
    assert stamp == read_stamp
    assert_same(document, small_document())


def test_a_byte_order_mark_does_no_harm() -> None:
    data = garment_file.to_bytes(small_document())
    assert_same(garment_file.read_bytes(b"\xef\xbb\xbf" + data), small_document())


def test_version_1_still_opens() -> None:
    document, _ = garment_file.open_file(KEPT / "version-1.garment.json")
    front = document.garment.piece("front")
    assert document.garment.size == "12" and size_names(document.garment) == ("12", "14")
    assert front.edge("hem").width == 31.75 and front.edge("hem").length == 222.0
    assert document.garment.seams[0].stretches[1].ratio == 0.85
    assert document.notes[0].alteration == "shorten_or_lengthen" and document.notes[0].amounts.amount == 25.0
    assert document.settings == Settings("in", "letter")
    assert document.results["front"]["hem"] == 222.0


def test_version_2_still_opens() -> None:
    document, _ = garment_file.open_file(KEPT / "version-2.garment.json")
    table = document.garment.size_table
    assert table is not None and table.source == "the wardrobe room's own"
    assert table.girths["12"] == Girths(880.5, None, 942.0) and size_names(document.garment) == ("12", "14")
def test_version_3_still_opens_and_says_who_gets_in() -> None:
    garment = garment_file.open_file(KEPT / "version-3.garment.json")[0].garment
    assert garment.stretch == {Cloth.SELF: 37.5, Cloth.LINING: 0.0}
    assert garment.girths == {Girth.HEAD: 571.5, Girth.HAND: 220.0}
    assert [(one.kind, one.edge, one.end) for one in garment.openings] == [
        (OpeningKind.SLIT, "shoulder", "end"),
        (OpeningKind.PLACKET, "side", "start"),
    ]
    assert (garment.openings[0].length, garment.openings[1].notch) == (90.0, "side.notch")


def test_an_older_file_says_nothing_of_stretch_girths_and_openings() -> None:
    garment = garment_file.open_file(KEPT / "version-1.garment.json")[0].garment
    assert not garment.stretch and not garment.girths and not garment.openings


def test_a_sample_opens_without_the_schema_library() -> None:
    code = (
        "import sys; from app.files.garment_file import read_bytes;"
        f"read_bytes(open({str(KEPT / 'version-1.garment.json')!r}, 'rb').read(), 'sample', shipped=True);"
        "sys.exit('jsonschema' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=False, timeout=60).returncode == 0


# --- the schema and the description -------------------------------------------------------------------------------


def test_the_schema_is_one_and_what_is_written_fits_it() -> None:
    from jsonschema import Draft202012Validator

    Draft202012Validator.check_schema(schema.garment_schema())
    for document in (full_document(), small_document()):
        schema.check(plain_of(document))


SCHEMA_OF = {
    pieces.Cutting: ("cutting",),
    pieces.CopyOf: ("copy",),
    pieces.Edge: ("edge", "drawn_edge"),
    pieces.Taper: ("taper",),
    pieces.Corner: ("corner",),
    pieces.Notch: ("notch", "drawn_notch"),
    pieces.Mark: ("mark", "drawn_mark"),
    pieces.Dart: ("dart", "drawn_dart"),
    pieces.InnerDart: ("inner_dart", "drawn_inner_dart"),
    pieces.Line: ("line_on_piece", "drawn_line"),
    pieces.Run: ("run",),
    pieces.Joint: ("joint",),
    pieces.Place: ("place",),
    pieces.Piece: ("piece", "drawn_piece"),
    closures.Opening: ("opening",),
    garments.EdgeRef: ("edge_ref",),
    garments.Match: ("match",),
    garments.Stretch: ("stretch",),
    garments.Seam: ("seam",),
    note_values.Address: ("address",),
    note_values.Target: ("target",),
    note_values.BlendChoice: ("blend",),
    note_values.Note: ("note",),
}


@pytest.mark.parametrize("kind", SCHEMA_OF, ids=lambda kind: kind.__name__)
def test_the_schema_names_every_field_and_no_other(kind: type) -> None:
    definitions = schema.garment_schema()["$defs"]
    named: set[str] = set()
    for name in SCHEMA_OF[kind]:
        named |= set(definitions[name]["properties"])
    assert named == {field.name for field in dataclasses.fields(kind)}  # type: ignore[arg-type]


def test_the_schema_knows_every_word_of_every_list() -> None:
    lists = [set(one) for one in _enums(schema.garment_schema())]
    kinds = [
        kind
        for module in (pieces, garments, closures)
        for kind in vars(module).values()
        if isinstance(kind, type) and issubclass(kind, enum.StrEnum) and kind is not enum.StrEnum
    ]
    assert len(kinds) >= 12
    for kind in kinds:
        assert {str(member) for member in kind} in lists, kind.__name__


def _enums(node: Any) -> list[list[str]]:
    if isinstance(node, dict):
        mine = [node["enum"]] if isinstance(node.get("enum"), list) else []
        return mine + [one for value in node.values() for one in _enums(value)]
    return [one for value in node for one in _enums(value)] if isinstance(node, list) else []


def test_the_described_example_is_a_garment_file() -> None:
    text = (ROOT / "docs" / "garment-file.md").read_text(encoding="utf-8")
    (example,) = re.findall(r"```json\n(.*?)```", text, flags=re.DOTALL)
    document = garment_file.read_bytes(example.encode(), "the example")
    assert garment_file.to_bytes(document).decode() == example
    for name in (
        "garment",
        "size",
        "pieces",
        "seams",
        "sizes",
        "notes",
        "notes_written",
        "settings",
        "results",
        "extra",
    ):
        assert f"`{name}`" in text, f"{name} is not described"


# --- refused ------------------------------------------------------------------------------------------------------


def edited(change: Callable[[Any], object]) -> Any:
    value = plain_of(full_document())
    change(value)
    return value


def drawn(value: Any) -> Any:
    return value["sizes"]["12"]["front"]


def mouths(value: Any) -> list[Any]:
    return [run for edge in drawn(value)["edges"].values() for run in edge["runs"] if run.get("kind") == "dart mouth"]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (
            lambda v: v.update(colour=1),
            "the file: “colour” is not known here; things of your own belong under “extra”.",
        ),
        (lambda v: v.update({"a\nb": 1}), "the file: “a b” is not known here"),
        (lambda v: v.pop("sizes"), "the file: “sizes” is missing."),
        (lambda v: v["pieces"][0].update(colour=1), "pieces › front: “colour” is not known here"),
        (
            lambda v: v["pieces"][0]["edges"][1].update(finish="glued"),
            "front › edges › side › finish: “glued” is none of",
        ),
        (
            lambda v: v["pieces"][0]["edges"][0].update(width=-1),
            "front › edges › hem › width: “-1” is not from 0 up to 1000.",
        ),
        (lambda v: v["pieces"][0]["edges"][0].update(width="6"), "“6” stands where a number or null is wanted."),
        (lambda v: v["pieces"][0].update(name=7), "pieces › front › name: “7” stands where a text is wanted."),
        (lambda v: v["pieces"][0].pop("id"), "pieces › 1: “id” is missing."),
        (lambda v: v["pieces"].clear(), "pieces: none given where at least one piece is wanted."),
        (lambda v: v.update(pieces={}), "pieces: an object stands where a list is wanted."),
        (lambda v: v.update(version=1.5), "“1.5” is no version of a garment file."),
        (lambda v: v.update(version=0), "“0” is no version of a garment file."),
        (lambda v: v.update(version=True), "true is no version of a garment file."),
        (
            lambda v: v.update(version=upgrades.newest() + 1),
            f"was saved by a newer Tuck & True (file version {upgrades.newest() + 1}, this one reads up to "
            f"{upgrades.newest()}), so it was",
        ),
        (lambda v: v.update(format="recipe"), "is not a garment file: “format” does not say “tuck-and-true garment”."),
        (
            lambda v: v["garment"]["size_table"].update(source=""),
            "garment › size_table › source: “” is not where the numbers are from.",
        ),
        (
            lambda v: v["garment"]["size_table"]["girths"]["12"].update(bust=19),
            "girths › 12 › bust: “19” is not from 200 up to 3000.",
        ),
        (lambda v: v["garment"]["widths"].pop("seam"), "garment › widths: “seam” is missing."),
        (lambda v: v.update(size="16"), "size: “16” is not among the sizes 12, 14."),
        (lambda v: v["sizes"]["14"].pop("back"), "sizes › 14: “back” is not drawn in this size."),
        (lambda v: drawn(v)["edges"].pop("neck"), "sizes › 12 › front › edges: “neck” is not drawn in this size."),
        (
            lambda v: drawn(v)["marks"].update(stray={"point": [0, 0]}),
            "front › marks: “stray” is drawn but is not among",
        ),
        (
            lambda v: drawn(v)["marks"]["dot"].update(point=[1, 2, 3]),
            "marks › dot › point: a list is not a point [x, y].",
        ),
        (
            lambda v: drawn(v)["marks"]["dot"].update(point=[1e9, 2]),
            "point › 1: “1000000000.0” is not from -10000 up to 10000.",
        ),
        (
            lambda v: drawn(v)["edges"]["hem"]["runs"][0].update(chain=[[0, 0]]),
            "chain: a list is not a line with a start and",
        ),
        (
            lambda v: drawn(v)["edges"]["hem"]["runs"][0].update(chain=[[0, 0], [1, 2, 3]]),
            "chain › 2: a list is not a straight line [x, y] or a curve [x1, y1, x2, y2, x, y].",
        ),
        (
            lambda v: drawn(v)["edges"]["hem"]["runs"][0].update(chain=[[0, 0], [5, 5, 1, 1, 2, 2, 222, 0]]),
            "front › edges › hem › runs › 1 › chain › 2: it does not start where the one before ends.",
        ),
        (
            lambda v: drawn(v)["edges"]["hem"]["runs"][0].update(chain=[[0, 0], [111, 700], [222, 0]]),
            "The outline of “front” crosses itself about ",
        ),
        (
            lambda v: drawn(v)["edges"]["hem"]["runs"][0].update(chain=[[0, 0], [220, 0]]),
            "Piece “front” is open: “hem” ends 2.000 mm from ““side” — ¾ seam”",
        ),
        (
            lambda v: v["seams"][0]["second"][0].update(edge="nowhere"),
            "Seam “side seam” is sewn to “nowhere” of “back”, which is",
        ),
        (lambda v: v["seams"][0]["matches"][0].update(second="gone"), "notch “waist” has no mate “gone” on “back”."),
        (
            lambda v: v["pieces"][1]["copies"][0].update(piece="gone"),
            "There is no piece “gone” in “Bodice for Act II”.",
        ),
        (
            lambda v: v["notes"][0].update(alteration="starch"),
            "notes › note-1: There is no alteration “starch”; there are",
        ),
        (
            lambda v: v["notes"][0].update(rule=9),
            "“Shorten or lengthen at a line” was done by its rule 9; update the program",
        ),
        (lambda v: v["notes"][0]["amounts"].update(depth=3), "has no amount called “depth”"),
        (lambda v: v["notes"][0]["amounts"].update(amount=9999), "amount goes from 0 mm to 300 mm; 9999 mm does not."),
        (lambda v: v["notes"][0]["amounts"].update(way="stretch"), "“stretch” is not."),
        (
            lambda v: v["notes"][0]["targets"].append({**v["notes"][0]["targets"][0], "amount": 3}),
            "targets › 3: the note is done to “front” there already.",
        ),
        (
            lambda v: v["notes"][0]["targets"][0].update(amount=-4),
            "targets › 1: “front”: “Shorten or lengthen at a line”: amount goes from 0 mm to 300 mm; -4 mm does not.",
        ),
        (
            lambda v: v["seams"][0]["stretches"][0].update(least=5, most=1),
            "longer by 5 mm at least and by 1 mm at most",
        ),
        (lambda v: v["seams"][0].update(first=[]), "first: none given where at least 1 is wanted."),
        (
            lambda v: drawn(v)["lines"]["lengthen"].update(chain=[[3, 5], [3, 5]]),
            "lines › lengthen: the lengthen of “front” has no length.",
        ),
        (
            lambda v: mouths(v)[0]["chain"].insert(1, [100, 100]),
            "of “front” is not one straight line across.",
        ),
        (lambda v: v["notes"].append(v["notes"][0]), "Two notes have the id “note-1”."),
        (
            lambda v: v["settings"].update(paper="b5"),
            "settings › paper: “b5” is none of a4, letter, a4-and-letter, a3, a2, a1, a0, legal, tabloid.",
        ),
        (
            lambda v: v["pieces"][0]["edges"].append(v["pieces"][0]["edges"][0]),
            "Piece “front” uses the id “hem” twice.",
        ),
        (lambda v: v["pieces"][0].update(size="12"), "pieces › front: “size” is not known here"),
        (
            lambda v: v["pieces"][0].update(name="Vorder\nteil\u0007"),
            "pieces › front › name: a line break stands in the text “Vorder teil ”.",
        ),
        (
            lambda v: v["pieces"][0]["edges"][0].update(name="hem\u0007"),
            "front › edges › hem › name: a sign that cannot be printed stands in the text “hem ”.",
        ),
        (lambda v: v["garment"].update(name="Bodice\ufffe"), "garment › name: a sign that cannot be printed stands"),
        (lambda v: v["garment"].update(for_whom="Act\u2028II"), "garment › for_whom: a line break stands in"),
        (lambda v: v["notes"][0].update(remark="too low\u0007"), "remark: a sign that cannot be printed stands in"),
        (
            lambda v: v["sizes"].update({"1\u00075": v["sizes"]["14"]}),
            "sizes: a sign that cannot be printed stands in the text “1 5”.",
        ),
    ],
)
def test_refused_in_one_sentence_that_says_where(change: Callable[[Any], object], says: str) -> None:
    value = edited(change)
    with pytest.raises(PatternError) as caught:
        read(value)
    assert says in caught.value.says
    assert caught.value.says.startswith(f"“{NAME}” ")
    assert caught.value.says.endswith(".") and "\n" not in caught.value.says
    if "is not from" not in says:
        with pytest.raises(PatternError):
            garment_file.read_bytes(json.dumps(value).encode(), NAME, shipped=True)


def test_a_refused_outline_keeps_its_place() -> None:
    with pytest.raises(PatternError) as caught:
        read(edited(lambda v: drawn(v)["edges"]["hem"]["runs"][0].update(chain=[[0, 0], [111, 700], [222, 0]])))
    assert caught.value.piece == "front" and caught.value.point is not None


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (b"", "was not opened: it is empty."),
        (
            b'{\n  "format": "tuck',
            "was not opened: it is broken at line 2, column 13 (unterminated string starting at).",
        ),
        (b'{"a": 1,}', "it is broken at line 1, column"),
        (b"\xff\xfe{}", "was not opened: byte 1 is no text in UTF-8."),
        (b'{"a": {"b": NaN}}', "was not opened: a › b: not a finite number."),
        (b'{"a": [0, -Infinity]}', "was not opened: a › 2: not a finite number."),
        (b'{"a": [{"id": "hem", "x": 1e999}]}', "was not opened: a › hem › x: not a finite number."),
        (b'{"a": ' + b"9" * 5000 + b"}", "was not opened: a: not a finite number."),
        (b'{"a": 99999999999999999}', "was not opened: a: a number too large to be meant."),
        (b'{"a": {"b": 1, "c": 2, "b": 1}}', "was not opened: a: “b” is given twice."),
        (b'{"a": "\\ud800"}', "was not opened: a: text with half a sign in it."),
        (b"[" * 51 + b"]" * 51, "nested more than 50 deep."),
        (b"[" * 200_000, "was not opened: it is nested more than 50 deep."),
        (b"[]", "is not a garment file"),
        (b"null", "is not a garment file"),
    ],
)
def test_broken_text_is_refused_in_one_sentence(text: bytes, says: str) -> None:
    with pytest.raises(PatternError) as caught:
        garment_file.read_bytes(text, NAME)
    assert says in caught.value.says
    assert caught.value.says.startswith(f"“{NAME}” ") and "\n" not in caught.value.says


def test_fifty_deep_is_read_and_extra_is_kept_as_it_is() -> None:
    deep: Any = 1
    for _ in range(48):
        deep = [deep]
    document = replace(small_document(), extra={"a": deep})
    assert read(plain_of(document)).extra == {"a": deep}
    with pytest.raises(PatternError, match=r"would not open again: .*nested more than 50 deep"):
        garment_file.to_bytes(replace(document, extra={"a": [[deep]]}))


def test_a_file_over_50_mb_is_refused(tmp_path: Path) -> None:
    path = tmp_path / NAME
    with path.open("wb") as file:
        file.truncate(garment_file.LARGEST + 1)
    with pytest.raises(PatternError, match=rf"^“{NAME}” is larger than 50 MB, so it was not read\.$"):
        garment_file.open_file(path)


def test_what_the_schema_refuses_is_not_saved() -> None:
    garment = small_document().garment
    wide = replace(garment.pieces[0], edges=tuple(replace(edge, width=1000.5) for edge in garment.pieces[0].edges))
    with pytest.raises(
        PatternError, match=r"would not open again: .* › hem › width: “1000\.5” is not from 0 up to 1000"
    ):
        garment_file.to_bytes(replace(small_document(), garment=replace(garment, pieces=(wide,))))


@pytest.mark.parametrize("extra", [{"a": math.nan}, {"a": object()}, {"a": "\ud800"}, {"a": 2**60}])
def test_what_would_not_open_again_is_not_saved(tmp_path: Path, extra: dict[str, Any]) -> None:
    path = tmp_path / NAME
    garment_file.save_file(path, small_document())
    before = path.read_bytes()
    with pytest.raises(PatternError, match="was not saved"):
        garment_file.save_file(path, replace(small_document(), extra=extra))
    assert path.read_bytes() == before


def test_sizes_that_do_not_share_everything_are_not_saved() -> None:
    other = replace(full_garment("14"), seams=())
    with pytest.raises(PatternError, match="Size “14” of “Bodice for Act II” does not share everything but its lines"):
        nested((full_garment(), other), "12")
    with pytest.raises(PatternError, match="has the size “12” twice"):
        nested((full_garment(), full_garment("12")), "12")
    document = full_document()
    changed = replace(document, garment=replace(document.garment, pieces=document.garment.pieces[:1], seams=()))
    with pytest.raises(PatternError, match="Size “14” of “Bodice for Act II” does not share everything but its lines"):
        garment_file.to_bytes(changed)


SMALL = garment_file.to_bytes(small_document())


@given(st.integers(0, len(SMALL) - 3))
def test_a_file_cut_off_anywhere_is_refused(length: int) -> None:
    with pytest.raises(PatternError):
        garment_file.read_bytes(SMALL[:length], NAME)


@given(st.integers(0, len(SMALL) - 1), st.binary(max_size=3), st.booleans())
def test_a_file_with_a_few_bytes_spoilt_opens_or_is_refused(at: int, put: bytes, shipped: bool) -> None:
    spoilt = SMALL[:at] + put + SMALL[at + len(put) :]
    opens_or_is_refused(spoilt, shipped)


ODD = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-3, 3),
    st.floats(-1e4, 1e4),
    st.sampled_from([1e308, -1e308, 5e-324, 2**53, ""]),
    st.text(max_size=4),
    st.sampled_from(["front", "hem", "straight", "seam", "start", "0", "note-1"]),
    st.lists(st.floats(-1e4, 1e4), max_size=8),
    st.lists(st.lists(st.floats(-300, 300), min_size=2, max_size=2), max_size=6),
    st.dictionaries(st.sampled_from(["id", "name", "edge", "x"]), st.text(max_size=3), max_size=3),
)


@given(st.data(), st.booleans())
@settings(max_examples=150)
def test_a_file_with_any_value_put_anywhere_opens_or_is_refused(data: st.DataObject, shipped: bool) -> None:
    value = copy.deepcopy(SMALL_PLAIN)
    for _ in range(data.draw(st.integers(1, 2))):
        here: Any = value
        key = data.draw(st.sampled_from(sorted(here)))
        while isinstance(here[key], dict | list) and here[key] and data.draw(st.integers(0, 5)):
            here = here[key]
            key = data.draw(st.sampled_from(sorted(here) if isinstance(here, dict) else list(range(len(here)))))
        here[key] = data.draw(ODD)
        if not isinstance(here, dict):
            continue
        if data.draw(st.integers(0, 9)) == 0:
            here[data.draw(st.text(max_size=3))] = here.pop(key)
    opens_or_is_refused(json.dumps(value).encode(), shipped)


SMALL_PLAIN = json.loads(SMALL)


def opens_or_is_refused(data: bytes, shipped: bool) -> None:
    """Whatever is read is a document that can be saved and opened; anything else is one sentence."""
    try:
        document = garment_file.read_bytes(data, NAME, shipped=shipped)
    except PatternError as error:
        assert error.says.startswith(f"“{NAME}” ") and error.says.endswith((".", ".”")) and "\n" not in error.says
        return
    try:
        again = garment_file.to_bytes(document)
    except PatternError as error:
        assert shipped and error.says.startswith("The garment was not saved"), "what was opened can be saved"
    else:
        assert garment_file.to_bytes(garment_file.read_bytes(again, NAME)) == again


# --- older files, and what changed since --------------------------------------------------------------------------


def test_upgrade_steps_lead_from_any_version_to_the_newest() -> None:
    steps = (lambda old: old | {"b": old["a"]}, lambda old: {k: v for k, v in old.items() if k != "a"})
    assert upgrades.newest(steps) == 3
    first = {"version": 1, "a": 7}
    assert upgrades.upgraded(first, 1, steps) == {"version": 3, "b": 7}
    assert upgrades.upgraded({"version": 2, "a": 7, "b": 8}, 2, steps) == {"version": 3, "b": 8}
    assert upgrades.upgraded({"version": 3, "b": 9}, 3, steps) == {"version": 3, "b": 9}
    assert first == {"version": 1, "a": 7}
    kept = sorted(int(path.name.split(".")[0].split("-")[1]) for path in KEPT.glob("version-*.garment.json"))
    assert kept == list(range(1, upgrades.newest() + 1)), "one kept file of every version"


def test_a_changed_length_is_a_finding_and_an_unchanged_one_is_not() -> None:
    document = full_document()
    garment = document.garment
    assert changed_on_opening(document, garment) == ()
    hem = document.results["front"]["hem"]
    for off, count in ((0.1, 0), (-0.1, 0), (0.101, 1), (-2.5, 1)):
        results = {**document.results, "front": {**document.results["front"], "hem": hem + off}}
        found = changed_on_opening(replace(document, results=results), garment)
        assert len(found) == count, off
    assert found[0].says == "“hem” of “front” is now 2.50 mm longer than when it was saved (219.5 mm)."
    assert found[0].piece == "front" and found[0].place == garment.piece("front").edge("hem").start
    (gone,) = changed_on_opening(replace(document, results={"cuff": {"hem": 20.0}}), garment)
    assert gone.says == "When it was saved, piece “cuff” had an edge “hem” of 20.0 mm; now it has none."


def test_a_note_of_an_older_rule_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    note = every_note()[0]
    newer = replace(find(note.alteration), version=3)
    monkeypatch.setattr("app.documents.find", lambda name: newer)
    (found,) = changed_on_opening(Document(full_garment(), (note,)), full_garment())
    assert found.note == "note-1" and "was written under its rule 1 and is now done by rule 3" in found.says


@pytest.mark.parametrize(
    "value", [0.0, -0.0, 1.0, -7.0, 1e-320, 0.1, 1e15, 2.0**53, 1e16, 1.7976931348623157e308, -1e-5]
)
def test_numbers_are_written_so_that_they_come_back(value: float) -> None:
    again = float(json.loads(json_text.layout(value)))
    assert again == value and math.copysign(1, again) == math.copysign(1, value)
