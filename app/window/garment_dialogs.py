"""What the end cards open: the garment's name and size, the widths of its allowances, how its edges were blended."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.window.dials import Lengths, NumberDial
from app.window.getting_in_rows import GettingInRows
from app.window.look import em
from app.window.page import scrolled, show_page
from app.window.sentence import share_words
from geometry.garments import Garment
from geometry.pieces import Finish
from geometry.pipeline import Draft
from geometry.stages import JogBlend
from geometry.units import System, tape_words

_WIDEST_MM = 100.0


def ask_details(parent: QWidget, garment: Garment, system: System) -> Garment | None:
    """The garment with its name, whom it is for and who gets in as she writes them; None when she leaves it."""
    name, whom = QLineEdit(garment.name), QLineEdit(garment.for_whom)
    knit = QCheckBox("it is cut from a knit")
    knit.setChecked(garment.knit)
    form = QFormLayout()
    form.addRow("garment", name)
    form.addRow("for", whom)
    form.addRow(knit)
    form.addRow("size", QLabel(garment.size or "none given"))
    for piece in garment.pieces:
        cut = ", ".join(f"{c.cloth}: {c.count} × {c.layout}" for c in piece.cutting)
        form.addRow(piece.name, QLabel(cut))
    rows = GettingInRows(form, garment, system)
    for field in (name, whom):
        field.setMinimumWidth(em() * 20)
    if not _asked(parent, "Traced in", form):
        return None
    taken = rows.taken()
    changed = (name.text().strip() or garment.name, whom.text().strip(), knit.isChecked())
    if taken is garment and changed == (garment.name, garment.for_whom, garment.knit):
        return None
    return replace(taken, name=changed[0], for_whom=changed[1], knit=changed[2])


def ask_widths(parent: QWidget, garment: Garment, system: System) -> Garment | None:
    """The garment with the widths of its allowances as she dials them; None when she leaves it."""
    form = QFormLayout()
    says = QLabel("An edge that has a width of its own, or a note on its allowance, keeps it.")
    says.setProperty("role", "quiet")
    says.setWordWrap(True)
    form.addRow(says)
    used = {edge.finish for piece in garment.pieces for edge in piece.edges}
    dials: dict[Finish, NumberDial] = {}
    for finish in Finish:
        if finish is not Finish.FOLD and finish in used:
            dials[finish] = NumberDial(finish.value, Lengths(system), 0.0, _WIDEST_MM, garment.widths[finish])
            form.addRow(finish.value, dials[finish])
    if not _asked(parent, "Allowances", form):
        return None
    widths = dict(garment.widths) | {finish: dial.value for finish, dial in dials.items()}
    return None if widths == dict(garment.widths) else replace(garment, widths=MappingProxyType(widths))


def show_blends(parent: QWidget, draft: Draft, system: System) -> None:
    """How every jog was redrawn, in a few words each."""
    rows = QVBoxLayout()
    rows.setSpacing(em() // 2)
    found = [blend for one in draft.blended.pieces.values() for blend in one.blends]
    if not found:
        rows.addWidget(QLabel("No note has left a jog; every edge is as it was traced."))
    for blend in found:
        rows.addWidget(_blend_words(draft, blend, system))
    show_page(parent, "Trued", scrolled(rows, 34, 18))


def _blend_words(draft: Draft, blend: JogBlend, system: System) -> QLabel:
    piece = draft.redrawn.piece(blend.piece)
    order = {step.note.id: number for number, step in enumerate(draft.followed.steps, 1)}
    how = "ruled straight" if blend.kind == "straight" else "drawn as a batten lies"
    before, after = (tape_words(run, system) for run in blend.run_mm)
    lines = [
        f"{piece.name}, {piece.edge(blend.edge).name}: a jog of {tape_words(blend.jog_mm, system)} from note "
        f"{order.get(blend.note, '?')}, {how} over {before} and {after}, {share_words(blend.share)} filled out."
    ]
    if blend.within_bounds is False and blend.max_curvature_ratio is not None:
        sharper = f"{blend.max_curvature_ratio:.2f} times as sharply as before"
        lines.append(f"! as fair as the length allows: it bends {sharper}.")
    label = QLabel("\n".join(lines))
    label.setWordWrap(True)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByKeyboard)
    return label


def _asked(parent: QWidget, title: str, form: QFormLayout) -> bool:
    """Show the form with a button to take it; whether it was taken."""
    dialog = QDialog(parent)
    dialog.setWindowTitle(title)
    form.setHorizontalSpacing(em())
    form.setVerticalSpacing(em() // 2)
    row = QHBoxLayout()
    row.addStretch(1)
    for words, act in (("Not now", dialog.reject), ("Take it", dialog.accept)):
        button = QPushButton(words)
        button.setAutoDefault(False)
        button.clicked.connect(act)
        row.addWidget(button)
    button.setProperty("role", "main")
    layout = QVBoxLayout(dialog)
    layout.setContentsMargins(em(), em(), em(), em())
    layout.setSpacing(em())
    layout.addLayout(form)
    layout.addLayout(row)
    return dialog.exec() == QDialog.DialogCode.Accepted
