"""Writes docs/alterations.md and its pictures from the alterations' own declarations.

Run it with ``python -m tests.alteration_page`` from the top folder; a test fails when the page is stale.
"""

from __future__ import annotations

import re
from pathlib import Path

import shapely

from geometry.alterations import everything, find
from geometry.alterations.base import Alteration, Amount
from geometry.by_hand import by_hand
from geometry.lines import Chain
from geometry.moves import dart_mouth
from geometry.pieces import Piece
from geometry.pipeline import Draft, draft
from geometry.stages import Strip
from geometry.strokes import outline_of
from tests.alteration_cases import CASES, Case
from tests.alteration_list import ITEMS, Item

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "alterations.md"
PICTURES = ROOT / "docs" / "pictures" / "alterations"
#: Pixels for a millimetre, and the space round a piece (mm).
SCALE, SPACE = 0.6, 45.0

INTRO = """# The alterations

Made from the alterations' own declarations by `python -m tests.alteration_page`; a test fails when it is stale. Each
picture shows a small practice piece as traced (light dash) under the piece redrawn with its cutting line (thin); what
a note takes out is shaded, what it adds has a dotted outline. Darts are drawn to their points, with a ring round the
point that they are turned about. Amounts are paper taken out of or added to each piece.
Any note can be switched off, moved, changed or removed, and can say how far its blend runs and how the jog is shared.
What tells that a note is wanted (*When*) is common practice, no source.
"""

LIST_INTRO = """
## The list

What a fitter writes down, by region of the body, and what does it. The outside check is a test that compares the
alteration with values from outside this project: from a book, or worked by hand from plain geometry.

| what she writes | before and after | done by | outside check | its source |
|---|---|---|---|---|
"""


def main() -> None:
    """Write the page and every picture."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    PAGE.write_text(page(), encoding="utf-8")
    for name, case in pictured().items():
        (PICTURES / f"{name}.svg").write_text(picture(case), encoding="utf-8")


def page() -> str:
    """The whole page as Markdown."""
    return INTRO + the_list() + "".join(f"\n{section(alteration)}" for alteration in everything())


def the_list() -> str:
    """The table of a fitter's list: each item with its picture, its alteration and its outside check."""
    rows = []
    for region in dict.fromkeys(item.region for item in ITEMS):
        rows.append(f"| **{region[:1].upper() + region[1:]}** | | | | |")
        rows += [_row(item) for item in ITEMS if item.region == region]
    return LIST_INTRO + "\n".join(rows) + "\n"


def _row(item: Item) -> str:
    title = find(item.alteration).title
    drawn = f"![{item.words}](pictures/alterations/{picture_name(item.case)}.svg)"
    check = f"[`{item.test}`](../{item.file})"
    return f"| {item.words} | {drawn} | [{title}](#{_anchor(title)}) | {check} | {item.source} |"


def _anchor(title: str) -> str:
    return re.sub(r"[^\w -]", "", title.lower()).replace(" ", "-")


def picture_name(case: Case) -> str:
    """The name of a use's picture: the alteration's own for its first use, the use's words for the others."""
    if case is case_of(find(case.alteration)):
        return case.alteration
    return re.sub(r"\W+", "_", case.name)


def pictured() -> dict[str, Case]:
    """Every picture of the page by its name: one for each alteration, and those of the list."""
    cases = [*map(case_of, everything()), *(item.case for item in ITEMS)]
    return {picture_name(case): case for case in cases}


def section(alteration: Alteration) -> str:
    """What one alteration says of itself."""
    rows = "\n".join(f"| `{name}` | {field.label} | {_default(field)} | {_limits(field)} | {field.basis} |"
                     for name, field in alteration.fields().items())  # fmt: skip
    examples = "\n".join(f"- {e.given}: {e.gives}. *{e.source}*" for e in alteration.examples)
    words = alteration.describes.strip().split("\n\n", 1)
    rest = words[1].strip() if len(words) > 1 else ""
    return (
        f"## {alteration.title}\n\n"
        f"Body region: {alteration.region}. On the command line `{alteration.name.replace('_', '-')}`.\n\n"
        f"![{alteration.title}](pictures/alterations/{alteration.name}.svg)\n\n"
        f"{rest}\n\n"
        f"The card reads: “{alteration.sentence}”.\n\n"
        f"| amount | what it is | if left out | from, to | measured on |\n|---|---|---|---|---|\n{rows}\n\n"
        f"Worked by hand:\n\n{examples}\n\n"
        f"With paper, ruler, pencil and tape, on {by_hand_words(alteration)}"
    )


def by_hand_words(alteration: Alteration) -> str:
    """The steps by hand on the first piece of the use that is drawn, numbered."""
    case = case_of(alteration)
    one = by_hand(case.garment, (case.note(),), "note1").pieces[0]
    steps = "\n".join(f"{number}. {step.says()}" for number, step in enumerate(one.steps, 1))
    return f"the practice “{one.piece.name}”:\n\n{steps}\n"


def case_of(alteration: Alteration) -> Case:
    """The use that is drawn: the first one of this alteration."""
    return next(case for case in CASES if case.alteration == alteration.name)


def picture(case: Case) -> str:
    """The pieces of a use as traced and as redrawn, as an SVG of its own."""
    drafted = draft(case.garment, (case.note(),))
    touched = [piece for piece in case.garment.pieces if drafted.redrawn.piece(piece.id) is not piece]
    parts: list[str] = []
    x = SPACE
    top = max(_box(drafted, piece)[3] for piece in touched) + SPACE
    low = min(_box(drafted, piece)[1] for piece in touched) - SPACE
    for piece in touched:
        left, _, right, _ = _box(drafted, piece)
        parts += _piece(drafted, piece, x - left, top)
        x += right - left + SPACE
    size = f'width="{x * SCALE:.0f}" height="{(top - low) * SCALE:.0f}" viewBox="0 0 {x:.0f} {top - low:.0f}"'
    body = "\n".join(parts)
    paper = f'<rect width="{x:.0f}" height="{top - low:.0f}" fill="#fffef9"/>'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>\n{paper}\n{body}\n</svg>\n'


def _box(drafted: Draft, piece: Piece) -> tuple[float, float, float, float]:
    both = shapely.union_all([piece.polygon, drafted.redrawn.piece(piece.id).polygon])
    x0, y0, x1, y1 = both.bounds
    return (x0, y0, x1, y1)


def _piece(drafted: Draft, piece: Piece, dx: float, top: float) -> list[str]:
    strips = [s for step in drafted.followed.steps for s in step.strips if s.piece == piece.id]
    redrawn = drafted.redrawn.piece(piece.id)
    drawn = [_strip(strip, dx, top) for strip in strips if len(strip.outline) > 2]
    drawn.append(_path(outline_of(piece), dx, top, 'stroke="#777" stroke-width="1" stroke-dasharray="5 4"'))
    drawn.append(_path(outline_of(redrawn), dx, top, 'stroke="#1a1a1a" stroke-width="2"'))
    drawn += _darts(piece, dx, top, 'stroke="#777" stroke-width="1" stroke-dasharray="5 4"')
    drawn += _darts(redrawn, dx, top, 'stroke="#1a1a1a" stroke-width="1.4"')
    cutting = drafted.cut[piece.id].cutting
    if cutting is not None:
        drawn.append(_path(cutting, dx, top, 'stroke="#1a1a1a" stroke-width="0.6"'))
    return drawn


def _darts(piece: Piece, dx: float, top: float, look: str) -> list[str]:
    """The legs of every dart, to its sewn point, and a ring round the point that it is turned about."""
    found = []
    for dart in piece.darts:
        mouth = dart_mouth(piece.edge(dart.edge), dart.id)
        corners = (mouth.start, dart.sewn_point, mouth.end)
        points = " L ".join(f"{x + dx:.1f} {top - y:.1f}" for x, y in corners)
        found.append(f'<path d="M {points}" fill="none" {look}/>')
        x, y = dart.bust_point
        found.append(f'<circle cx="{x + dx:.1f}" cy="{top - y:.1f}" r="4" fill="none" {look}/>')
    return found


def _strip(strip: Strip, dx: float, top: float) -> str:
    points = " ".join(f"{x + dx:.1f},{top - y:.1f}" for x, y in strip.outline)
    look = (
        'fill="none" stroke="#a8402a" stroke-dasharray="1 3"' if strip.added else 'fill="#a8402a" fill-opacity="0.25"'
    )
    return f'<polygon points="{points}" {look}/>'


def _path(chain: Chain, dx: float, top: float, look: str) -> str:
    def at(point: object) -> str:
        x, y = point  # type: ignore[misc]
        return f"{x + dx:.1f} {top - y:.1f}"

    parts = [f"M {at(chain.start)}"]
    for cubic, is_line in zip(chain.cubics, chain.straight, strict=True):
        parts.append(f"L {at(cubic[3])}" if is_line else f"C {', '.join(at(point) for point in cubic[1:])}")
    return f'<path d="{" ".join(parts)} Z" fill="none" {look}/>'


def _default(field: Amount) -> str:
    if field.choices:
        return field.default
    return f"{field.default:g}{' mm' if field.unit == 'mm' else ''}"


def _limits(field: Amount) -> str:
    if field.choices:
        return ", ".join([*(["a size"] if field.unit == "size" else []), *field.choices])
    return f"{field.least:g} to {field.most:g}{' mm' if field.unit == 'mm' else ''}"


if __name__ == "__main__":
    main()
