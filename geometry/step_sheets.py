"""The steps of a note on one sheet: for each a small drawing with its number, and the sentence under it."""

from __future__ import annotations

from collections.abc import Sequence

from geometry.by_hand import ByHand, PieceByHand
from geometry.drawing import Drawing, Placed, Recorder
from geometry.handwork import HandStep
from geometry.letter_widths import width_mm
from geometry.motions import slide
from geometry.pens import Pen, Role
from geometry.sheets import Sheet
from geometry.sketches import draw_sketch
from geometry.units import System

COLUMNS = 2
CELL_MM, PICTURE_MM, GAP_MM = 88.0, 66.0, 8.0
TITLE_MM, HEADING_MM, BODY_MM = 4.2, 3.2, 2.5
PITCH = 1.75
_NUMBER_MM = 7.0
WIDTH_MM = COLUMNS * CELL_MM + (COLUMNS + 1) * GAP_MM


def steps_sheet(steps: ByHand, system: System = "mm") -> Sheet:
    """A sheet of all the steps of a note, ``WIDTH_MM`` wide and as high as they need."""
    rows = [_heading(steps.title, TITLE_MM)]
    for one in steps.pieces:
        rows += _piece_rows(one, system)
    height = sum(tall for tall, _ in rows) + 2 * GAP_MM
    placed, top = [], height - GAP_MM
    for tall, drawings in rows:
        top -= tall
        placed += [Placed(drawing, slide(x, top)) for x, drawing in drawings]
    return Sheet(tuple(placed), WIDTH_MM, height)


Row = tuple[float, list[tuple[float, Drawing]]]


def _piece_rows(one: PieceByHand, system: System) -> list[Row]:
    rows = [_heading(one.piece.name, HEADING_MM)]
    for first in range(0, len(one.steps), COLUMNS):
        cells = [
            _cell(one, number, step, system)
            for number, step in enumerate(one.steps[first : first + COLUMNS], first + 1)
        ]
        tall = max(height for height, _ in cells) + GAP_MM
        # Pictures stand on one line; the shorter text leaves room below.
        row = []
        for column, (height, drawing) in enumerate(cells):
            row.append((GAP_MM + column * (CELL_MM + GAP_MM), drawing.moved(slide(0.0, tall - height))))
        rows.append((tall, row))
    return rows


def _heading(words: str, height: float) -> Row:
    recorder = Recorder()
    recorder.begin("heading", words)
    recorder.text(Role.TITLE, (0.0, height), words, height, 0.0, "start")
    recorder.end()
    return height * 3.2, [(GAP_MM, recorder.drawings[0])]


def _cell(one: PieceByHand, number: int, step: HandStep, system: System) -> tuple[float, Drawing]:
    """The height of a step with its picture and sentence, and its drawing, whose foot is at nothing."""
    lines = wrapped(step.says(system), BODY_MM, CELL_MM - _NUMBER_MM)
    text = len(lines) * BODY_MM * PITCH
    recorder = Recorder()
    recorder.begin(one.piece.id, f"{one.piece.name}, step {number}")
    draw_sketch(recorder, step.sketch, (0.0, text + 3.0, CELL_MM, text + 3.0 + PICTURE_MM), system)
    _write(recorder, number, lines, text)
    recorder.end()
    return text + 3.0 + PICTURE_MM, recorder.drawings[0]


def _write(pen: Pen, number: int, lines: Sequence[str], text: float) -> None:
    y = text - BODY_MM / 2
    pen.text(Role.TITLE, (0.0, y), str(number), BODY_MM, 0.0, "start")
    for line in lines:
        pen.text(Role.LABEL, (_NUMBER_MM, y), line, BODY_MM, 0.0, "start")
        y -= BODY_MM * PITCH


def wrapped(words: str, height: float, width: float) -> list[str]:
    """Words broken into lines no wider than ``width`` mm, capitals ``height`` mm high."""
    lines = [""]
    for word in words.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and width_mm(longer, height) > width:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines
