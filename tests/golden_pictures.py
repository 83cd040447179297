"""Pictures of the golden drawings, to be looked at: as traced, what the note moved, as redrawn, and as kept."""

from __future__ import annotations

from geometry.lines import Chain
from geometry.pieces import Piece
from geometry.pipeline import draft
from geometry.strokes import outline_of
from tests.golden_cases import Golden
from tests.goldens import kept, line_of, path_of

SPACE = 40.0


def picture(golden: Golden) -> str:
    """An SVG at 1 pixel for 1 mm; dashes as traced, blue as moved, black as redrawn, thin red as kept."""
    done = draft(golden.garment, golden.notes)
    parts: list[str] = []
    x, highest = SPACE, 0.0
    for name in golden.pieces:
        traced, moved, new = golden.garment.piece(name), done.followed.garment.piece(name), done.redrawn.piece(name)
        cutting = done.cut[name].cutting
        boxes = [piece.polygon.bounds for piece in (traced, moved, new)]
        boxes += [cutting.box] if cutting is not None else []
        left, low = min(b[0] for b in boxes), min(b[1] for b in boxes)
        right, high = max(b[2] for b in boxes), max(b[3] for b in boxes)
        move = f'<g transform="translate({x - left:.1f} {high + SPACE:.1f}) scale(1 -1)" fill="none">'
        parts += [move, *_drawn(traced, moved, new), *_kept(golden, name)]
        if cutting is not None:
            parts.append(_path([cutting], 'stroke="#555" stroke-width="0.5"'))
        parts.append("</g>")
        x += right - left + 2 * SPACE
        highest = max(highest, high - low)
    size = f'width="{x:.0f}" height="{highest + 2 * SPACE:.0f}"'
    words = f'<text x="8" y="18" font-size="15">{golden.name}</text>'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}><rect width="100%" height="100%" fill="white"/>{words}\n'
        + "\n".join(parts)
        + "\n</svg>\n"
    )


def _drawn(traced: Piece, moved: Piece, new: Piece) -> list[str]:
    found = [
        _path([outline_of(traced)], 'stroke="#888" stroke-width="1" stroke-dasharray="6 4"'),
        _path([run.chain for edge in moved.edges for run in edge.runs], 'stroke="#3a7bd5" stroke-width="0.8"'),
        _path([outline_of(new)], 'stroke="black" stroke-width="1.6"'),
        _path([line.chain for line in new.lines], 'stroke="#7a7" stroke-width="0.8"'),
    ]
    for dart in new.darts:
        mouth = next(run.chain for run in new.edge(dart.edge).runs if run.dart == dart.id)
        legs = " ".join(f"M {x} {y} L {dart.sewn_point[0]} {dart.sewn_point[1]}" for x, y in (mouth.start, mouth.end))
        found.append(f'<path d="{legs}" stroke="black" stroke-width="1"/>')
        found.append(_dot(dart.bust_point, "#b0b"))
    found += [_dot(new.point_at(notch.place), "#06c") for notch in new.notches]
    return found + [_dot(mark.point, "#b0b") for mark in new.marks]


def _kept(golden: Golden, name: str) -> list[str]:
    if not path_of(golden.name).exists():
        return []
    edges = kept(golden)["pieces"][name]["redrawn"]["edges"].values()
    return [_path([line_of(run["curves"]) for edge in edges for run in edge], 'stroke="red" stroke-width="0.4"')]


def _dot(point: tuple[float, float], colour: str) -> str:
    return f'<circle cx="{point[0]:.2f}" cy="{point[1]:.2f}" r="2.5" fill="{colour}"/>'


def _path(lines: list[Chain], look: str) -> str:
    parts = []
    for line in lines:
        parts.append("M {:.3f} {:.3f}".format(*line.start))
        parts += [
            "C {:.3f} {:.3f}, {:.3f} {:.3f}, {:.3f} {:.3f}".format(*(n for p in cubic[1:] for n in p))
            for cubic in line.cubics
        ]
    return f'<path d="{" ".join(parts)}" {look}/>'
