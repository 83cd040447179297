"""A photograph or a scan as one of the ways in: its pieces' outlines handed over like any drawing's lines."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from app.photo.each_picture import of_picture
from app.photo.following import Followed, followed
from app.photo.hand_points import by_hand
from app.photo.joined_pictures import together
from app.photo.known_sizes import by_corners, by_resolution, checked
from app.photo.line_doubts import Doubt
from app.photo.marker_sheets import RULE_MM
from app.photo.pen_lines import LineSide, PenOutline, pen_outline, pen_with_error
from app.photo.photographs import Flattened, PhotoOutline, by_markers, pieces
from app.photo.reading import Read, read_picture
from app.photo.shown import laid_flat_picture, picture_as_taken
from app.tracing.found import Found, FoundLine
from app.tracing.limits import refused
from app.tracing.questions import Answers, Question, settled
from app.tracing.watching import UNWATCHED, Watch
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.motions import FloatArray, Point
from geometry.units import read_length

#: What cameras and scanners call their pictures, and what calls no piece by name.
_CAMERAS_NAME = re.compile(r"(img|dsc[fn]?|pxl|image|photo|picture|scan|scene|piece|untitled)?[\W\d]*", re.IGNORECASE)
#: So many doubtful stretches of a followed line are named by their place, the longest first.
_MOST_PLACES = 3


def read_photo(data: bytes, name: str, answers: Answers, watch: Watch = UNWATCHED) -> Found:
    """The cut-out pieces in a picture, at true size. Raises PatternError as reading, finding and solving do.

    The size comes from marker sheets; from four known corners where the answers “corners” (pixels) and “corner-size”
    (width x height) are given; from the resolution where “scan” is given.
    """
    return read_photos([data], name, answers, watch)


def read_photos(parts: Sequence[bytes], name: str, answers: Answers, watch: Watch = UNWATCHED) -> Found:
    """The pieces in one picture, or in several of the same pieces that “shared-marks” lays together, one line of pairs
    for each further picture.

    “pen” takes the pen line on paper instead of the cut edge, on its outside, middle or inside; “follow” (pixels of the
    first picture) one line of several on a sheet, through one point or more; “points” (pixels) an outline set by hand.
    ``watch`` is told of each step and shown the picture, as it was taken and then laid flat.
    """
    try:
        flattened, questions = _laid_flat(parts[0], answers, watch)
        rows = [row for row in answers.get("shared-marks", "").split("\n") if row.strip()]
        if len(rows) != len(parts) - 1:
            raise PatternError(
                "pictures of one piece are joined on marks that both show; give --shared-marks once for each picture "
                "after the first."
            )
        for number, (data, row) in enumerate(zip(parts[1:], rows, strict=True), 2):
            marks = _numbers(row, 4, "--shared-marks", "“x,y=x,y x,y=x,y”: pixels in the first picture = in the other")
            other, _ = _laid_flat(data, of_picture(answers, number), watch)
            watch.step("laying the pictures together")
            flattened = together(flattened, other, marks[:, :2], marks[:, 2:])
        watch.show(lambda: laid_flat_picture(flattened))
        watch.step("following the outline")
        found, snapped = _outlines(flattened, answers)
    except PatternError as error:
        raise refused(name, error.says[:1].lower() + error.says[1:]) from error
    return Found(
        "photo",
        tuple(
            FoundLine(
                one.outline.chain,
                closed=True,
                name=f"Piece {number}" if len(found) > 1 else piece_name(name),
                group=f"piece-{number}",
                points=not snapped,
            )
            for number, one in enumerate(found, 1)
        ),
        size_source=flattened.size_source,
        error_mm=math.ceil(max(one.error_mm for one in found) * 1000) / 1000,
        questions=questions,
        findings=(*flattened.findings, *(finding for one in found for finding in one.findings)),
        picture=laid_flat_picture(flattened),
    )


def piece_name(file_name: str) -> str:
    """A lone piece's name after its picture's file: “Front” for “front.jpg”, “Piece 1” after a camera's name."""
    stem = re.sub(r"[\s_-]+", " ", Path(file_name).stem).strip()
    if _CAMERAS_NAME.fullmatch(stem) or not re.search(r"[^\W\d]{3}", stem):
        return "Piece 1"
    return stem[:1].upper() + stem[1:]


def _laid_flat(data: bytes, answers: Answers, watch: Watch) -> tuple[Flattened, tuple[Question, ...]]:
    """One picture at its size, and what is asked about that."""
    watch.step("opening the picture")
    read = read_picture(data)
    watch.show(lambda: picture_as_taken(read.pixels))
    watch.step("finding its size and laying it flat")
    return _sized(read, answers)


def _outlines(flattened: Flattened, answers: Answers) -> tuple[tuple[PhotoOutline, ...], bool]:
    """The outlines that are asked for, and False where they are points as they were set by hand."""
    side = LineSide(answers["pen"]) if "pen" in answers else None
    if "points" in answers:
        by = by_hand(flattened, _numbers(answers["points"], 2, "--points", "a file with “x,y” in pixels a line"), side)
        return (by.found,), by.snapped
    said: tuple[Finding, ...] = ()
    pen: PenOutline
    if "follow" in answers:
        form = "“x,y”, pixels of a point on the line, or more of them in order round it"
        table = flattened.view.table(_numbers(answers["follow"], 2, "--follow", form))
        line = followed(flattened, [(x, y) for x, y in table.tolist()], side or LineSide.MIDDLE)
        pen, said = line, _doubts(flattened, line)
    elif side is not None:
        pen = pen_outline(flattened, side)
    else:
        return pieces(flattened), True
    found = pen_with_error(flattened, pen, side or LineSide.MIDDLE)
    return (replace(found, findings=(*found.findings, *said)),), True


def _doubts(flattened: Flattened, line: Followed) -> tuple[Finding, ...]:
    """What is said of the stretches of a followed line that may be another's, with their places in the photo."""
    if not line.doubts:
        return ()

    def places(doubts: Sequence[Doubt]) -> str:
        longest = sorted(doubts, key=lambda one: -one.length)
        ends = flattened.view.pixels(np.array([end for one in longest for end in (one.start, one.stop)])).tolist()
        named = [
            f"{one.length:.0f} mm between pixels {x:.0f},{y:.0f} and {u:.0f},{v:.0f}"
            for one, (x, y), (u, v) in zip(longest, ends[::2], ends[1::2])
        ][:_MOST_PLACES]
        more = len(doubts) - len(named)
        return "; ".join(named) + (f"; and {more} shorter" if more else "")

    other = [one for one in line.doubts if not one.is_covered]
    covered = [one for one in line.doubts if one.is_covered]
    says = []
    if other:
        says.append(f"another way is nearly as likely ({places(other)})")
    if covered:
        says.append(f"other lines lie on the line, so that its own dash is not seen by itself ({places(covered)})")
    words = "; ".join(says)
    return (
        Finding(
            "line-unsure",
            Level.WARN,
            f"{words[:1].upper()}{words[1:]}. Look there whether it is still the same size’s line; if not, click "
            "another point on the line there.",
        ),
    )


def _numbers(words: str, count: int, option: str, form: str) -> FloatArray:
    """Rows of so many numbers (n, count)."""
    try:
        numbers = np.array([float(word) for word in words.replace(",", " ").replace("=", " ").split()])
    except ValueError:
        numbers = np.zeros(0)
    if not len(numbers) or len(numbers) % count or not np.isfinite(numbers).all():
        raise PatternError(f"{option} should be {form}.")
    return numbers.reshape(-1, count)


def _sized(read: Read, answers: Answers) -> tuple[Flattened, tuple[Question, ...]]:
    if "corners" in answers or "corner-size" in answers:
        return by_corners(read.pixels, *_corners(answers)), ()
    if "scan" in answers:
        asked = Question("scan", "How many pixels an inch was it scanned with?", _dpi(read), "--scan")
        answer = settled(asked, answers).answer
        across, down = read.dpi or (0.0, 0.0)
        if answer != "as the file says":
            across = down = _number(answer, "--scan")
        scan = by_resolution(read.pixels, (across, down))
        return _checked(scan, answers["scan-check"]) if "scan-check" in answers else scan, (settled(asked, answers),)
    rule = Question("rule", "What does the rule on the printed marker sheets measure?", f"{RULE_MM:g} mm", "--rule")
    rule = settled(rule, answers)
    return by_markers(read.pixels, read_length(rule.answer).mm), (rule,)


def _checked(scan: Flattened, words: str) -> Flattened:
    """The scan with its size put right by a known length: “x,y x,y=100mm”, the pixels of both its ends."""
    ends, _, length = words.partition("=")
    pixels = _numbers(ends, 4, "--scan-check", "“x,y x,y=LENGTH”: the pixels of both ends of a known length")
    first, second = scan.view.table(pixels[0].reshape(2, 2)).tolist()
    return checked(scan, (first[0], first[1]), (second[0], second[1]), read_length(length).mm)


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
