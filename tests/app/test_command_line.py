"""The command line as a person types it: what is written, what is said, what is refused."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from app.command_line import main
from app.documents import Document
from app.files.garment_file import open_file, save_file
from geometry.allowances import cut_lines
from geometry.alterations import everything, find
from geometry.garments import Garment
from geometry.notes import Note, Target
from geometry.pieces import Piece, Run
from geometry.pipeline import Draft, draft
from geometry.tolerances import TRUE_MM
from tests.canon import bodice, sleeve

SHORTEN, TUCK = find("shorten_or_lengthen"), find("armhole_too_low")


@pytest.fixture
def garment(tmp_path: Path) -> Path:
    notes = (
        Note("note-1", SHORTEN.name, SHORTEN.checked({"amount": 25.0}), (Target("front"), Target("back"))),
        Note("note-2", TUCK.name, TUCK.checked({"amount": 6.0}), (Target("front"), Target("back"))),
    )
    path = tmp_path / "bodice.garment.json"
    save_file(path, Document(bodice(), notes))
    return path


def run_json(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, dict[str, Any]]:
    capsys.readouterr()
    status = main([*(str(word) for word in words), "--json"])
    return status, json.loads(capsys.readouterr().out)


def test_the_demo_writes_its_six_files_and_says_each_step(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["demo", str(tmp_path / "out")]) == 0
    said = capsys.readouterr().out
    expected = {"garment.garment.json", "before.svg", "after.svg", "after.dxf", "tiles-a4.pdf", "report.json"}
    assert {file.name for file in (tmp_path / "out").iterdir()} == expected
    for name in expected:
        assert f"{name}" in said and (tmp_path / "out" / name).stat().st_size > 1000
    assert "shorten by 25 mm" in said and "tuck out 6 mm" in said
    values = json.loads((tmp_path / "out" / "report.json").read_text())
    assert {seam["verdict"] for seam in values["seams"]} <= {"true", "ease"}
    assert {blend["note"] for blend in values["blends"]} == {"note-1", "note-2"}
    assert all(blend["within_bounds"] is not False for blend in values["blends"])
    assert all(piece["after"]["cut_outline_mm"] for piece in values["pieces"])


def test_the_demo_is_the_same_to_the_byte_twice(tmp_path: Path) -> None:
    for name in ("a", "b"):
        env = os.environ | {"PYTHONHASHSEED": "1" if name == "a" else "2"}
        subprocess.run(
            [sys.executable, "-m", "app", "demo", str(tmp_path / name)],
            check=True,
            env=env,
            capture_output=True,
        )
    for file in sorted((tmp_path / "a").iterdir()):
        assert file.read_bytes() == (tmp_path / "b" / file.name).read_bytes(), file.name


def test_the_report_agrees_with_itself(garment: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, values = run_json(capsys, "walk", garment)
    assert status == 0
    named = ["format", "version", "units", "tolerances", "pieces", "seams", "openings", "blends", "findings"]
    assert list(values) == named
    for piece in values["pieces"]:
        for state in (piece["before"], piece["after"]):
            points = np.array(state["outline_mm"])
            outline = shapely.Polygon(points)
            assert outline.is_valid and outline.exterior.is_ccw
            assert outline.area == pytest.approx(state["area_mm2"], abs=0.05)
            assert shapely.Polygon(state["cut_outline_mm"]).contains(outline.buffer(-0.01))
            for edge, following in zip(state["edges"], state["edges"][1:] + state["edges"][:1], strict=True):
                assert edge["to_index"] == following["from_index"]
                stop = edge["to_index"] or len(points)
                run = np.vstack([points, points[:1]])[edge["from_index"] : stop + 1]
                assert np.hypot(*np.diff(run, axis=0).T).sum() == pytest.approx(edge["length_mm"], abs=0.02)
    for seam in values["seams"]:
        assert seam["difference_mm"] == pytest.approx(seam["second_mm"] - seam["first_mm"], abs=2e-4)
        assert seam["stage"] in ("before", "after")
        if abs(seam["difference_mm"]) <= TRUE_MM:
            assert seam["verdict"] in ("true", "ease")


def test_the_first_corner_of_the_traced_frame_is_the_first_point(
    garment: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _, values = run_json(capsys, "walk", garment)
    front = values["pieces"][0]
    # The hem's first corner is at (0, 0) on the tracing; the hem side of the line stays where it was.
    assert front["before"]["outline_mm"][0] == [0.0, 0.0] and front["after"]["outline_mm"][0] == [0.0, 0.0]


def test_a_fault_that_a_note_caused_ends_with_1_and_a_traced_one_with_0(
    garment: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["notes", "add", str(garment), "shorten-or-lengthen", "--on", "front", "--amount", "10mm"]) == 1
    status, values = run_json(capsys, "walk", garment)
    assert status == 1
    sides = next(s for s in values["seams"] if s["stage"] == "after" and s["id"] == "sides")
    assert sides["verdict"] == "fault" and sides["since"] == "note-3"
    finding = next(f for f in values["findings"] if f["code"] == "seam-fault")
    assert "since note 3" in finding["says"] and finding["note"] == "note-3" and finding["place_mm"]


def test_notes_are_listed_changed_switched_moved_and_removed(garment: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["notes", "change", str(garment), "note-1", "--amount", "1 1/2 in"]) == 0
    assert "“1 1/2 in” understood as 38.1 mm" in capsys.readouterr().out
    assert open_file(garment)[0].notes[0].amounts.amount == 38.1
    assert main(["notes", "off", str(garment), "1"]) == 0
    assert main(["notes", "move", str(garment), "note-2", "1"]) == 0
    document = open_file(garment)[0]
    assert [note.id for note in document.notes] == ["note-2", "note-1"] and not document.notes[1].on
    assert main(["notes", "remove", str(garment), "note-2"]) == 0
    assert [note.id for note in open_file(garment)[0].notes] == ["note-1"]
    status, values = run_json(capsys, "notes", "list", garment)
    assert status == 0 and values["notes"][0]["says"].startswith("shorten by 38.1 mm")


def test_a_note_id_is_never_used_again(garment: Path) -> None:
    assert main(["notes", "remove", str(garment), "note-2"]) == 0
    assert main(["notes", "add", str(garment), "armhole-too-low", "--on", "front,back", "--amount", "3mm"]) == 0
    assert [note.id for note in open_file(garment)[0].notes] == ["note-1", "note-3"]


def test_a_line_is_drawn_across_by_places_on_edges(garment: Path) -> None:
    words = ["notes", "add", str(garment), "shorten-or-lengthen", "--on", "front", "--on", "back", "--amount", "5mm"]
    words += ["--line", "line drawn across", "--across", "front:side@40%", "--across", "back:side@40%"]
    assert main(words) == 0
    note = open_file(garment)[0].notes[-1]
    assert [address.share for target in note.targets for address in target.across or ()] == [0.4, 0.4]


def test_edges_are_named_for_notes_about_seams(garment: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["notes", "add", str(garment), "sew-seam-at", "--on", "front", "--width", "10mm"]) == 2
    assert "Say which edge of “front” is meant" in capsys.readouterr().err
    assert main(["notes", "add", str(garment), "sew-seam-at", "--on", "front:side", "--width", "10mm"]) == 0


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["print", "GARMENT", "--overlap", "-5mm"], "by 0 to meet edge to edge; -5 mm is neither."),
        (["notes", "move", "GARMENT", "note-1", "first"], "“first” is no whole number"),
        (["walk", "nowhere.garment.json"], "nowhere.garment.json"),
        (["walk"], "GARMENT"),
        (["dance"], "dance"),
        (["print", "GARMENT", "--paper", "a5", "--out", "x.pdf"], "a5"),
        (["print", "GARMENT", "--margin", "90mm", "--out", "x.pdf"], "margin"),
        (["print", "GARMENT", "--overlap", "1,234.5", "--out", "x.pdf"], "1,234.5"),
        (["export", "GARMENT", "--out", "x.png"], "x.png"),
        (["print", "GARMENT", "--out", "x.svg"], "x.svg"),
        (["export", "GARMENT", "--out", "no/such/folder/x.svg"], "folder"),
        (["redraw", "GARMENT", "--out", "x.txt"], "x.txt"),
        (["notes", "change", "GARMENT", "note-9", "--amount", "3mm"], "note-9"),
        (["notes", "change", "GARMENT", "note-1", "--height", "3mm"], "has no amount “height”"),
        (["notes", "change", "GARMENT", "note-1", "--amount", "a lot"], "a lot"),
        (["notes", "add", "GARMENT", "shorten-or-lengthen", "--on", "frnot"], "frnot"),
        (["notes", "move", "GARMENT", "note-1", "7"], "no place 7"),
        (["notes", "change", "GARMENT", "note-1"], "Say what of “note-1” is to be another"),
        (["notes", "change", "GARMENT", "note-1", "--blend-share", "2"], "--blend-share goes from 0 to 1 (100%); “2”"),
        (["notes", "change", "GARMENT", "note-1", "--blend-share", "nan"], "“nan” is not a share"),
        (["notes", "change", "GARMENT", "note-1", "--blend-after", "-5"], "--blend-after goes from 0 mm to 10000 mm"),
        (["notes", "change", "GARMENT", "note-1", "--own-amount", "front:-5"], "goes from 0 mm to 300 mm; -5 mm does"),
        (["notes", "change", "GARMENT", "note-1", "--own-line", "front:chest"], "“front” has no line “chest”; it has"),
        (["notes", "change", "GARMENT", "note-1", "--across", "front:side@9m"], "so there is no place 9000.0 mm along"),
        (["notes", "change", "GARMENT", "note-1", "--across", "front:chest@9%"], "has no edge “chest”"),
        (["notes", "change", "GARMENT", "note-1", "--across", "front:side@9%,hem@1,hem@2"], "names 3"),
        (["notes", "add", "GARMENT", "hem", "--on", "front", "--own-amount", "front:9"], "a piece can have its own of"),
        (["redraw", "GARMENT", "--out", "GARMENT"], "is the garment itself"),
        (["demo", ""], "has no name"),
        (["export", "GARMENT", "--out", "x.dxf", "--roll", "914mm", "--sheet", "a0"], "--roll or --sheet, not both"),
        (["print", "GARMENT", "--landscape", "--either-way"], "--landscape or --either-way"),
    ],
)
def test_what_is_refused_is_refused_in_one_sentence_and_changes_nothing(
    words: list[str], says: str, garment: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(garment.parent)
    before = garment.read_bytes()
    words = [str(garment) if word == "GARMENT" else word for word in words]
    assert main(words) == 2
    heard = capsys.readouterr()
    assert heard.out == "" or "understood" in heard.out
    assert says in heard.err and len(heard.err.strip().splitlines()) == 1
    assert garment.read_bytes() == before and not list(garment.parent.glob("x.*"))
    status, values = run_json(capsys, *words)
    assert status == 2 and list(values) == ["error"] and list(values["error"]) == ["says", "where"]
    assert says in values["error"]["says"]


def test_every_length_of_a_note_is_said_as_it_was_understood(
    garment: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["--own-amount", "front:1/2", "--blend-before", "1 1/2 in", "--blend-after", "4 cm"]
    words += ["--across", "front:side@-3 in,fold@40%"]
    assert main(["notes", "change", str(garment), "note-1", *words]) in (0, 1)
    said = capsys.readouterr().out.splitlines()
    assert [line for line in said if "understood" in line] == [
        "own amount of “front”: “1/2” understood as 12.7 mm",
        "blend before the cut: “1 1/2 in” understood as 38.1 mm",
        "blend after the cut: “4 cm” understood as 40 mm",
        "from the end of “side”: “3 in” understood as 76.2 mm",
    ]


def test_what_is_too_much_for_a_piece_is_done_to_none_and_says_how_much_fits(
    garment: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    def add(amount: str) -> dict[str, Any]:
        for number in ("2", "1"):
            main(["notes", "remove", str(garment), number])
        status, values = run_json(capsys, "notes", "add", garment, "shorten-or-lengthen", "--amount", amount)
        assert status in (0, 1)
        note: dict[str, Any] = values["notes"][-1]
        return note

    for too_much in ("300", "150"):
        note = add(too_much)
        assert not note["done"] and "on front, back, away from the hem" in note["says"]
        [finding] = note["findings"]
        fits = finding["says"].partition("The largest amount that fits is ")[2].removesuffix(".")
        assert finding["place_mm"] is not None and fits.endswith(" mm")
        assert add(fits)["done"]


def test_a_line_that_no_piece_has_is_said_for_the_pieces_that_are_usually_cut(
    garment: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _, values = run_json(capsys, "notes", "add", garment, "shorten-or-lengthen", "--line", "hip line")
    says = [finding["says"] for finding in values["notes"][-1]["findings"]]
    assert says == ["Not done: “front” has no hip line; choose another line or draw one across."]


def test_where_a_file_is_wrong_names_the_file(garment: Path, capsys: pytest.CaptureFixture[str]) -> None:
    garment.write_bytes(garment.read_bytes()[:-200])
    _, values = run_json(capsys, "walk", garment)
    assert values["error"]["where"] == {"file": str(garment)}


def test_json_leaves_everything_else_to_standard_error(garment: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = garment.parent / "pages.pdf"
    assert main(["print", str(garment), "--paper", "letter", "--overlap", "1/2 in", "--out", str(out), "--json"]) == 0
    heard = capsys.readouterr()
    values = json.loads(heard.out)
    assert "understood as 12.7 mm" in heard.err
    page = values["pages"][0]
    assert {"page", "row", "column", "live_mm", "origin_mm", "turned_deg", "skipped"} <= set(page)
    assert [len(one["transform"]) for one in values["sheet"]] == [6, 6]


def test_a_piece_without_an_armhole_is_said_and_the_rest_goes_on(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "sleeve.garment.json"
    save_file(path, Document(Garment("s", "sleeve alone", (sleeve(),))))
    assert main(["notes", "add", str(path), "armhole-gapes", "--on", "sleeve", "--amount", "5mm"]) == 0
    assert "not done" in capsys.readouterr().out.lower()


def test_redrawing_into_a_garment_gives_one_that_needs_no_notes(
    garment: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = garment.parent / "redrawn.garment.json"
    assert main(["redraw", str(garment), "--out", str(out)]) == 0
    _, first = run_json(capsys, "walk", garment)
    _, second = run_json(capsys, "walk", out)
    assert open_file(out)[0].notes == ()
    for a, b in zip(first["pieces"], second["pieces"], strict=True):
        assert a["after"]["outline_mm"] == b["before"]["outline_mm"] == b["after"]["outline_mm"]


def test_every_alteration_has_its_options_and_help_from_its_declaration(capsys: pytest.CaptureFixture[str]) -> None:
    for alteration in everything():
        with pytest.raises(SystemExit) as stop:
            main(["notes", "add", "g.json", alteration.name.replace("_", "-"), "--help"])
        assert stop.value.code == 0
        words = capsys.readouterr().out
        for name in alteration.fields():
            assert f"--{name.replace('_', '-')}" in words


def test_no_command_needs_a_display_or_loads_the_window(garment: Path) -> None:
    script = (
        "import sys; from app.command_line import main; "
        f"status = main(['walk', {str(garment)!r}]); "
        "assert not any(name.startswith('PySide6') for name in sys.modules); sys.exit(status)"
    )
    env = {
        key: value for key, value in os.environ.items() if key not in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    }
    assert subprocess.run([sys.executable, "-c", script], env=env, capture_output=True).returncode == 0


def test_pieces_traced_on_their_cutting_line_are_set_in(garment: Path, capsys: pytest.CaptureFixture[str]) -> None:
    document = open_file(garment)[0]
    given = document.garment
    drafted = draft(given, ())
    outside = []
    for piece in given.pieces:
        cut = cut_as_traced(given, piece.id, drafted)
        outside.append(cut)
    traced = garment.parent / "cutting.garment.json"
    save_file(traced, Document(replace(given, pieces=tuple(outside))))
    assert main(["set-in", str(traced), "--on", "front,back"]) == 0
    assert "set in by the width of each edge" in capsys.readouterr().out
    assert main(["set-in", str(traced), "--on", "front"]) == 2
    assert "“front” was set in before" in capsys.readouterr().err
    found = open_file(traced)[0].garment
    for piece in given.pieces:
        for edge in piece.edges:
            assert found.piece(piece.id).edge(edge.id).length == pytest.approx(edge.length, abs=0.03)


def cut_as_traced(garment: Garment, piece_id: str, drafted: Draft) -> Piece:
    """The piece with its cutting line for an outline, edge by edge, as a tracing of a bought pattern gives it."""
    piece = garment.piece(piece_id)
    parts = cut_lines(garment, piece, [edge.chain for edge in piece.edges])
    edges = tuple(replace(part.edge, runs=(Run(part.line),)) for part in parts)
    notches = tuple(
        replace(
            n, place=replace(n.place, u=next(p for p in parts if p.edge.id == n.place.edge).line.nearest(c.at_cut)[0])
        )
        for n, c in zip(piece.notches, drafted.cut_before[piece_id].notches, strict=True)
    )
    return replace(piece, edges=edges, notches=notches)


def test_results_kept_in_the_file_are_those_of_its_notes(garment: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["notes", "change", str(garment), "note-1", "--amount", "10mm"]) == 0
    capsys.readouterr()
    assert main(["walk", str(garment)]) == 0
    assert "when it was saved" not in capsys.readouterr().out


def test_a_traced_difference_is_accepted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    import sample_pieces

    path = tmp_path / "pair.garment.json"
    path.write_bytes(sample_pieces.path("traced-pair.garment.json").read_bytes())
    assert main(["walk", str(path)]) == 0
    assert "warn, so in the tracing" in capsys.readouterr().out
    assert main(["accept", str(path), "sides"]) == 0
    assert "+2.0 mm is accepted as traced" in capsys.readouterr().out
    assert main(["walk", str(path)]) == 0
    assert "side seam: 386.3 / 388.3 mm, +2.0 mm (was +2.0): ease" in capsys.readouterr().out
    assert main(["accept", str(path), "nothing"]) == 2


def test_a_length_that_changed_since_saving_is_a_finding(garment: Path, capsys: pytest.CaptureFixture[str]) -> None:
    document = open_file(garment)[0]
    drafted = draft(document.garment, document.notes)
    lengths = {p.id: {e.id: e.length for e in p.edges} for p in drafted.redrawn.pieces}
    lengths["front"]["side"] += 0.2
    save_file(garment, replace(document, results=lengths))
    _, values = run_json(capsys, "walk", garment)
    (finding,) = [f for f in values["findings"] if f["code"] == "length-changed"]
    assert finding["piece"] == "front" and "0.20 mm shorter" in finding["says"]


def test_stopping_a_command_is_one_sentence(
    garment: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("app.commands.draft", stopped)
    status, values = run_json(capsys, "walk", garment)
    assert status == 2 and values["error"]["says"] == "Stopped; nothing was left half written."


def test_openings_are_told_and_what_is_said_of_them_is_kept(
    garment: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The canon bodice, woven as drafted; 40 % and 30 mm of each shoulder: the ring x 1.4 and four sides of 30 mm."""
    status, before = run_json(capsys, "openings", garment)
    (neck,) = before["openings"]
    assert status == 0 and neck["ring"] == "neck" and not neck["passes"] and neck["assumed"] == ["head"]
    said = ("--stretch", "40%", "--head", "22 1/2 in", "--open", "front:shoulder@-30mm", "--with", "buttons")
    _, after = run_json(capsys, "openings", garment, *said)
    (now,) = after["openings"]
    assert now["girth_mm"] == 571.5 and now["assumed"] == [] and now["slit_mm"] == 120.0
    assert now["opens_mm"] == pytest.approx(neck["rest_mm"] * 1.4 + 120.0, abs=1e-3)
    assert run_json(capsys, "openings", garment)[1] == after, "it was saved"
    _, shut = run_json(capsys, "openings", garment, "--close", "opening-1")
    assert shut["openings"][0]["slit_mm"] == 0.0
    for wrong, says in (
        (("--stretch", "much"), "is no stretch"),
        (("--stretch", "wool:20%"), "is no cloth"),
        (("--open", "front"), "names no edge"),
        (("--open", "front:shoulder@2m"), "cannot be open for"),
        (("--close", "gate"), "There is no opening “gate”"),
    ):
        status, values = run_json(capsys, "openings", garment, *wrong)
        assert status == 2 and says in values["error"]["says"]
