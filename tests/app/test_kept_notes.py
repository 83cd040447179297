"""A client's notes kept by themselves and done to another size or another garment; nothing is dropped."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import sample_pieces
from app.command_line import main
from app.documents import Document, with_size
from app.files import notes_file
from app.files.garment_file import open_file, save_file
from app.files.schema import garment_schema
from app.kept_notes import fitted, kept
from geometry.alterations import find
from geometry.errors import PatternError
from geometry.notes import Address, Note, Target
from geometry.pipeline import draft
from sample_pieces.draft import tabard, undershirt
from tests.canon import bodice


def note(number: int, name: str, *targets: Target, **values: Any) -> Note:
    alteration = find(name)
    return Note(
        f"note-{number}", name, alteration.checked(values), targets, rule=alteration.version, remark="As pinned."
    )


def document() -> Document:
    """The undershirt with four notes of a client: two pieces, an edge, a line of its own, and the sleeve."""
    notes = (
        note(1, "shorten_or_lengthen", Target("front", line="front.lengthen"), Target("back"), amount=25.0),
        note(2, "take_in_or_let_out", Target("front", edge="front.side"), waist=5.0),
        note(3, "shorten_or_lengthen", Target("front", across=(Address("front.side", "start", length=90.0),)),
             Target("back", across=(Address("back.side", "end", share=0.7),)), amount=5.0, line="line drawn across"),
        note(4, "shorten_or_lengthen", Target("sleeve"), amount=10.0),
    )  # fmt: skip
    return Document(undershirt(), notes, notes_written=4)


def test_kept_and_opened_is_the_same_to_the_byte(tmp_path: Path) -> None:
    found = kept(document())
    assert [piece.id for piece in found.pieces] == ["front", "back", "sleeve"] and found.size == undershirt().size
    notes_file.save_file(tmp_path / "a.notes.json", found)
    again = notes_file.open_file(tmp_path / "a.notes.json")
    assert (again.notes, again.pieces, again.garment) == (found.notes, found.pieces, found.garment)
    assert notes_file.to_bytes(again) == (tmp_path / "a.notes.json").read_bytes()


def test_every_sample_with_notes_keeps_them() -> None:
    for name in sample_pieces.names():
        opened, _ = open_file(sample_pieces.path(name))
        if opened.notes:
            found = notes_file.read_bytes(notes_file.to_bytes(kept(opened)))
            again = fitted(replace(opened, notes=(), notes_written=0), found)
            assert [n.targets for n in again.written] == [n.targets for n in opened.notes]


def test_on_another_size_of_the_same_nest_they_are_done_by_id() -> None:
    shorten = note(1, "shorten_or_lengthen", Target("front"), Target("back"), amount=20.0)
    made = fitted(with_size(Document(tabard()), "18"), kept(Document(tabard(), (shorten,))))
    assert made.said == ("“Front” was found by its id.", "“Back” was found by its id.")
    done = draft(made.document.garment, made.document.notes)
    assert [step.done for step in done.followed.steps] == [True] and made.written[0].remark == "As pinned."


def test_on_another_garment_edges_and_lines_are_found_by_what_they_are() -> None:
    """The canon's bodice calls its side “side” where the undershirt says “front.side”, and it has no sleeve."""
    before = note(1, "shorten_or_lengthen", Target("front"), Target("back"), amount=3.0)
    made = fitted(Document(bodice(), (before,), notes_written=7), kept(document()))
    assert [one.id for one in made.document.notes] == ["note-1", "note-8", "note-9", "note-10", "note-11"]
    by_line, by_edge, by_place, sleeve = made.written
    assert by_line.targets[0].line == "lengthen" and by_edge.targets == (Target("front", edge="side"),)
    assert by_place.targets[1].across == (Address("side", "end", share=0.7),)
    assert "“side seam” of “front” was found by what it is and its name: “side seam”." in made.said
    assert "note-11 is not done: there is no piece like “Sleeve” here." in made.said
    steps = draft(made.document.garment, made.document.notes).followed.steps
    assert [step.done for step in steps] == [True, True, True, True, False]
    assert sleeve.targets == (Target("sleeve"),) and "sleeve" in steps[-1].findings[0].says


def test_pieces_are_found_by_their_edges_and_by_their_names() -> None:
    other = bodice()
    renamed = tuple(replace(piece, id=f"{piece.id}-2", name=f"New {piece.name}") for piece in other.pieces[:1])
    garment = replace(other, pieces=renamed, seams=())
    shorten = note(1, "shorten_or_lengthen", Target("front"), amount=3.0)
    found = kept(Document(bodice(), (shorten,)))
    made = fitted(Document(garment), found)
    assert made.written[0].targets == (Target("front-2"),)
    assert made.said == ("“front” was found by the kinds of its edges: “New front”.",)
    named = replace(garment, pieces=(replace(renamed[0], name="FRONT"),))
    bare = replace(found, pieces=(replace(found.pieces[0], edges=()),))
    assert fitted(Document(named), bare).said == ("“front” was found by its name: “FRONT”.",)


def test_two_pieces_that_are_one_here_are_done_once() -> None:
    front = bodice().pieces[0]
    two = replace(bodice(), pieces=(replace(front, id="left"), replace(front, id="right")), seams=())
    one = replace(bodice(), pieces=(front,), seams=())
    shorten = note(1, "shorten_or_lengthen", Target("left"), Target("right", amount=9.0), amount=3.0)
    made = fitted(Document(one), kept(Document(two, (shorten,))))
    assert made.written[0].targets == (Target("front"),)


def test_what_is_written_fits_the_schema_beside_the_garments() -> None:
    """The schema is valid by the draft 2020-12 meta-schema as the jsonschema library holds it."""
    from jsonschema import Draft202012Validator

    text = Path(notes_file.__file__).with_name("notes.schema.json").read_text(encoding="utf-8")
    Draft202012Validator.check_schema(json.loads(text))
    whole = json.loads(text.replace("garment.schema.json#", "#"))
    assert not whole["$defs"].keys() & garment_schema()["$defs"].keys()
    whole["$defs"] |= garment_schema()["$defs"]
    validator = Draft202012Validator(whole)
    plain = json.loads(notes_file.to_bytes(kept(document())))
    assert validator.is_valid(plain)
    for change in ({"colour": "red"}, {"version": 2}, {"pieces": [{"id": "front"}]}, {"notes": [{"id": "note-1"}]}):
        assert not validator.is_valid(plain | change), change


def test_what_has_no_notes_keeps_none() -> None:
    with pytest.raises(PatternError, match="has no notes to keep yet"):
        kept(Document(bodice()))


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda v: v.update(format="recipe"), "is no file of notes"),
        (lambda v: v.update(version=2), "“2” is no version known here"),
        (lambda v: v.update(colour="red"), "“colour” is not known here"),
        (lambda v: v.pop("notes"), "“notes” is missing"),
        (lambda v: v["pieces"][0].pop("name"), "pieces › front: “name” is missing"),
        (lambda v: v["notes"][0]["amounts"].update(amount=9999), "amount goes from 0 mm to 300 mm; 9999 mm does not"),
        (lambda v: v["notes"][0].update(alteration="magic"), "There is no alteration “magic”"),
    ],
)
def test_a_broken_file_is_refused_in_one_sentence(change: Callable[[Any], object], says: str) -> None:
    value = json.loads(notes_file.to_bytes(kept(document())))
    change(value)
    with pytest.raises(PatternError) as caught:
        notes_file.read_bytes(json.dumps(value).encode(), "hers.notes.json")
    assert says in caught.value.says and "\n" not in caught.value.says


def test_the_command_line_keeps_and_does_them(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    one, other, notes = (tmp_path / n for n in ("a.garment.json", "b.garment.json", "hers.notes.json"))
    save_file(one, document())
    save_file(other, Document(bodice()))
    assert main(["notes", "save", str(one), "--out", str(tmp_path / "hers.json")]) == 2
    assert "should end in .notes.json" in capsys.readouterr().err
    assert main(["notes", "save", str(one), "--out", str(notes)]) == 0
    assert "4 notes of “Undershirt”" in capsys.readouterr().out
    assert main(["notes", "apply", str(other), str(notes)]) in (0, 1)
    said = capsys.readouterr().out
    assert "note-4 is not done: there is no piece like “Sleeve” here." in said and "note-4 (not done)" in said
    assert len(open_file(other)[0].notes) == 4
    before = other.read_bytes()
    notes.write_text("{}")
    assert main(["notes", "apply", str(other), str(notes)]) == 2 and other.read_bytes() == before
