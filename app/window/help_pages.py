"""Help: how the window is used, every key, and what the program is."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtWidgets import QTextBrowser, QWidget

from app.window.actions import ACTS
from app.window.look import em
from app.window.page import show_page

_USING = Path(__file__).resolve().parent / "using-the-window.md"

#: Keys that belong to a part of the window and are in no menu.
PART_KEYS = (
    ("Tab, Shift+Tab", "from one number, card or button to the next"),
    ("Left, Right on a card", "the card before or after it"),
    ("Up, Down on a number", "1 mm or 1/8 in more or less; with Shift ten steps, with Alt half a step"),
    ("Page Up, Page Down on a number", "ten steps"),
    ("Enter on a number", "take what was typed; Escape leaves it as it was"),
    ("Up, Down on a word", "the word before or after it"),
    ("Space on a card", "switch the note off or on"),
    ("Delete on a card", "take the note away"),
    ("Enter on an end card", "open its settings"),
)


def show_using(parent: QWidget) -> None:
    """The page about using the window."""
    _show(parent, "Using the window", _USING.read_text(encoding="utf-8"))


def keys_text() -> str:
    """Every key, from the table of actions, as Markdown."""
    menus: dict[str, list[str]] = {}
    for act in ACTS:
        if act.keys:
            words = act.words.replace("&&", "and").replace("&", "").rstrip("…")
            menus.setdefault(act.menu.replace("&", ""), []).append(f"| {act.keys} | {words} |")
    parts = [f"### {menu}\n\n| Keys | What they do |\n|---|---|\n" + "\n".join(rows) for menu, rows in menus.items()]
    rows = "\n".join(f"| {keys} | {words} |" for keys, words in PART_KEYS)
    return "\n\n".join([*parts, f"### On a part of the window\n\n| Keys | What they do |\n|---|---|\n{rows}"]) + "\n"


def show_keys(parent: QWidget) -> None:
    _show(parent, "Keys", keys_text())


def show_about(parent: QWidget) -> None:
    _show(
        parent,
        "About Tuck & True",
        "## Tuck & True\n\nA desktop drafter: it redraws flat sewing-pattern pieces at true size from fitting notes, "
        "blends the jogged edges, walks the seams, puts the allowances on and prints on home paper.\n\n"
        "It is free software under the MIT licence. The letters that come with it are DejaVu Sans.\n\n"
        "Measure the test square before you cut. Needles, blades and irons ask for the usual care.",
    )


def _show(parent: QWidget, title: str, markdown: str) -> None:
    page = QTextBrowser()
    page.setOpenExternalLinks(True)
    page.setMarkdown(markdown)
    page.setMinimumSize(em() * 42, em() * 30)
    show_page(parent, title, page)
