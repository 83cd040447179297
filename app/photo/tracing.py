"""A photograph or a scan as one of the ways in: its pieces' outlines handed over like any drawing's lines."""

from __future__ import annotations

import math

from app.photo.known_sizes import by_corners, by_resolution
from app.photo.marker_sheets import RULE_MM
from app.photo.photographs import Flattened, by_markers, pieces
from app.photo.reading import Read, read_picture
from app.tracing.found import Found, FoundLine
from app.tracing.limits import refused
from app.tracing.questions import Answers, Question, settled
from geometry.errors import PatternError
from geometry.motions import Point
from geometry.units import read_length


def read_photo(data: bytes, name: str, answers: Answers) -> Found:
    """The cut-out pieces in a picture, at true size. Raises PatternError as reading, finding and solving do.

    The size comes from marker sheets; from four known corners where the answers “corners” (pixels) and “corner-size”
    (width x height) are given; from the resolution where “scan” is given.
    """
    try:
        flattened, questions = _sized(read_picture(data), answers)
        found = pieces(flattened)
    except PatternError as error:
        raise refused(name, error.says[:1].lower() + error.says[1:]) from error
    return Found(
        "photo",
        tuple(
            FoundLine(one.outline.chain, closed=True, name=f"Piece {number}", group=f"piece-{number}")
            for number, one in enumerate(found, 1)
        ),
        size_source=flattened.size_source,
        error_mm=math.ceil(max(one.error_mm for one in found) * 1000) / 1000,
        questions=questions,
        findings=(*flattened.findings, *(finding for one in found for finding in one.findings)),
    )


def _sized(read: Read, answers: Answers) -> tuple[Flattened, tuple[Question, ...]]:
    if "corners" in answers or "corner-size" in answers:
        return by_corners(read.pixels, *_corners(answers)), ()
    if "scan" in answers:
        asked = Question("scan", "How many pixels an inch was it scanned with?", _dpi(read), "--scan")
        answer = settled(asked, answers).answer
        across, down = read.dpi or (0.0, 0.0)
        if answer != "as the file says":
            across = down = _number(answer, "--scan")
        return by_resolution(read.pixels, (across, down)), (settled(asked, answers),)
    rule = Question("rule", "What does the rule on the printed marker sheets measure?", f"{RULE_MM:g} mm", "--rule")
    rule = settled(rule, answers)
    return by_markers(read.pixels, read_length(rule.answer).mm), (rule,)


def _dpi(read: Read) -> str:
    return "as the file says" if read.dpi else ""


def _number(words: str, option: str) -> float:
    try:
        return float(words)
    except ValueError:
        raise PatternError(f"{option} “{words}” should be a number of pixels an inch.") from None


def _corners(answers: Answers) -> tuple[list[Point], tuple[float, float]]:
    """Four corners in pixels and the width and height between them in mm."""
    words = answers.get("corners", "").replace(",", " ").split()
    sides = answers.get("corner-size", "").split("x")
    try:
        numbers = [float(word) for word in words]
    except ValueError:
        numbers = []
    if len(numbers) != 8 or len(sides) != 2:
        raise PatternError(
            "--corners should be four points in pixels, “x,y x,y x,y x,y”, round from the lower left, with "
            "--corner-size, such as 210mmx297mm."
        )
    points = [(numbers[at], numbers[at + 1]) for at in range(0, 8, 2)]
    return points, (read_length(sides[0]).mm, read_length(sides[1]).mm)
