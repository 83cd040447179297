"""The presentation of SVG elements as far as it tells lines apart: style sheets, inheritance, lengths, viewports."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from xml.etree.ElementTree import Element

from geometry.motions import Motion

#: Pixels in one of each unit, at 96 to the inch.
PX: Mapping[str, float] = {
    "px": 1.0,
    "": 1.0,
    "mm": 96 / 25.4,
    "cm": 96 / 2.54,
    "q": 96 / 101.6,
    "in": 96.0,
    "pt": 96 / 72,
    "pc": 16.0,
    "em": 16.0,
    "ex": 8.0,
}
TRUE_UNITS = frozenset({"mm", "cm", "q", "in", "pt", "pc"})

_LENGTH = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*([A-Za-z%]*)\s*")
_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")
_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
_KEPT = (
    *("display", "visibility", "fill", "stroke", "stroke-dasharray", "stroke-width", "opacity", "font-size"),
    "transform",
)
#: These hold for everything inside; the others only for the element itself.
_INHERITED = ("visibility", "fill", "stroke", "stroke-dasharray", "stroke-width", "font-size")


def local(tag: object) -> str:
    """The name of an element or attribute without its namespace."""
    return str(tag).rpartition("}")[2]


def attribute(element: Element, name: str) -> str:
    """An attribute by its local name, whatever its namespace, “” where there is none."""
    plain = element.get(name)
    if plain is not None:
        return plain
    return next((value for key, value in element.attrib.items() if local(key) == name), "")


def length(text: str) -> tuple[float, str] | None:
    """The number and the unit (lower case, “%” too) of a length, None where it is none."""
    found = _LENGTH.fullmatch(text or "")
    if found is None:
        return None
    value, unit = float(found[1]), found[2].lower()
    return (value, unit) if math.isfinite(value) and (unit in PX or unit == "%") else None


def pixels(text: str, whole: float, default: float = 0.0) -> float:
    """A length in user units; ``whole`` is what 100 % is."""
    found = length(text)
    if found is None:
        return default
    value, unit = found
    return value / 100 * whole if unit == "%" else value * PX[unit]


class Styles:
    """The rules of a file's style sheets: by element, class, id and element with class."""

    def __init__(self, root: Element) -> None:
        self._rules: list[tuple[str, dict[str, str]]] = []
        for element in root.iter():
            if local(element.tag) == "style" and element.text:
                for selectors, body in _RULE.findall(_COMMENT.sub("", element.text)):
                    rules = declarations(body)
                    self._rules += [(one.strip(), rules) for one in selectors.split(",") if one.strip()]

    def look(self, element: Element, above: Mapping[str, str]) -> dict[str, str]:
        """What holds for an element, from what holds above it."""
        found = {key: above[key] for key in _INHERITED if key in above}
        found.update({key: value for key in _KEPT if (value := element.get(key)) is not None})
        if self._rules:
            self._apply(element, found)
        if "style" in element.attrib:
            found.update(declarations(element.get("style", "")))
        return found

    def _apply(self, element: Element, found: dict[str, str]) -> None:
        tag, name = local(element.tag), element.get("id", "")
        classes = element.get("class", "").split()
        wanted = {"*": 0, tag: 1, **{f".{one}": 2 for one in classes}, **{f"{tag}.{one}": 3 for one in classes}}
        wanted[f"#{name}"] = 4
        for _, rules in sorted(((wanted[s], r) for s, r in self._rules if s in wanted), key=lambda pair: pair[0]):
            found.update(rules)


def declarations(text: str) -> dict[str, str]:
    """The declarations of a style that matter here."""
    pairs = (part.partition(":") for part in text.split(";"))
    return {
        key.strip().lower(): value.replace("!important", "").strip()
        for key, _, value in pairs
        if key.strip().lower() in _KEPT
    }


def viewbox(element: Element) -> tuple[float, float, float, float] | None:
    """The four numbers of a viewBox, None where there is none that holds anything."""
    parts = re.split(r"[\s,]+", element.get("viewBox", "").strip())
    try:
        x, y, width, height = (float(part) for part in parts)
    except ValueError:
        return None
    whole = (x, y, width, height)
    return whole if all(math.isfinite(v) for v in whole) and width > 0 and height > 0 else None


def fitted(box: tuple[float, float, float, float], size: tuple[float, float], ratio: str) -> Motion:
    """The map from a viewBox to a viewport of a size at (0, 0), after preserveAspectRatio."""
    x, y, width, height = box
    sx, sy = size[0] / width, size[1] / height
    words = ratio.split()
    align = next((word for word in words if word != "defer" and word not in ("meet", "slice")), "xMidYMid")
    if align == "none":
        return Motion(sx, 0.0, 0.0, sy, -x * sx, -y * sy)
    scale = max(sx, sy) if "slice" in words else min(sx, sy)
    free = (size[0] - width * scale, size[1] - height * scale)
    share = {"xMin": 0.0, "xMid": 0.5, "xMax": 1.0}.get(align[:4], 0.5)
    rise = {"YMin": 0.0, "YMid": 0.5, "YMax": 1.0}.get(align[4:], 0.5)
    return Motion(scale, 0.0, 0.0, scale, free[0] * share - x * scale, free[1] * rise - y * scale)
