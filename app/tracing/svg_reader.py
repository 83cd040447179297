"""SVG: every drawn line with its layer and look, curves as they are, at the size that is stated or answered."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from copy import copy
from dataclasses import dataclass, replace
from xml.etree.ElementTree import Element

from app.tracing import xml_safely
from app.tracing.found import Found, FoundLine, FoundWords
from app.tracing.limits import DEEPEST, Count, refused
from app.tracing.questions import Answers, Choice, Question, settled
from app.tracing.svg_look import Styles, attribute, fitted, local, pixels, viewbox
from app.tracing.svg_shapes import SHAPES, shape_lines
from app.tracing.svg_size import sized
from geometry.findings import Finding, Level
from geometry.motions import STAY, Motion

#: What lies inside these is no line of the drawing by itself.
_UNDRAWN = frozenset({"defs", "symbol", "clipPath", "mask", "pattern", "marker", "linearGradient", "radialGradient"})
_UNDRAWN |= {"filter", "style", "title", "desc", "metadata", "script", "foreignObject", "font", "glyph"}
#: All paths together are no longer than this (characters).
_MOST_PATH = 3_000_000


@dataclass(frozen=True)
class _Place:
    """Where the walk stands: the map to user units of the root, the look, the layer and group, the viewport."""

    motion: Motion
    look: Mapping[str, str]
    viewport: tuple[float, float]
    layer: str = ""
    group: str = ""
    hidden: bool = False
    depth: int = 0
    using: tuple[str, ...] = ()


def read_svg(data: bytes, name: str, answers: Answers) -> Found:
    """What is drawn in an SVG file. Raises PatternError for what is no SVG, damaged, bottomless or empty."""
    root = xml_safely.parse(data, name)
    if local(root.tag) != "svg":
        raise refused(name, "it is XML, but no SVG drawing.")
    walk = _Walk(root, name)
    walk.draw()
    size = sized(root, name, answers, walk.lines or walk.hidden)
    findings, questions = list(size.findings), list(size.questions)
    lines = walk.lines
    if walk.hidden:
        hidden = settled(_hidden_question(walk.hidden), answers)
        questions.append(hidden)
        lines = lines + walk.hidden if hidden.answer == "read" else lines
    if walk.outside:
        says = "Parts of the drawing stand in other files or places; they were not fetched and are missing here."
        findings.append(Finding("outside-left-out", Level.WARN, says))
    if walk.pictures and not lines:
        raise refused(name, "it only holds a picture; take the picture itself, as a photo or scan.")
    if walk.pictures:
        findings.append(Finding("picture-left-out", Level.NOTICE, "A picture in the file is left out; lines are read."))
    if not lines:
        raise refused(name, "nothing is drawn in it.")
    return Found(
        "svg",
        tuple(_at_size(line, size.motion, size.scale) for line in lines),
        tuple(
            FoundWords(one.words, size.motion.point(one.at), one.height_mm * size.scale, one.layer, one.group)
            for one in walk.words
        ),
        size_source=size.source,
        error_mm=size.error_mm,
        questions=tuple(questions),
        findings=tuple(findings),
    )


def _at_size(line: FoundLine, motion: Motion, scale: float) -> FoundLine:
    dash = tuple(round(one * scale, 3) for one in line.dash)
    return FoundLine(line.chain.moved(motion), line.closed, line.layer, line.colour, dash, line.name, line.group)


def _hidden_question(hidden: list[FoundLine]) -> Question:
    layers = ", ".join(sorted({f"“{line.layer}”" for line in hidden if line.layer})) or "no layer"
    count = f"{len(hidden)} hidden line" + ("" if len(hidden) == 1 else "s")
    return Question(
        "hidden",
        f"The file has {count} (in {layers}). Read or leave out?",
        "leave out",
        "--hidden",
        (Choice("leave out", "what is hidden stays out"), Choice("read", "hidden lines are read like all others")),
    )


class _Walk:
    """Goes through the drawing once; ``lines`` are in the root's user units, y down."""

    def __init__(self, root: Element, name: str) -> None:
        self._root, self._name = root, name
        self._styles, self._count = Styles(root), Count(name)
        if sum(len(one.get("d", "")) + len(one.get("points", "")) for one in root.iter()) > _MOST_PATH:
            raise refused(name, "it draws more than any pattern does; keep only the pieces in it.")
        self._by_id = {element.get("id", ""): element for element in root.iter() if element.get("id")}
        self.lines: list[FoundLine] = []
        self.hidden: list[FoundLine] = []
        self.words: list[FoundWords] = []
        self.pictures = self.outside = 0

    def draw(self) -> None:
        box = viewbox(self._root)
        size = (box[2], box[3]) if box else (pixels(self._root.get("width", ""), 1000.0, 1000.0), 1000.0)
        look = self._styles.look(self._root, {})
        place = _Place(_transform(look, self._name), look, size, hidden=_is_hidden(look))
        for child in self._root:
            self._visit(child, place)

    def _visit(self, element: Element, above: _Place) -> None:
        tag = local(element.tag)
        if not isinstance(element.tag, str) or tag in _UNDRAWN:
            return
        self._count.thing()
        if above.depth > DEEPEST:
            raise refused(self._name, "its groups lie inside each other too deeply.")
        look = self._styles.look(element, above.look)
        motion = _transform(look, self._name).then(above.motion)
        hidden = above.hidden or _is_hidden(look)
        place = replace(above, motion=motion, look=look, hidden=hidden, depth=above.depth + 1)
        inside: Mapping[str, Callable[[Element, _Place], None]] = {
            "g": self._group,
            "a": self._group,
            "switch": self._group,
            "svg": self._nested,
            "use": self._use,
            "text": self._text,
            "image": self._picture,
        }
        if tag in SHAPES:
            self._shape(element, place)
        elif tag in inside:
            inside[tag](element, place)

    def _group(self, element: Element, place: _Place) -> None:
        name = attribute(element, "data-piece") or attribute(element, "label") or element.get("id", "")
        is_layer = attribute(element, "groupmode") == "layer" or (not place.layer and place.depth == 1)
        layer = (attribute(element, "label") or element.get("id", "")) if is_layer else place.layer
        group = place.group if is_layer or not name else name
        inner = replace(place, layer=layer or place.layer, group=group)
        for child in element:
            self._visit(child, inner)

    def _nested(self, element: Element, place: _Place) -> None:
        across, down = place.viewport
        size = (pixels(element.get("width", "100%"), across, across), pixels(element.get("height", "100%"), down, down))
        at = Motion(e=pixels(element.get("x", ""), across), f=pixels(element.get("y", ""), down))
        box = viewbox(element)
        if size[0] <= 0 or size[1] <= 0:
            return
        inner = fitted(box, size, element.get("preserveAspectRatio", "")) if box else STAY
        self._inside(element, place, inner.then(at), (box[2], box[3]) if box else size)

    def _use(self, element: Element, place: _Place) -> None:
        target = attribute(element, "href").strip()
        shown = self._by_id.get(target[1:]) if target.startswith("#") else None
        if shown is None:
            self.outside += 1
            return
        if target in place.using:
            raise refused(self._name, f"“{target[1:41]}” is used inside itself, so the drawing has no end.")
        across, down = place.viewport
        at = Motion(e=pixels(element.get("x", ""), across), f=pixels(element.get("y", ""), down))
        group = element.get("id", "") or place.group
        inner = replace(place, motion=at.then(place.motion), group=group, using=(*place.using, target))
        if local(shown.tag) == "svg":
            # Its own size gives way to the one it is used in.
            sizes = {key: element.get(key, "") for key in ("width", "height") if element.get(key)}
            shown = copy(shown)
            shown.attrib = {**shown.attrib, **sizes}
        if local(shown.tag) != "symbol":
            self._visit(shown, inner)
            return
        box = viewbox(shown)
        size = (pixels(element.get("width", ""), across, across), pixels(element.get("height", ""), down, down))
        fit = fitted(box, size, shown.get("preserveAspectRatio", "")) if box and min(size) > 0 else STAY
        self._inside(shown, inner, fit, (box[2], box[3]) if box else place.viewport)

    def _inside(self, element: Element, place: _Place, inner: Motion, viewport: tuple[float, float]) -> None:
        there = replace(place, motion=inner.then(place.motion), viewport=viewport)
        for child in element:
            self._visit(child, there)

    def _shape(self, element: Element, place: _Place) -> None:
        try:
            drawn = shape_lines(element, place.motion, place.viewport)
        except ValueError as error:
            what = element.get("id") or local(element.tag)
            raise refused(self._name, f"the numbers of “{what[:40]}” are damaged.") from error
        look = place.look
        unseen = place.hidden or look.get("visibility") in ("hidden", "collapse") or not _is_painted(look)
        name = attribute(element, "label") or element.get("id", "") or _title(element)
        for line, closed in drawn:
            self._count.thing(len(line))
            found = FoundLine(line, closed, place.layer, _colour(look), _dash(look, place.motion), name, place.group)
            (self.hidden if unseen else self.lines).append(found)

    def _text(self, element: Element, place: _Place) -> None:
        if place.hidden or place.look.get("visibility") == "hidden":
            return
        height = pixels(place.look.get("font-size", "16"), 16.0, 16.0)
        parts = [part for part in element.iter() if part.get("x") or part is element]
        for part in parts:
            words = "".join(part.itertext() if len(parts) == 1 else _own_text(part))
            if words.strip():
                self._count.thing()
                x, y = (
                    pixels((part.get(axis) or element.get(axis) or "0").split(",")[0].split()[0], 0.0) for axis in "xy"
                )
                at = place.motion.point((x, y))
                self.words.append(FoundWords(" ".join(words.split())[:200], at, height, place.layer, place.group))

    def _picture(self, element: Element, place: _Place) -> None:
        self.pictures += 1


def _own_text(part: Element) -> list[str]:
    return [part.text or "", *((child.text or "") for child in part if not child.get("x"))]


def _title(element: Element) -> str:
    return next(((child.text or "").strip() for child in element if local(child.tag) == "title"), "")


def _is_hidden(look: Mapping[str, str]) -> bool:
    return look.get("display") == "none" or pixels(look.get("opacity", "1"), 1.0, 1.0) == 0


def _is_painted(look: Mapping[str, str]) -> bool:
    stroke, fill = look.get("stroke", "none"), look.get("fill", "black")
    return (stroke not in ("none", "transparent")) or (fill not in ("none", "transparent"))


def _colour(look: Mapping[str, str]) -> str:
    stroke = look.get("stroke", "none")
    return (stroke if stroke != "none" else look.get("fill", "black")).lower()


def _dash(look: Mapping[str, str], motion: Motion) -> tuple[float, ...]:
    text = look.get("stroke-dasharray", "none")
    if text.strip() in ("", "none"):
        return ()
    scale = abs(motion.a * motion.d - motion.b * motion.c) ** 0.5
    return tuple(pixels(part, 100.0) * scale for part in text.replace(",", " ").split()[:12])


def _transform(look: Mapping[str, str], name: str) -> Motion:
    text = look.get("transform", "").strip()
    if text in ("", "none"):
        return STAY
    from svgelements import Matrix

    try:
        m = Matrix(text)
        motion = Motion(*(float(value) for value in (m.a, m.b, m.c, m.d, m.e, m.f)))
    except (ValueError, TypeError, IndexError, AttributeError, ArithmeticError) as error:
        raise refused(name, f"the transform “{text[:40]}” is damaged.") from error
    if not all(abs(value) < 1e12 for value in (motion.a, motion.b, motion.c, motion.d, motion.e, motion.f)):
        raise refused(name, f"the transform “{text[:40]}” is damaged.")
    return motion
