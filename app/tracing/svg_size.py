"""How large an SVG is: by its own true units, or asked, with the size that its largest piece would have."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from app.tracing.found import FoundLine
from app.tracing.limits import refused
from app.tracing.questions import Answers, Question, settled
from app.tracing.sizing import LIKELY_MM, PER_UNIT, largest_box, size_choice
from app.tracing.svg_look import PX, TRUE_UNITS, fitted, length, viewbox
from geometry.findings import Finding, Level
from geometry.motions import Motion


@dataclass(frozen=True)
class Size:
    """The map from the root's user units to mm with y up, its scale (mm per user unit), and where it comes from."""

    motion: Motion
    scale: float
    source: str
    error_mm: float
    questions: tuple[Question, ...] = ()
    findings: tuple[Finding, ...] = ()


def sized(root: Element, name: str, answers: Answers, lines: Sequence[FoundLine]) -> Size:
    """The size by the file's own width, height and viewBox, or by the answer to “units”."""
    box = viewbox(root)
    width, height = length(root.get("width", "")), length(root.get("height", ""))
    if box is not None and any(one is not None and one[1] in TRUE_UNITS and one[0] > 0 for one in (width, height)):
        return _stated(root, name, box, width, height)
    return _asked(root, name, box, answers, lines)


def _stated(
    root: Element,
    name: str,
    box: tuple[float, float, float, float],
    width: tuple[float, str] | None,
    height: tuple[float, str] | None,
) -> Size:
    across = _mm(width)
    down = _mm(height)
    if across is None:
        assert down is not None
        across = box[2] * down / box[3]
    if down is None:
        down = box[3] * across / box[2]
    fit = fitted(box, (across, down), root.get("preserveAspectRatio", ""))
    if not (1e-9 < abs(fit.a) < 1e9 and 1e-9 < abs(fit.d) < 1e9):
        raise refused(name, "its size and its viewBox do not go together.")
    findings = []
    if abs(fit.a - fit.d) > 1e-6 * abs(fit.a):
        says = f"The drawing is stretched: {fit.a:g} mm across and {fit.d:g} mm down for one unit; is that meant?"
        findings.append(Finding("size-uneven", Level.WARN, says))
    motion = fit.then(Motion(d=-1.0, f=down))
    source = f"the file's own size, {_plain(across)} x {_plain(down)} mm"
    return Size(motion, fit.a, source, 0.001, findings=tuple(findings))


def _asked(
    root: Element,
    name: str,
    box: tuple[float, float, float, float] | None,
    answers: Answers,
    lines: Sequence[FoundLine],
) -> Size:
    """Sizes in pixels, in percent or none at all: what one unit is cannot be known."""
    width, height = length(root.get("width", "")), length(root.get("height", ""))
    per_box = 1.0
    if box is not None and width is not None and width[1] in PX and width[0] > 0:
        per_box = width[0] * PX[width[1]] / box[2]
        if height is not None and height[1] in PX and height[0] > 0:
            per_box = min(per_box, height[0] * PX[height[1]] / box[3])
    elif box is not None and height is not None and height[1] in PX and height[0] > 0:
        per_box = height[0] * PX[height[1]] / box[3]
    if not 1e-9 < per_box < 1e9:
        raise refused(name, "its size and its viewBox do not go together.")
    largest = largest_box(lines)
    dots = {unit: per_box * mm for unit, mm in PER_UNIT.items() if unit.endswith("dpi")}
    plain = {unit: PER_UNIT[unit] for unit in ("mm", "cm", "in")}
    scales = {**dots, **plain}
    why = "in pixels" if width is not None and width[1] != "%" else "in no true unit"
    question = settled(
        Question(
            "units",
            f"The file gives its size {why}. What is one unit of it?",
            _likely(_default_dots(root), scales, largest),
            "--file-units",
            tuple(size_choice(unit, scale, largest) for unit, scale in scales.items()),
        ),
        answers,
    )
    scale = scales[question.answer]
    how = "answered" if not question.by_default else "taken without an answer"
    down = (box[1] + box[3] if box else 0.0) * scale
    motion = Motion(scale, 0.0, 0.0, -scale, 0.0, down)
    return Size(motion, scale, f"{question.answer} ({how})", 0.001, (question,))


def _likely(first: str, scales: Mapping[str, float], largest: tuple[float, float] | None) -> str:
    """The usual unit, or the first other one where the largest piece would be too small or large for any garment."""
    if largest is None:
        return first
    for unit in (first, "mm", "cm", "in"):
        if LIKELY_MM[0] <= max(largest) * scales[unit] <= LIKELY_MM[1]:
            return unit
    return first


def _default_dots(root: Element) -> str:
    """96 to the inch, but for files of an editor's releases before 0.92, which wrote 90."""
    for key, value in root.attrib.items():
        if "inkscape" in key and key.endswith("}version"):
            found = re.match(r"0\.(\d+)", value)
            if found and int(found[1]) < 92:
                return "90dpi"
    return "96dpi"


def _mm(size: tuple[float, str] | None) -> float | None:
    if size is None or size[1] not in PX or size[0] <= 0:
        return None
    return size[0] * PX[size[1]] * 25.4 / 96


def _plain(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")
