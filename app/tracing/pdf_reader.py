"""PDF with drawn lines: exact paths by layer, large single sheets, and pages that are tiles of one sheet, joined."""

from __future__ import annotations

import io
import math
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from app.tracing import pdf_tiles
from app.tracing.clipping import clipped
from app.tracing.found import Found, FoundLine, FoundPage, FoundWords
from app.tracing.limits import FARTHEST_MM, LARGEST, refused
from app.tracing.pdf_content import Content, Drawn, Shown, State
from app.tracing.pdf_tiles import PageLines
from app.tracing.questions import Answers, Choice, Question, settled
from app.tracing.watching import UNWATCHED, Watch
from geometry.findings import Finding, Level
from geometry.motions import Motion

MM = 25.4 / 72
#: Decimals of a PDF's numbers leave its lines this exact (mm).
_ERROR_MM = 0.005
_MOST_PAGES = 400
#: Pages drawn apart from each other lie this far apart (mm).
_APART_MM = 50.0
#: … in rows that are together about so many times as wide as high, as a screen is.
_WIDER = 1.5


@dataclass(frozen=True, eq=False)
class _Page:
    """One page: its size in mm, what is drawn on it, and the forms it shows."""

    number: int
    size: tuple[float, float]
    drawn: tuple[Drawn, ...]
    words: tuple[FoundWords, ...]
    forms: tuple[Shown, ...]
    motion: Motion


def read_pdf(data: bytes, name: str, answers: Answers, watch: Watch = UNWATCHED) -> Found:
    """What is drawn in a PDF. Raises PatternError for a password, a mere picture, damage, or nothing drawn.

    ``watch`` is told which page is read, and when pages are joined.
    """
    import pikepdf

    if len(data) > LARGEST:
        raise refused(name, f"it is larger than {LARGEST // 1_000_000} MB.")
    try:
        with pikepdf.open(io.BytesIO(data)) as file:
            return _read(file, name, answers, watch)
    except pikepdf.PasswordError as error:
        raise refused(name, "it asks for a password; save a copy without one and read that.") from error
    except (pikepdf.PdfError, pikepdf.DataDecodingError) as error:
        raise refused(name, "it is no PDF, or damaged; get the file once more.") from error
    except RecursionError as error:
        raise refused(name, "its parts lie inside each other without end.") from error
    except (KeyError, TypeError, AttributeError, ValueError, IndexError, OverflowError) as error:
        raise refused(name, "it is damaged; a part of it is not what it should be.") from error


def _read(file: Any, name: str, answers: Answers, watch: Watch) -> Found:
    layers, off = _layers(file)
    content = Content(name, layers, off)
    pictures = 0
    pages: list[_Page] = []
    wanted = _wanted(file, name, answers)
    for count, number in enumerate(wanted, 1):
        if len(wanted) > 1:
            watch.step(f"page {count} of {len(wanted)}")
        page, seen = _page(file.pages[number - 1], number, content, name)
        pages.append(page)
        pictures += seen
    if not any(page.drawn for page in pages):
        if pictures:
            raise refused(name, "it only holds a picture, no lines; take the picture the photo way.")
        raise refused(name, "no line is drawn in it.")
    pages, questions = _without_hidden(pages, answers)
    shared = _shared_form(pages) if answers.get("grid") is None else None
    if shared is not None:
        found = _of_form(shared, pages, content)
    elif len(pages) > 1:
        watch.step("joining the pages")
        found = _of_pages(pages, answers, name)
    else:
        lines = _visible(pages[0])
        found = Found("pdf", lines, pages[0].words, (), "the PDF's own measure", _ERROR_MM)
    if any(max(map(abs, line.chain.box)) > FARTHEST_MM for line in found.lines):
        raise refused(name, "lines in it lie more than 100 m off; it is no pattern at true size.")
    return replace(found, questions=(*questions, *found.questions))


def _layers(file: Any) -> tuple[dict[tuple[int, int], str], frozenset[tuple[int, int]]]:
    """The names of the layers by their number in the file, and those that are off when it is opened."""
    properties = file.Root.get("/OCProperties")
    if properties is None:
        return {}, frozenset()
    names = {group.objgen: str(group.get("/Name", "")) for group in properties.get("/OCGs", [])}
    default = properties.get("/D")
    if default is None:
        return names, frozenset()
    off = {group.objgen for group in default.get("/OFF", [])}
    if str(default.get("/BaseState", "/ON")) == "/OFF":
        off = set(names) - {group.objgen for group in default.get("/ON", [])}
    return names, frozenset(off)


def _wanted(file: Any, name: str, answers: Answers) -> list[int]:
    count = len(file.pages)
    if count > _MOST_PAGES:
        raise refused(name, f"it has {count} pages, more than any pattern.")
    words = answers.get("pages", "all").strip()
    if words == "all":
        return list(range(1, count + 1))
    wanted: list[int] = []
    for part in words.split(","):
        found = re.fullmatch(r"\s*(\d+)\s*(?:-\s*(\d+)\s*)?", part)
        if found is None:
            raise refused(name, f"--pages “{words}” should be page numbers, such as 2-13 or 1,3,4.")
        first, last = int(found[1]), int(found[2] or found[1])
        if not 1 <= first <= last <= count:
            raise refused(name, f"it has pages 1 to {count}, so no “{part.strip()}”.")
        wanted += range(first, last + 1)
    return list(dict.fromkeys(wanted))


def _page(page: Any, number: int, content: Content, name: str) -> tuple[_Page, int]:
    unit = float(page.obj.get("/UserUnit", 1.0))
    box = [float(value) for value in (page.cropbox if "/CropBox" in page.obj else page.mediabox)]
    x0, x1 = sorted((box[0], box[2]))
    y0, y1 = sorted((box[1], box[3]))
    turned = int(page.obj.get("/Rotate", 0) or 0) % 360
    scale = MM * unit
    if not (0 < x1 - x0 < 1e6 and 0 < y1 - y0 < 1e6 and 1e-3 < unit < 1e4):
        raise refused(name, f"page {number} has no size.")
    wide, high = (x1 - x0) * scale, (y1 - y0) * scale
    motion = Motion(scale, 0.0, 0.0, scale, -x0 * scale, -y0 * scale)
    if turned == 90:
        motion, wide, high = motion.then(Motion(0.0, -1.0, 1.0, 0.0, 0.0, wide)), high, wide
    elif turned == 180:
        motion = motion.then(Motion(-1.0, 0.0, 0.0, -1.0, wide, high))
    elif turned == 270:
        motion, wide, high = motion.then(Motion(0.0, 1.0, -1.0, 0.0, high, 0.0)), high, wide
    content.clear()
    content.draw(page, page.obj.get("/Resources", page.resources), State(motion))
    drawn = _Page(number, (wide, high), tuple(content.lines), tuple(content.words), tuple(content.forms), motion)
    return drawn, content.pictures


def _without_hidden(pages: Sequence[_Page], answers: Answers) -> tuple[list[_Page], list[Question]]:
    hidden = [one for page in pages for one in page.drawn if one.hidden]
    if not hidden:
        return list(pages), []
    layers = ", ".join(sorted({f"“{one.line.layer}”" for one in hidden}))
    asks = f"The file has {len(hidden)} lines on layers that are off ({layers}). Read or leave out?"
    choices = (Choice("leave out"), Choice("read"))
    question = settled(Question("hidden", asks, "leave out", "--hidden", choices), answers)
    if question.answer == "read":
        return list(pages), [question]
    return [replace(page, drawn=tuple(one for one in page.drawn if not one.hidden)) for page in pages], [question]


def _visible(page: _Page) -> tuple[FoundLine, ...]:
    """The lines of a page, cut where a clip cuts them."""
    found: list[FoundLine] = []
    for one in page.drawn:
        found += [one.line] if one.clip is None else clipped(one.line, one.clip)
    return tuple(found)


def _shared_form(pages: Sequence[_Page]) -> Shown | None:
    """The form that two pages or more show at one scale, each another part of it: a sheet in tiles."""
    places: dict[tuple[tuple[int, int], tuple[float, ...]], list[Shown]] = {}
    for page in pages:
        for shown in {one.key: one for one in page.forms}.values():
            m = shown.state.motion
            scale = tuple(round(value, 6) for value in (m.a, m.b, m.c, m.d))
            places.setdefault((shown.key, scale), []).append(shown)
    many = [
        found
        for found in places.values()
        if len({(round(one.state.motion.e, 2), round(one.state.motion.f, 2)) for one in found}) > 1
    ]
    return max(many, key=len)[0] if many else None


def _of_form(shown: Shown, pages: Sequence[_Page], content: Content) -> Found:
    """The sheet read once, whole, from the form that all pages show."""
    content.clear()
    m = shown.state.motion
    state = replace(shown.state, motion=Motion(m.a, m.b, m.c, m.d), clip=None, layer="", hidden=False)
    content.draw(shown.form, shown.form.get("/Resources"), state, (shown.key,))
    count = Counter(page.number for page in pages for one in page.forms if one.key == shown.key)
    says = f"{len(count)} pages show parts of one sheet; it was read whole, so no join is in its lines."
    findings = (Finding("sheet-read-whole", Level.NOTICE, says),)
    lines = tuple(one.line for one in content.lines if not one.hidden)
    source = "the PDF's own measure"
    return Found("pdf", lines, tuple(content.words), (), source, _ERROR_MM, findings=findings)


def _of_pages(pages: Sequence[_Page], answers: Answers, name: str) -> Found:
    sheets = [PageLines(page.number, page.size, _visible(page), page.words) for page in pages]
    grid = pdf_tiles.arranged(sheets, answers, name)
    if grid is not None:
        lines, words = grid.joined()
        source = "the PDF's own measure, pages joined on their trim frames"
        return Found(
            "pdf", lines, words, (), source, grid.error_mm, grid.questions, grid.findings, pages=grid.laid_out()
        )  # fmt: skip
    apart: list[FoundLine] = []
    said: list[FoundWords] = []
    laid: list[FoundPage] = []
    for sheet, motion in zip(sheets, _in_rows([sheet.size for sheet in sheets]), strict=True):
        (x0, y0), (x1, y1) = motion.point((0.0, 0.0)), motion.point(sheet.size)
        laid.append(FoundPage(sheet.number, (x0, y0, x1, y1)))
        apart += [replace(line, chain=line.chain.moved(motion), group=f"page {sheet.number}") for line in sheet.lines]
        said += [replace(word, at=motion.point(word.at)) for word in sheet.words]
    asks = "No grid was found in which lines run on from page to page. "
    if answers.get("grid") == pdf_tiles.APART:
        asks = "Each page stands by itself. "
    asks += f"Are the pages parts of one sheet? Then say in how many columns x rows, such as {_likely(len(sheets))}."
    question = settled(Question("grid", asks, pdf_tiles.APART, "--grid"), answers)
    trim = () if answers.get("grid") == pdf_tiles.APART else pdf_tiles.frames_of(sheets, answers, name)[1]
    questions = (pdf_tiles.pages_asked([sheet.number for sheet in sheets], answers), question, *trim)
    source = "the PDF's own measure"
    return Found("pdf", tuple(apart), tuple(said), (), source, _ERROR_MM, questions, pages=tuple(laid))


def _in_rows(sizes: Sequence[tuple[float, float]]) -> list[Motion]:
    """Where pages of these sizes lie apart from each other: row by row from the upper left, in all wider than high."""
    wide, high = (max(size[side] for size in sizes) + _APART_MM for side in (0, 1))
    columns = max(round(math.sqrt(_WIDER * len(sizes) * high / wide)), 1)
    rows = -(-len(sizes) // columns)
    return [
        Motion(e=place % columns * wide, f=(rows - place // columns) * high - _APART_MM - size[1])
        for place, size in enumerate(sizes)
    ]


def _likely(count: int) -> str:
    """A grid that so many pages fill, about as wide as high."""
    columns = max(n for n in range(1, count + 1) if count % n == 0 and n * n <= count)
    return f"{columns}x{count // columns}"
