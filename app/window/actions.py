"""Everything the window can be asked to do, once: its name in the code, its words, its keys and where it stands.

Menus, keys and the help page of keys are made from this table. The keys for leaving and for the settings are given
here, as a desktop may have none of its own for them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMenu, QMenuBar, QWidget


@dataclass(frozen=True)
class Act:
    """One thing to do. ``group`` separates it from the ones before in the menu; ``needs`` is what must be there."""

    name: str
    menu: str
    words: str
    keys: str = ""
    says: str = ""
    needs: str = ""
    group: int = 0
    ticks: bool = False


GARMENT, EDIT, NOTE, VIEW, HELP = "&Garment", "&Edit", "&Note", "&View", "&Help"

ACTS: tuple[Act, ...] = (
    Act("open", GARMENT, "&Open…", "Ctrl+O", "Open a garment, or trace pieces in from a drawing or a picture"),
    Act("sample", GARMENT, "Open a sa&mple…", "", "One of the garments that come with the program"),
    Act("markers", GARMENT, "&Marker sheets…", "", "Sheets to print and lay round a piece that is photographed"),
    Act("save", GARMENT, "&Save", "Ctrl+S", "Save the garment with its notes", "garment", 1),
    Act("save_as", GARMENT, "Save &as…", "Ctrl+Shift+S", "Save it under another name", "garment", 1),
    Act("print", GARMENT, "&Print pages…", "Ctrl+P", "Pages at true size for home paper, as a PDF", "garment", 2),
    Act("export", GARMENT, "&Export a drawing…", "Ctrl+E", "For a cutter, a plotter, a large printer", "garment", 2),
    Act("test_square", GARMENT, "What does the test s&quare measure?…", "", "Is a printer's size true?", "", 2),
    Act("which_size", GARMENT, "W&hich size?…", "", "The size for a body, level by level, with its ease", "garment", 2),
    Act("size_table", GARMENT, "Ta&ble of sizes…", "", "What body each size is for", "garment", 2),
    Act("clear", GARMENT, "&Clear the table", "Ctrl+W", "Put the garment away", "garment", 3),
    Act("leave", GARMENT, "&Leave", "Ctrl+Q", "Close the window", group=3),
    Act("undo", EDIT, "&Undo", "Ctrl+Z", "Take the last change back", "undo"),
    Act("redo", EDIT, "&Redo", "Ctrl+Shift+Z", "Do it again after all", "redo"),
    Act("settings", EDIT, "&Settings…", "Ctrl+,", "Tape measure, light or dark, size of the text, paper", group=1),
    Act("write", NOTE, "&Write the next note…", "Ctrl+N", "Choose what is to be done next", "garment"),
    Act("switch", NOTE, "Switch it &off or on", "Ctrl+Space", "The chosen note is left out or done again", "note", 1),
    Act("earlier", NOTE, "Do it &earlier", "Ctrl+Shift+Left", "Move the chosen note one place forward", "note", 1),
    Act("later", NOTE, "Do it &later", "Ctrl+Shift+Right", "Move the chosen note one place back", "note", 1),
    Act("copy", NOTE, "Write it once &more", "Ctrl+D", "The same note again, right after it", "note", 1),
    Act("by_hand", NOTE, "Do it by &hand…", "Ctrl+H", "The chosen note in steps with paper, ruler, tape", "note", 1),
    Act("remark", NOTE, "In your own wor&ds…", "Ctrl+R", "A line of your own on the chosen note", "note", 1),
    Act("remove", NOTE, "&Take it away", "Ctrl+Delete", "Remove the chosen note", "note", 1),
    Act("true", NOTE, "True e&very seam", "Ctrl+T", "Write the notes that put right what was walked", "garment", 2),
    Act("keep", NOTE, "&Keep these notes…", "", "The notes by themselves, for another size or garment", "garment", 3),
    Act("do_kept", NOTE, "D&o kept notes…", "", "Notes that were kept by themselves, done to this one", "garment", 3),
    Act("next_piece", VIEW, "Next &piece", "Ctrl+Tab", "Lay the next piece on the table", "garment"),
    Act("fit", VIEW, "&Fit to the table", "Ctrl+0", "Show the whole piece", "garment"),
    Act("closer", VIEW, "&Zoom in", "", "See closer; on the table, the key +", "garment"),
    Act("further", VIEW, "Zoom ou&t", "", "See more; on the table, the key −", "garment"),
    Act("beside", VIEW, "&Side by side", "Ctrl+1", "As traced and as redrawn beside each other", "garment", 1, True),
    Act("over", VIEW, "Laid &over", "Ctrl+2", "As redrawn over as traced", "garment", 1, True),
    Act("opened", VIEW, "Opened o&ut", "Ctrl+5", "A piece on the fold shown whole", "fold", 1, True),
    Act("cm", VIEW, "Tape measure in &cm", "Ctrl+3", "Every length in centimetres", group=2, ticks=True),
    Act("inch", VIEW, "Tape measure in &inches", "Ctrl+4", "Every length in inches", group=2, ticks=True),
    Act("sew", VIEW, "&Does it still sew?", "F6", "Show or fold away what walking the seams found", "garment", 3),
    Act("cards", VIEW, "To the &notes", "F7", "Move the keyboard to the strip of notes", "garment", 3),
    Act("larger", VIEW, "&Larger text", "Ctrl+Shift++", "", group=4),
    Act("smaller", VIEW, "S&maller text", "Ctrl+Shift+-", "", group=4),
    Act("help", HELP, "&Using the window", "F1", "How it is used"),
    Act("keys", HELP, "&Keys", "Ctrl+F1", "Every key in one list"),
    Act("about", HELP, "&About Tuck && True", ""),
)


def make_actions(parent: QWidget, does: Mapping[str, Callable[[], None]]) -> dict[str, QAction]:
    """The actions by name, each bound to what it does; every one of the table must have its function."""
    made: dict[str, QAction] = {}
    for act in ACTS:
        action = QAction(act.words, parent)
        if act.keys:
            action.setShortcut(QKeySequence(act.keys))
        if act.says:
            action.setStatusTip(act.says)
            action.setToolTip(act.says)
        action.setCheckable(act.ticks)
        action.triggered.connect(lambda _=False, do=does[act.name]: do())
        parent.addAction(action)
        made[act.name] = action
    return made


def fill_menus(bar: QMenuBar, actions: Mapping[str, QAction]) -> dict[str, QMenu]:
    """The menus in the order of the table, by title."""
    menus: dict[str, QMenu] = {}
    group = 0
    for act in ACTS:
        if act.menu not in menus:
            menus[act.menu] = bar.addMenu(act.menu)
        elif act.group != group:
            menus[act.menu].addSeparator()
        group = act.group
        menus[act.menu].addAction(actions[act.name])
    return menus


def enable(actions: Mapping[str, QAction], there: frozenset[str]) -> None:
    """Enable what can be done; ``there`` holds what is there of "garment", "fold", "note", "undo" and "redo"."""
    for act in ACTS:
        actions[act.name].setEnabled(not act.needs or act.needs in there)
