"""What is said of a drawing's lines that became no piece: outlines that cross themselves or stay open, frames."""

from __future__ import annotations

import re

import shapely

from app.tracing.found import FoundLine
from app.tracing.joining import Loop
from app.tracing.pieces_found import NOT_OUTLINES, Sorted, line_role
from geometry.findings import Finding, Level
from geometry.motions import Point

#: Shorter open lines that lie on no piece are titles, rulers and the like (mm).
LONG_MM = 100.0
_COORDINATE = re.compile(r"-?\d+(?:\.\d*)?(?:e[-+]?\d+)?")


def findings(sorted_out: Sorted, gap: float, exchange: bool) -> list[Finding]:
    """What was left aside: outlines that cross themselves, open lines longer than LONG_MM, frames."""
    said = [
        Finding("crossing-left-out", Level.WARN, f"{crosses(loop)}, so it is no piece and was left out; mend it there.")
        for loop in sorted_out.crossing
    ]
    opened = [line for line in sorted_out.beside if _may_be_outline(line, exchange)]
    if opened:
        longest = max(opened, key=lambda line: line.chain.length)
        x, y = longest.chain.end
        count = "An open line" if len(opened) == 1 else f"{len(opened)} open lines"
        says = (
            f"{count} on no piece left out, the longest of {longest.chain.length:.0f} mm; it ends at ({x:.0f}, "
            f"{y:.0f}) mm without another within {gap:g} mm. If a piece is missing, close its outline there, or allow "
            "a wider gap with --gap."
        )
        said.append(Finding("open-left-out", Level.NOTICE, says))
    if sorted_out.frames:
        frames = "1 frame" if sorted_out.frames == 1 else f"{sorted_out.frames} frames"
        said.append(Finding("frame-left-out", Level.NOTICE, f"{frames} round the pieces left out."))
    return said


def crosses(loop: Loop) -> str:
    """“The outline crosses itself at (x, y) mm”, with its name where it has one."""
    name = f" of “{loop.line.name}”" if loop.line.name else ""
    x, y = _crossing(loop)
    return f"The outline{name} crosses itself at ({x:.0f}, {y:.0f}) mm"


def _crossing(loop: Loop) -> Point:
    """Where an outline that is no polygon first crosses or touches itself; GEOS says so in words."""
    numbers = _COORDINATE.findall(shapely.is_valid_reason(loop.polygon).partition("[")[2])
    return (float(numbers[0]), float(numbers[1])) if len(numbers) >= 2 else loop.chain.start


def _may_be_outline(line: FoundLine, exchange: bool) -> bool:
    return line.chain.length > LONG_MM and line_role(line, exchange) not in NOT_OUTLINES
