"""Every text in the window and its dialogs: the real window is opened, put into each of its states and read."""

from __future__ import annotations

import ast
import itertools
import pickle
import re
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from PySide6.QtCore import QEvent, QSettings
from PySide6.QtGui import QAction
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QComboBox,
    QDialog,
    QFileDialog,
    QGroupBox,
    QLabel,
    QLineEdit,
    QMenu,
    QMessageBox,
    QTextBrowser,
    QWidget,
)

from app.documents import Document, with_notes
from app.print_choice import laying_for
from app.queues import Queue
from app.session import ChangedOnDisk, Recovered, Session
from app.tracing.answering import questions_of
from app.window.actions import ACTS
from app.window.cards import NoteCard
from app.window.choosing import BlendSheet, PiecesSheet
from app.window.end_cards import ALLOWANCES, TRACED, TRUED
from app.window.exporting import ExportDialog
from app.window.laying_out import LAID_OVER, SIDE_BY_SIDE
from app.window.main import make_window
from app.window.printer_box import Printers
from app.window.printing import PrintDialog
from app.window.sample_dialog import sample_names, sample_words
from app.window.square_dialog import SquareDialog
from app.window.switch import Switch
from app.window.trace_page import TracePage
from app.window.tracing_in import trace_in
from app.window.window import MainWindow
from geometry.alterations import everything, find
from geometry.alterations.shorten_or_lengthen import LENGTHEN
from geometry.garments import Garment
from geometry.named_corners import corner_target
from geometry.notes import Address, BlendChoice, Note, Target
from geometry.pipeline import Draft, draft
from geometry.print_scale import Correction
from geometry.size_tables import Girths
from geometry.sizing import Body
from geometry.units import in_system
from tests.canon import bodice, sleeve
from tests.vocabulary_words import ROOT, SAMPLES, Word, plain

#: What puts a text on the screen or on paper, by the name it is called by in the source, and which arguments are texts.
SHOWS = {
    **dict.fromkeys(("QLabel", "QPushButton", "QCheckBox", "QRadioButton", "QMenu", "WrapButton"), (0,)),
    **dict.fromkeys(("setText", "setTitle", "setWindowTitle", "addRow", "addItem", "addAction", "addMenu"), (0,)),
    **dict.fromkeys(("_add", "_put", "_take_garment", "_asked", "show_page", "text"), (1,)),
    "Act": (2,),
    "Switch": (0, 1),
    "start_work": (0,),
    "_line": (0,),
    "draw_square": (3,),
    "draw_steps": (3,),
    "draw_list": (1,),
}


@dataclass
class Read:
    """What was read: each text with where it stands, and the names and sentences that the garments brought."""

    texts: dict[str, str] = field(default_factory=dict)
    names: set[str] = field(default_factory=set)
    said: set[str] = field(default_factory=set)

    def widget(self, root: QWidget, where: str) -> None:
        for text in texts_of(root):
            self.texts.setdefault(text, where)

    def table(self, window: MainWindow) -> None:
        """What is painted on the table: the titles of the pieces and the words beside them."""
        window.table.grab()
        scene = window.table._scene
        assert scene is not None
        for text in (scene.before_title, scene.after_title, *(one.wanted.words for one in window.table.callouts)):
            self.texts.setdefault(text.replace("\n", " "), "the table")

    def draft(self, drafted: Draft) -> None:
        self.names |= set(names_of(drafted.garment))
        self.names |= {corner.name for corner in drafted.corners}
        findings = [*drafted.findings, *(f for walk in drafted.after for f in walk.findings)]
        says = [offer.says for step in drafted.followed.steps for offer in step.offers]
        for step in drafted.followed.steps:
            findings += step.findings
            says += step.readings
        says += [finding.says for finding in findings]
        # Under the table the piece's name stands before what was found on it.
        says += [f"{drafted.garment.piece(one.piece).name}: {one.says}" for one in findings if one.piece is not None]
        self.said |= {in_system(one, "cm") for one in says} | {in_system(one, "in") for one in says}


def texts_of(root: QWidget) -> Iterator[str]:
    """Every text that a widget or its children show, or would show once they are opened or made visible."""
    yield root.windowTitle()
    for widget in (root, *root.findChildren(QWidget)):
        yield from (action.text() for action in widget.actions())
        if isinstance(widget, QLabel) and not _is_word_of_a_sentence(widget):
            yield widget.toolTip() if widget.text().endswith("…") and widget.toolTip() else widget.text()
        elif isinstance(widget, QAbstractButton):
            yield widget.toolTip().partition(": ")[2] if widget.text().endswith("… ▾") else widget.text()
            if isinstance(widget, Switch) or not any(sign.isalpha() for sign in widget.text()):
                yield widget.accessibleName()
        elif isinstance(widget, QComboBox):
            yield from (widget.itemText(at) for at in range(widget.count()))
        elif isinstance(widget, QGroupBox | QMenu):
            yield widget.title()
        elif isinstance(widget, QLineEdit):
            yield widget.placeholderText()
    yield from (action.text() for action in root.findChildren(QAction))


def _is_word_of_a_sentence(label: QLabel) -> bool:
    """Whether a label is a word of a note's sentence, which has a row as a whole."""
    parent = label.parentWidget()
    while parent is not None and not isinstance(parent, NoteCard):
        parent = parent.parentWidget()
    if parent is None:
        return False
    if not label.text().strip(" ,;:."):
        return True
    return label.text() in {*re.sub(r"\{\w+\}", " ", parent.alteration.sentence).split(), "blended"}


def names_of(garment: Garment) -> Iterator[str]:
    """What the garment itself calls its parts."""
    yield from (garment.name, garment.for_whom, garment.size, *garment.nest)
    yield from (seam.name for seam in garment.seams)
    for piece in garment.pieces:
        yield piece.name
        for part in (*piece.edges, *piece.notches, *piece.marks, *piece.darts, *piece.inner_darts, *piece.lines):
            yield part.name
            yield part.name.removesuffix(" line")


def furnished(folder: Path) -> MainWindow:
    """A shown window whose settings and recovery copies lie in a folder; an application must be running."""
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(folder / "settings"))
    window = make_window(QApplication.instance())
    window.furnish(Session(folder / "state"))
    window.show()
    return window


def read_window(window: MainWindow, patch: pytest.MonkeyPatch) -> Read:
    """Go through the window state by state, and through everything that it opens."""
    read = Read()
    read.widget(window, "the empty table")
    _answer(patch, read)
    _read_tracing(window, read)
    read.names |= {sample_words(name) for name in sample_names()}
    for sample in SAMPLES:
        window.garment_acts.open_sample(sample)
        for how in (SIDE_BY_SIDE, LAID_OVER):
            window.view_acts.arrange(how)
            _read_pieces(window, read)
    for garment in (bodice(), Garment("arm", "Arm", (sleeve(),))):
        window.session.begin(Document(garment, ()), saved=True)
        window.started_anew()
        _read_pieces(window, read)
        window.garment_acts.open_end(TRACED)
    with TemporaryDirectory() as folder:
        window.session.save(Path(folder, "arm.garment.json"))
        window.refresh()
        read.widget(window.top, "above the table")
        window.session.close()
    window.garment_acts.open_sample("undershirt.garment.json")
    _read_band(window, read)
    _read_cards(window, read)
    _read_remedies(window, read)
    _read_dialogs(window, read)
    _read_printers(window, read)
    _read_sizes(window, read)
    _read_notices(window, read)
    return read


def _read_tracing(window: MainWindow, read: Read) -> None:
    """The page on which pieces are traced in: a drawing as it is read, answered, refused and stopped."""
    with TemporaryDirectory() as folder:
        broken = Path(folder, "broken.svg")
        broken.write_bytes(b"<svg")
        drawings = sorted(path for path in (ROOT / "sample_pieces" / "tracings").iterdir() if path.suffix == ".svg")
        for paths in (drawings, [broken]):
            page = trace_in(window, paths)
            assert page is not None
            read.names |= {path.name for path in paths}
            read.widget(page, "the page of tracing while it reads")
            _wait_for(page, read)
            page.answer("line", "cutting line")
            _wait_for(page, read)
            page.confirm_all()
            read.widget(page, "the page of tracing while it works it out")
            page._work.stop()
            read.widget(page, "the page of tracing when it was stopped")
            page.reject()


def _wait_for(page: TracePage, read: Read) -> None:
    """Read the page once it has come to rest, with what the drawing and the questions about it are called."""
    for _ in range(600):
        if not page.is_busy:
            break
        QTest.qWait(50)
    assert not page.is_busy
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
    read.said |= {page.notice.words()} - {""}
    if page.outcome is not None:
        read.names |= set(names_of(page.outcome.garment))
        for traced in page.outcome.each:
            read.names |= {line.layer for line in traced.found.lines}
            for question in questions_of(traced):
                read.names |= {choice.value for choice in question.choices}
                says = (question.asks, *(choice.says for choice in question.choices))
                read.said |= {in_system(one, "cm") for one in says if one}
    read.widget(page, "the page of tracing")


def _read_pieces(window: MainWindow, read: Read) -> None:
    assert window.draft is not None
    window.garment_acts.count_pages()
    read.draft(window.draft)
    for piece in window.draft.garment.pieces:
        window.show_piece(piece.id)
        read.table(window)
        read.widget(window, f"the window with {window.draft.garment.name}")


def _read_cards(window: MainWindow, read: Read) -> None:
    """Notes switched off, not done and of each kind, and the sheets their dials open."""
    notes = list(window.session.notes)
    window.note_acts.change(replace(notes[0], on=False), False)
    window.note_acts.change(replace(notes[1], amounts=replace(notes[1].amounts, amount=60.0, height=250.0)), False)
    for alteration in everything():
        window.note_acts.write(alteration)
    _read_notes(window, read)
    longer = next(note for note in window.session.notes[2:] if note.alteration == "shorten_or_lengthen")
    longer = replace(longer, amounts=replace(longer.amounts, way=LENGTHEN))
    window.note_acts.change(replace(window.session.notes[-1], targets=()), False)
    own = tuple(replace(target, amount=12.0) for target in longer.targets)
    for blend in (BlendChoice(1.0, 20.0, 30.0), BlendChoice(0.0, 20.0), BlendChoice(0.3)):
        window.note_acts.change(replace(longer, targets=own, blend=blend), False)
        _read_notes(window, read)
    read.widget(BlendSheet(BlendChoice(), "cm"), "the sheet of the blend")
    window.note_acts.open_writing_menu()


def _read_band(window: MainWindow, read: Read) -> None:
    """A band recut to a neckline that was lowered, with the handle of its note."""
    before = window.session.document
    lower, recut = find("raise_or_lower_neckline"), find("recut_a_band")
    notes = (
        Note("note-31", lower.name, lower.checked({"way": "lower", "amount": 30.0}), (Target("front"),)),
        Note("note-32", recut.name, recut.checked({}), (Target("neckband"),)),
    )
    window.session.begin(with_notes(before, (*before.notes, *notes)), saved=True)
    window.started_anew()
    window.show_piece("neckband")
    window.strip.choose("note-32")
    read.draft(window.session.draft)
    read.table(window)
    window.session.begin(before, saved=True)
    window.started_anew()


def _read_notes(window: MainWindow, read: Read) -> None:
    assert window.draft is not None
    # What was taken off a card goes away only when Qt next turns its event loop.
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
    read.draft(window.draft)
    read.widget(window, "the window with many notes")
    for step in window.draft.followed.steps:
        window.strip.choose(step.note.id)
        read.table(window)
        sheet = PiecesSheet(step.before, step.note, window.strip.card(step.note.id).alteration, "cm")
        read.widget(sheet, "the sheet of pieces")


def _read_remedies(window: MainWindow, read: Read) -> None:
    """What is out is put right, one thing alone and then everything; corners are told what they are meant to be."""
    document = window.session.document
    longer = find("true_a_seam").checked({"way": "longer", "amount": 7.0})
    side = Note("note-1", "true_a_seam", longer, (corner_target("back", "side", True),))
    for opened in (Document(bodice(), (side,)), Document(_pointed(), ())):
        window.session.begin(opened, saved=True)
        window.started_anew()
        assert window.draft is not None
        read.draft(window.draft)
        read.widget(window, "rows that are open")
        _wait_until(lambda document=opened: "seam:sides" in window.remedies.of(document))
        found = window.remedies.of(opened)["seam:sides"]
        read.said |= set() if found is None else {in_system(found.says, "cm")}
        window.show_verdicts()
        read.widget(window.panel, "a row that says what puts it right")
        window.put_right_acts.put_right("seam:sides", "Side seam")
        _wait_until(window.truing.isHidden)
        read.draft(window.session.draft)
        read.widget(window, "what was put right")
    assert window.session.document is opened
    window.garment_acts.say_of_corner("sides:start", "points")
    read.widget(window, "a corner that points")
    window.garment_acts.say_of_corner("sides:start", "runs-on")
    read.widget(window, "a corner that is to run on")
    window.put_right_acts.put_right("corner:sides:start", "Hem at the side seam")
    read.widget(window, "while it is looked for")
    window.put_right_acts.stop()
    read.widget(window, "truing stopped")
    window.put_right_acts.true_every_seam()
    read.widget(window, "while every seam is trued")
    _wait_until(window.truing.isHidden)
    assert window.draft is not None
    read.draft(window.draft)
    read.widget(window, "every seam trued")
    window.session.begin(document, saved=True)
    window.started_anew()


def _wait_until(done: Callable[[], bool]) -> None:
    for _ in range(1200):
        if done():
            return
        QTest.qWait(50)
    raise AssertionError("what was waited for did not come")


def _pointed() -> Garment:
    """A bodice traced with the hem of its front drawn down at the side."""
    down = find("move_a_corner").checked({"way": "down", "along_centre": 60.0})
    garment = bodice()
    target = Target("front", across=(Address("hem", "end", share=0.0),))
    return draft(garment, [Note("note-1", "move_a_corner", down, (target,))]).redrawn


def _read_dialogs(window: MainWindow, read: Read) -> None:
    for act in ACTS:
        if act.name not in ("leave", "clear", "undo", "redo"):
            window.acts[act.name].trigger()
    for end in (TRACED, TRUED, ALLOWANCES):
        window.garment_acts.open_end(end)
    # A change that is not saved, which also stops what was asked for above.
    window.note_acts.switch(window.session.notes[0])
    window.garment_acts.may_let_go()
    window.garment_acts._ask_over(ChangedOnDisk("It was changed by somebody else."))
    for units in ("in", "cm"):
        window.view_acts.set_units(units)
        assert window.draft is not None
        read.draft(window.draft)
        read.widget(window, "the window")


def _read_sizes(window: MainWindow, read: Read) -> None:
    """“Which size?” for a body of one size, of two, and of three."""
    window.garment_acts.open_sample("tabard.garment.json")
    for inches in ((36.0, 28.0, 38.0), (38.0, 30.0, 40.0), (38.0, 30.0, 42.0), (36.0, 30.0, 43.5), (38.0, 28.0, 42.0)):
        window.size_acts.measured = {window.session.garment.id: Body(Girths(*(25.4 * girth for girth in inches)))}
        window.acts["which_size"].trigger()
    assert window.draft is not None
    read.draft(window.draft)


def _read_printers(window: MainWindow, read: Read) -> None:
    """Pages that go to a printer, and what its test square measures."""
    read.names |= {"Workroom"}
    assert window.draft is not None
    known = Printers((Queue("Workroom"),), {"Workroom": Correction(99.0, 100.0)})
    dialog = PrintDialog(window, window.draft, window.preferences)
    square = SquareDialog(window, "a4")
    for box in (dialog.printing.printers, square.printers):
        box.take(known)
        box.choose("Workroom")
    read.widget(dialog, "the printing page with a printer")
    square.across.set_value(99.0)
    square.read_afresh()
    read.widget(square, "the test square measured")


def _read_notices(window: MainWindow, read: Read) -> None:
    window.garment_acts._offer_recovery(Recovered(Path("copy.garment.json"), None))
    read.widget(window.notices, "the line of notices")
    window.garment_acts._work_done(Path("pages.pdf"), {"pages": [{"page": 2, "skipped": False}]})
    read.widget(window.notices, "the line of notices")


def _answer(patch: pytest.MonkeyPatch, read: Read) -> None:
    """Dialogs are read instead of shown; those that go on to ask for a file are accepted, and none is named."""

    def leave(dialog: QDialog) -> int:
        if not dialog.findChildren(QTextBrowser):
            if isinstance(dialog, PrintDialog):
                dialog._show(*laying_for(dialog._draft, dialog.asks.choice(), {}))
                dialog.tools.save_asked.emit()
                dialog.tools.open_asked.emit()
            read.widget(dialog, f"the dialog “{dialog.windowTitle()}”")
        else:
            read.texts.setdefault(dialog.windowTitle(), "the title of a page of help")
        return int(isinstance(dialog, PrintDialog | ExportDialog))

    def no_file(_: QWidget, title: str, *__: object) -> tuple[str, str]:
        read.texts.setdefault(title, "the title of a file dialog")
        return "", ""

    patch.setattr(QDialog, "exec", leave)
    patch.setattr(QMessageBox, "exec", lambda box: (leave(box), QMessageBox.StandardButton.Cancel)[1])
    patch.setattr(QFileDialog, "getOpenFileName", no_file)
    patch.setattr(QFileDialog, "getOpenFileNames", lambda *asked: ([], no_file(*asked)[1]))
    patch.setattr(QFileDialog, "getSaveFileName", no_file)


def written_words() -> Iterator[Word]:
    """Every text that the source of window and pages puts before her, with ‹› for what is filled in.

    Whole sentences are left out, and what is nothing but fillings.
    """
    for path in sorted([*(ROOT / "app" / "window").glob("*.py"), *(ROOT / "app" / "files").glob("*page*.py")]):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            name = getattr(node.func, "id", "") or getattr(node.func, "attr", "")
            shown: list[ast.AST] = [node.args[at] for at in SHOWS.get(name, ()) if at < len(node.args)]
            shown += [part for word in node.keywords if word.arg == "buttons" for part in ast.walk(word.value)]
            for text in (plain(text) for one in shown for text in _literals(one)):
                if any(sign.isalpha() for sign in text) and not text.endswith("."):
                    yield Word(text, "", path.name)


def _literals(node: ast.AST) -> Iterator[str]:
    """The texts that an expression may be, as far as they are written out in it."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.FormattedValue):
        yield from _literals(node.value) if isinstance(node.value, ast.IfExp) else ("‹›",)
    elif isinstance(node, ast.JoinedStr):
        yield from ("".join(parts) for parts in itertools.product(*(list(_literals(part)) for part in node.values)))
    elif isinstance(node, ast.IfExp):
        yield from _literals(node.body)
        yield from _literals(node.orelse)


def _keep(to: Path) -> None:
    """Read the window of an application of its own, and keep what was read in a file."""
    application = QApplication([])
    with TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        window = furnished(Path(folder))
        read = read_window(window, patch)
        to.write_bytes(pickle.dumps((read.texts, read.names, read.said)))
        window.session.close()
        window.close()
        window.deleteLater()
        application.processEvents()


if __name__ == "__main__":
    _keep(Path(sys.argv[1]))
