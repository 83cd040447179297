"""Pages that are tiles of one sheet: the trim frame found or set, the grid found by lines that run on, and joined."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from app.tracing.clipping import Box, clipped
from app.tracing.found import FoundLine, FoundPage, FoundWords
from app.tracing.limits import refused
from app.tracing.questions import Answers, Question
from geometry.findings import Finding, Level
from geometry.motions import Motion, Point
from geometry.units import read_length

#: Line ends on two sides of a join belong together within this (mm).
_MEET_MM = 0.6
#: Pages trimmed on their drawn frames are joined this exactly (mm).
JOIN_MM = 0.05
#: A grid is taken by itself when so many of the line ends at its joins meet, and so many at least.
_SHARE, _LEAST_ENDS = 0.6, 2
#: A trim frame holds so much of its page at least.
_FRAME_SHARE = 0.35
#: Answers to how the pages lie: each by itself, down the columns, and by the names that stand on them …
APART, DOWN, BY_NAME = "none", "down", "by name"
#: … and to where they are trimmed.
PAPER_EDGE = "paper edge"
_CELL = re.compile(r"([A-Z])\s?-?(\d{1,2})|(?:row\s*(\d+)\D{1,12}col(?:umn)?\s*(\d+))", re.IGNORECASE)


@dataclass(frozen=True, eq=False)
class PageLines:
    """What is drawn on one page, in mm from its lower left corner."""

    number: int
    size: tuple[float, float]
    lines: tuple[FoundLine, ...]
    words: tuple[FoundWords, ...]


@dataclass(frozen=True, eq=False)
class Grid:
    """Pages in their places, (column, row) from the upper left, each shown inside its trim frame; ``error_mm`` is how
    well lines run on across the joins."""

    places: Mapping[int, tuple[int, int]]
    pages: Mapping[int, PageLines]
    frames: Mapping[int, Box]
    questions: tuple[Question, ...]
    findings: tuple[Finding, ...]
    error_mm: float

    def joined(self) -> tuple[tuple[FoundLine, ...], tuple[FoundWords, ...]]:
        """All lines and words on the sheet, lines cut at the frames."""
        lines: list[FoundLine] = []
        words: list[FoundWords] = []
        for number, (column, row) in self.places.items():
            frame, page = self.frames[number], self.pages[number]
            motion = _shift(frame, column, row)
            for line in page.lines:
                if not _is_frame(line, frame):
                    lines += [replace(one, chain=one.chain.moved(motion)) for one in clipped(line, frame)]
            for word in page.words:
                if frame[0] <= word.at[0] <= frame[2] and frame[1] <= word.at[1] <= frame[3]:
                    words.append(replace(word, at=motion.point(word.at)))
        return tuple(lines), tuple(words)

    def laid_out(self) -> tuple[FoundPage, ...]:
        """The paper of every page where it lies on the sheet, and its frame."""
        found = []
        for number, (column, row) in self.places.items():
            frame = self.frames[number]
            motion = _shift(frame, column, row)
            wide, high = self.pages[number].size
            found.append(FoundPage(number, _moved((0.0, 0.0, wide, high), motion), _moved(frame, motion)))
        return tuple(found)


def _moved(box: Box, motion: Motion) -> Box:
    return (box[0] + motion.e, box[1] + motion.f, box[2] + motion.e, box[3] + motion.f)


def _shift(frame: Box, column: int, row: int) -> Motion:
    wide, high = frame[2] - frame[0], frame[3] - frame[1]
    return Motion(e=column * wide - frame[0], f=-(row + 1) * high - frame[1])


def arranged(pages: Sequence[PageLines], answers: Answers, name: str) -> Grid | None:
    """The grid of the pages as answered or as found; None where no lines run on from one to the other."""
    given = answers.get("grid")
    if given == APART:
        return None
    frames, frame_question = frames_of(pages, answers, name)
    by_number = {page.number: page for page in pages}
    ends = {page.number: _border_ends(page, frames[page.number]) for page in pages}
    if given is not None:
        places = _given(given, pages, name)
        score = _score(places, ends)
    else:
        best = max(_candidates(pages), key=lambda places: _score(places, ends)[:2], default=None)
        if best is None:
            return None
        places, score = best, _score(best, ends)
        if score[1] < _LEAST_ENDS or score[0] < _SHARE:
            return None
    columns = max(column for column, _ in places.values()) + 1
    rows = max(row for _, row in places.values()) + 1
    asked = Question("grid", _asks(columns, rows), _grid_words(places, columns, rows), "--grid", given=given)
    says = f"{len(places)} pages joined in {columns} columns and {rows} rows; {score[1]} lines run on across the joins"
    says += f", {score[2]:.2f} mm beside each other (rms)." if score[2] > JOIN_MM else "."
    level = Level.NOTICE if score[0] >= _SHARE else Level.WARN
    if level is Level.WARN:
        says += " Many others end there: is the grid right (--grid, --trim)?"
    finding = Finding("pages-joined", level, says)
    pages_used = {number: by_number[number] for number in places}
    questions = (pages_asked(sorted(places), answers), asked, *frame_question)
    return Grid(places, pages_used, frames, questions, (finding,), max(JOIN_MM, math.ceil(score[2] * 100) / 100))


def pages_asked(numbers: Sequence[int], answers: Answers) -> Question:
    """Which pages are laid out, as a question."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    words = ",".join(f"{first}" if first == last else f"{first}-{last}" for first, last in runs)
    return Question("pages", "Which pages belong to the sheet?", words, "--pages", given=answers.get("pages"))


def _asks(columns: int, rows: int) -> str:
    return f"The pages were laid out in {columns} columns and {rows} rows. Is that the grid?"


def _given(words: str, pages: Sequence[PageLines], name: str) -> dict[int, tuple[int, int]]:
    """The layout that is asked for: “3x4”, “3x4 down” for pages that run down the columns, or “by name”."""
    numbers = [page.number for page in pages]
    if words.strip() == BY_NAME:
        named = _by_names(pages)
        if not named:
            raise refused(name, "no names such as B3, row and column, stand on its pages; give the grid as 3x4.")
        return named
    found = re.fullmatch(rf"\s*(\d{{1,3}})\s*[x×]\s*(\d{{1,3}})\s*({DOWN})?\s*", words)
    if found is None:
        others = f"3x4 {DOWN}, {BY_NAME} or {APART}"
        raise refused(name, f"--grid “{words}” should be columns x rows, such as 3x4, or {others}.")
    columns, rows = int(found[1]), int(found[2])
    if columns * rows < len(numbers) or columns < 1:
        room = f"a grid of {columns} x {rows} has no room for {len(numbers)} pages"
        raise refused(name, f"{room}; leave some out with --pages.")
    return _in_columns(numbers, rows) if found[3] else _in_rows(numbers, columns)


def _grid_words(places: Mapping[int, tuple[int, int]], columns: int, rows: int) -> str:
    """The answer that lays the pages out so."""
    numbers = sorted(places)
    if places == _in_rows(numbers, columns):
        return f"{columns}x{rows}"
    return f"{columns}x{rows} {DOWN}" if places == _in_columns(numbers, rows) else BY_NAME


def _in_rows(numbers: Sequence[int], columns: int) -> dict[int, tuple[int, int]]:
    return {number: (index % columns, index // columns) for index, number in enumerate(numbers)}


def _in_columns(numbers: Sequence[int], rows: int) -> dict[int, tuple[int, int]]:
    return {number: (index // rows, index % rows) for index, number in enumerate(numbers)}


def _candidates(pages: Sequence[PageLines]) -> Iterator[dict[int, tuple[int, int]]]:
    """Layouts to try: by names on the pages, and row by row or column by column, with or without first pages."""
    named = _by_names(pages)
    if named:
        yield named
    numbers = [page.number for page in pages]
    for left_out in range(min(3, len(numbers) - 1)):
        rest = numbers[left_out:]
        for columns in range(1, len(rest) + 1):
            if len(rest) % columns == 0:
                rows = len(rest) // columns
                yield _in_rows(rest, columns)
                yield _in_columns(rest, rows)


def _by_names(pages: Sequence[PageLines]) -> dict[int, tuple[int, int]]:
    """Places by names such as “B3” (row letter, column number) that stand on the pages."""
    found: dict[int, tuple[int, int]] = {}
    for page in pages:
        cells = [match for word in page.words if (match := _CELL.fullmatch(word.words.strip()))]
        if not cells:
            continue
        cell = cells[0]
        if cell[1]:
            found[page.number] = (int(cell[2]) - 1, ord(cell[1].upper()) - ord("A"))
        else:
            found[page.number] = (int(cell[4]) - 1, int(cell[3]) - 1)
    if len(found) < 2 or len(set(found.values())) < len(found):
        return {}
    left, top = min(c for c, _ in found.values()), min(r for _, r in found.values())
    return {number: (column - left, row - top) for number, (column, row) in found.items()}


def frames_of(pages: Sequence[PageLines], answers: Answers, name: str) -> tuple[dict[int, Box], tuple[Question, ...]]:
    """The trim frame of each page: as answered, else the largest rectangle drawn in one place on most pages."""
    given = answers.get("trim")
    asks = "Where are the pages trimmed: left, below, right, above?"
    if given is not None and given.strip() != PAPER_EDGE:
        sides = [read_length(part).mm for part in given.split(",")]
        if len(sides) not in (1, 4):
            raise refused(name, f"--trim “{given}” should be one margin, or four: left, below, right, above.")
        left, below, right, above = sides * 4 if len(sides) == 1 else sides
        frames = {p.number: (left, below, p.size[0] - right, p.size[1] - above) for p in pages}
        if any(frame[0] >= frame[2] or frame[1] >= frame[3] for frame in frames.values()):
            raise refused(name, f"--trim “{given}” leaves nothing of the page.")
        return frames, (Question("trim", asks, given, "--trim", given=given),)
    common = _common_frame(pages) if given is None else None
    if common is not None:
        x0, y0, x1, y1 = common
        says = f"A frame of {x1 - x0:.1f} x {y1 - y0:.1f} mm stands on the pages. Are they trimmed on it?"
        page = pages[0].size
        question = Question("trim", says, trim_words((0.0, 0.0, *page), common), "--trim")
        return {page.number: common for page in pages}, (question,)
    says = asks if given is not None else f"No trim frame was found. {asks}"
    question = Question("trim", says, PAPER_EDGE, "--trim", given=given)
    return {page.number: (0.0, 0.0, *page.size) for page in pages}, (question,)


def trim_words(paper: Box, frame: Box) -> str:
    """The answer that trims a page's paper on a frame: its margins left, below, right and above."""
    margins = (frame[0] - paper[0], frame[1] - paper[1], paper[2] - frame[2], paper[3] - frame[3])
    return ", ".join(f"{round(max(margin, 0.0), 3) + 0.0:g} mm" for margin in margins)


def _common_frame(pages: Sequence[PageLines]) -> Box | None:
    counts: dict[Box, int] = {}
    for page in pages:
        area = page.size[0] * page.size[1]
        boxes = set()
        for line in page.lines:
            box = line.chain.box
            x0, y0, x1, y1 = (round(value, 1) for value in box)
            if (box[2] - box[0]) * (box[3] - box[1]) >= _FRAME_SHARE * area and _is_frame(line, box):
                boxes.add((x0, y0, x1, y1))
        for one in boxes:
            counts[one] = counts.get(one, 0) + 1
    usual = [box for box, count in counts.items() if count >= max(2, 0.6 * len(pages))]
    if not usual:
        return None
    rounded = max(usual, key=lambda box: (box[2] - box[0]) * (box[3] - box[1]))
    for page in pages:
        for line in page.lines:
            if all(abs(a - b) < 0.06 for a, b in zip(line.chain.box, rounded)) and _is_frame(line, line.chain.box):
                return line.chain.box
    return rounded


def _is_frame(line: FoundLine, box: Box) -> bool:
    """True for a rectangle along a box, or one of its sides."""
    chain = line.chain
    if not chain.straight.all() or len(chain) > 5:
        return False
    ends = [*chain.cubics[:, 0].tolist(), list(chain.end)]
    return all(
        (min(abs(x - box[0]), abs(x - box[2])) < 0.05 and box[1] - 0.05 <= y <= box[3] + 0.05)
        or (min(abs(y - box[1]), abs(y - box[3])) < 0.05 and box[0] - 0.05 <= x <= box[2] + 0.05)
        for x, y in ends
    ) and (len(chain) >= 4 or _on_one_side(ends, box))


def _on_one_side(ends: Sequence[Sequence[float]], box: Box) -> bool:
    xs, ys = [x for x, _ in ends], [y for _, y in ends]
    return any(all(abs(x - side) < 0.05 for x in xs) for side in (box[0], box[2])) or any(
        all(abs(y - side) < 0.05 for y in ys) for side in (box[1], box[3])
    )


def _border_ends(page: PageLines, frame: Box) -> dict[str, list[float]]:
    """Where lines end on each side of the frame, along that side."""
    found: dict[str, list[float]] = {"left": [], "right": [], "above": [], "below": []}
    for line in page.lines:
        if _is_frame(line, frame):
            continue
        for part in clipped(line, frame):
            for point in (part.chain.start, part.chain.end):
                side = _side(point, frame)
                if side is not None:
                    found[side].append(point[1] - frame[1] if side in ("left", "right") else point[0] - frame[0])
    return found


def _side(point: Point, frame: Box) -> str | None:
    gaps = {
        "left": point[0] - frame[0],
        "right": frame[2] - point[0],
        "below": point[1] - frame[1],
        "above": frame[3] - point[1],
    }
    side, gap = min(gaps.items(), key=lambda one: abs(one[1]))
    return side if abs(gap) < 0.05 else None


def _score(
    places: Mapping[int, tuple[int, int]], ends: Mapping[int, dict[str, list[float]]]
) -> tuple[float, int, float]:
    """The share of line ends at the joins that meet one across it, how many pairs do, and how far they are off (mm
    rms)."""
    at = {place: number for number, place in places.items()}
    gaps: list[float] = []
    lone = 0
    for number, (column, row) in places.items():
        for mine, theirs, place in (("right", "left", (column + 1, row)), ("below", "above", (column, row + 1))):
            here = ends[number][mine]
            there = list(ends[at[place]][theirs]) if place in at else []
            for along in here:
                near = min(there, key=lambda other: abs(other - along), default=math.inf)
                if abs(near - along) <= _MEET_MM:
                    there.remove(near)
                    gaps.append(near - along)
                else:
                    lone += 1
            lone += len(there)
        for mine, place in (("left", (column - 1, row)), ("above", (column, row - 1))):
            lone += len(ends[number][mine]) if place not in at else 0
    met = len(gaps)
    apart = math.sqrt(sum(gap * gap for gap in gaps) / met) if met else 0.0
    return (met / (met + lone) if met + lone else 0.0, met, apart)
