"""The drawing of one PDF page or form, operator by operator: exact paths with layer, colour, dash and clip."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from app.tracing.clipping import overlap
from app.tracing.found import FoundLine, FoundWords
from app.tracing.limits import DEEPEST, Count, refused
from app.tracing.path_maker import PathMaker
from app.tracing.pdf_words import Font, TextState, font_of
from geometry.lines import Chain
from geometry.motions import Motion, Point

Box = tuple[float, float, float, float]
#: Strokes and fills this light are paper, not lines.
_WHITE = 0.985


@dataclass(frozen=True)
class State:
    """The graphics state, as far as it tells lines apart. ``clip`` is the box (mm) that clipping leaves, or None."""

    motion: Motion
    stroke: str = "#000000"
    fill: str = "#000000"
    dash: tuple[float, ...] = ()
    layer: str = ""
    hidden: bool = False
    clip: Box | None = None


@dataclass(frozen=True, eq=False)
class Drawn:
    """A line in mm on its page, with the box it is clipped by and whether its layer is off."""

    line: FoundLine
    clip: Box | None
    hidden: bool


@dataclass(frozen=True, eq=False)
class Shown:
    """A form that was drawn: its number in the file, the map it was drawn by, and the state."""

    key: tuple[int, int]
    form: Any
    state: State


class Content:
    """Draws pages and forms. ``lines``, ``words`` and ``forms`` collect what was drawn since ``clear``."""

    def __init__(self, name: str, layers: Mapping[tuple[int, int], str], off: frozenset[tuple[int, int]]) -> None:
        self._name, self._layers, self._off = name, layers, off
        self._count = Count(name)
        self._fonts: dict[tuple[int, int], Font] = {}
        self.clear()

    def clear(self) -> None:
        self.lines: list[Drawn] = []
        self.words: list[FoundWords] = []
        self.forms: list[Shown] = []
        self.pictures = 0

    def draw(self, holder: Any, resources: Any, state: State, inside: tuple[tuple[int, int], ...] = ()) -> None:
        """Draw the content of a page or form. Raises PatternError where it is damaged or has no end."""
        import pikepdf

        if len(inside) > DEEPEST:
            raise refused(self._name, "its forms lie inside each other too deeply.")
        try:
            instructions = pikepdf.parse_content_stream(holder)
        except (pikepdf.PdfError, ValueError, TypeError) as error:
            raise refused(self._name, "the drawing on a page is damaged.") from error
        run = _Run(self, resources, state, inside)
        for instruction in instructions:
            self._count.operator()
            operator = str(instruction.operator)
            try:
                run.do(operator, list(instruction.operands))
            except (ValueError, TypeError, IndexError, AttributeError, ArithmeticError) as error:
                raise refused(self._name, f"the drawing on a page is damaged (at “{operator[:10]}”).") from error

    def _picture(self) -> None:
        self.pictures += 1

    def layer_of(self, thing: Any) -> tuple[str, bool]:
        """The layer's name that a group or membership dictionary names, and whether it is off."""
        import pikepdf

        if not isinstance(thing, pikepdf.Dictionary):
            return "", False
        groups: list[Any] = [thing]
        if str(thing.get("/Type", "")) == "/OCMD":
            inner = thing.get("/OCGs")
            groups = list(inner) if isinstance(inner, pikepdf.Array) else [inner]
        keys = [group.objgen for group in groups if isinstance(group, pikepdf.Dictionary)]
        names = [self._layers[key] for key in keys if key in self._layers]
        return (names[0] if names else "", bool(keys) and all(key in self._off for key in keys))

    def font(self, font: Any) -> Font:
        key = font.objgen
        if key == (0, 0) or key not in self._fonts:
            self._fonts[key] = font_of(font)
        return self._fonts[key]

    def add(self, path: list[tuple[Chain, bool]], state: State, colour: str) -> None:
        for chain, closed in path:
            self._count.thing(len(chain))
            if state.clip is not None and not overlap(chain.box, state.clip):
                continue
            line = FoundLine(chain, closed, state.layer, colour, state.dash)
            self.lines.append(Drawn(line, state.clip, state.hidden))


class _Run:
    """One pass over the operators of one content stream."""

    def __init__(self, content: Content, resources: Any, state: State, inside: tuple[tuple[int, int], ...]) -> None:
        self._content, self._resources, self._inside = content, resources, inside
        self._state = state
        self._stack: list[State] = []
        self._marked: list[tuple[str, bool]] = []
        self._maker: PathMaker | None = None
        self._here: Point = (0.0, 0.0)
        self._clips = False
        self._text = TextState()
        self._acts: Mapping[str, Callable[[list[Any]], None]] = {
            "q": lambda _: self._stack.append(self._state),
            "Q": lambda _: self._restore(),
            "cm": lambda v: self._set(motion=_motion(v).then(self._state.motion)),
            "d": lambda v: self._dash(v[0]),
            "m": lambda v: self._move(_point(v, 0)),
            "l": lambda v: self._line(_point(v, 0)),
            "c": lambda v: self._curve(_point(v, 0), _point(v, 2), _point(v, 4)),
            "v": lambda v: self._curve(self._here, _point(v, 0), _point(v, 2)),
            "y": lambda v: self._curve(_point(v, 0), _point(v, 2), _point(v, 2)),
            "h": lambda _: self._path().close(),
            "re": self._rectangle,
            "W": lambda _: self._clip(),
            "W*": lambda _: self._clip(),
            "Do": self._show,
            "BDC": self._begin_marked,
            "BMC": lambda _: self._marked.append((self._state.layer, self._state.hidden)),
            "EMC": lambda _: self._end_marked(),
            "BT": lambda _: self._text.begin(),
            "Tf": self._set_font,
            "Td": lambda v: self._text.move(float(v[0]), float(v[1])),
            "TD": lambda v: self._next_line(v),
            "TL": lambda v: setattr(self._text, "leading", float(v[0])),
            "T*": lambda _: self._text.move(0.0, -self._text.leading),
            "Tm": lambda v: self._text.set(_motion(v)),
            "Tj": lambda v: self._letters([v[0]]),
            "TJ": lambda v: self._letters(list(v[0])),
            "'": lambda v: self._quoted(v[0]),
            '"': lambda v: self._quoted(v[2]),
            "INLINE IMAGE": lambda _: self._content._picture(),
        }

    def do(self, operator: str, operands: list[Any]) -> None:
        if operator in self._acts:
            self._acts[operator](operands)
        elif operator in ("S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "n"):
            self._paint(operator)
        elif operator in ("G", "RG", "K", "SC", "SCN"):
            self._set(stroke=_colour(operands))
        elif operator in ("g", "rg", "k", "sc", "scn"):
            self._set(fill=_colour(operands))

    def _set(self, **changes: Any) -> None:
        self._state = replace(self._state, **changes)

    def _restore(self) -> None:
        if self._stack:
            layer, hidden = self._state.layer, self._state.hidden
            self._state = replace(self._stack.pop(), layer=layer, hidden=hidden)

    def _path(self) -> PathMaker:
        if self._maker is None:
            self._maker = PathMaker(self._state.motion)
        return self._maker

    def _move(self, point: Point) -> None:
        self._path().move(point)
        self._here = point

    def _line(self, point: Point) -> None:
        self._path().line(point)
        self._here = point

    def _curve(self, first: Point, second: Point, end: Point) -> None:
        self._path().curve(first, second, end)
        self._here = end

    def _rectangle(self, values: list[Any]) -> None:
        x, y, wide, high = (float(value) for value in values[:4])
        path = self._path()
        path.move((x, y))
        for corner in ((x + wide, y), (x + wide, y + high), (x, y + high)):
            path.line(corner)
        path.close()
        self._here = (x, y)

    def _clip(self) -> None:
        self._clips = True

    def _paint(self, operator: str) -> None:
        path = self._maker
        self._maker = None
        if path is None:
            self._clips = False
            return
        if operator in ("s", "b", "b*"):
            path.close()
        lines = path.lines()
        strokes = operator in ("S", "s", "B", "B*", "b", "b*")
        colour = self._state.stroke if strokes else self._state.fill
        if operator != "n" and colour:
            self._content.add(lines, self._state, colour)
        if self._clips and lines:
            boxes = [line.box for line, _ in lines]
            box = tuple(f(b[k] for b in boxes) for k, f in enumerate((min, min, max, max)))
            self._set(clip=_both(self._state.clip, box))  # type: ignore[arg-type]
        self._clips = False

    def _dash(self, pattern: Any) -> None:
        m = self._state.motion
        scale = abs(m.a * m.d - m.b * m.c) ** 0.5
        self._set(dash=tuple(round(float(one) * scale, 3) for one in list(pattern)[:12]))

    def _show(self, values: list[Any]) -> None:
        import pikepdf

        objects = self._resources.get("/XObject") if self._resources is not None else None
        form = objects.get(str(values[0])) if objects is not None else None
        if not isinstance(form, pikepdf.Stream):
            return
        if str(form.get("/Subtype", "")) != "/Form":
            self._content._picture()
            return
        key = form.objgen
        if key in self._inside:
            raise refused(self._content._name, "a form in it is drawn inside itself, so the drawing has no end.")
        matrix = form.get("/Matrix")
        motion = (_motion(list(matrix)) if matrix is not None else Motion()).then(self._state.motion)
        layer, off = self._content.layer_of(form.get("/OC"))
        state = replace(
            self._state,
            motion=motion,
            layer=layer or self._state.layer,
            hidden=self._state.hidden or off,
            clip=_both(self._state.clip, _box_of(form.get("/BBox"), motion)),
        )
        self._content.forms.append(Shown(key, form, state))
        resources = form.get("/Resources", self._resources)
        self._content.draw(form, resources, state, (*self._inside, key))

    def _begin_marked(self, values: list[Any]) -> None:
        import pikepdf

        self._marked.append((self._state.layer, self._state.hidden))
        if str(values[0]) != "/OC" or self._resources is None:
            return
        thing = values[1]
        if isinstance(thing, pikepdf.Name):
            properties = self._resources.get("/Properties")
            thing = properties.get(str(thing)) if properties is not None else None
        layer, off = self._content.layer_of(thing)
        self._set(layer=layer or self._state.layer, hidden=self._state.hidden or off)

    def _end_marked(self) -> None:
        if self._marked:
            layer, hidden = self._marked.pop()
            self._set(layer=layer, hidden=hidden)

    def _set_font(self, values: list[Any]) -> None:
        fonts = self._resources.get("/Font") if self._resources is not None else None
        font = fonts.get(str(values[0])) if fonts is not None else None
        self._text.font = self._content.font(font) if font is not None else Font()
        self._text.size = float(values[1])

    def _next_line(self, values: list[Any]) -> None:
        self._text.leading = -float(values[1])
        self._text.move(float(values[0]), float(values[1]))

    def _quoted(self, words: Any) -> None:
        self._text.move(0.0, -self._text.leading)
        self._letters([words])

    def _letters(self, parts: list[Any]) -> None:
        import pikepdf

        words = "".join(self._text.font.words(bytes(part)) for part in parts if isinstance(part, pikepdf.String))
        if not words.strip() or self._state.hidden:
            return
        motion = self._text.matrix.then(self._state.motion)
        at = motion.point((0.0, 0.0))
        height = self._text.size * abs(motion.a * motion.d - motion.b * motion.c) ** 0.5
        self._content._count.thing()
        self._content.words.append(FoundWords(" ".join(words.split())[:200], at, height, self._state.layer))


def _point(values: list[Any], at: int) -> Point:
    return (float(values[at]), float(values[at + 1]))


def _motion(values: list[Any]) -> Motion:
    return Motion(*(float(value) for value in values[:6]))


def _colour(values: list[Any]) -> str:
    """“#rrggbb” of grey, RGB or CMYK, “” for what is as good as white."""
    numbers = []
    for value in values:
        try:
            numbers.append(min(max(float(value), 0.0), 1.0))
        except (TypeError, ValueError):
            continue
    if len(numbers) == 1:
        numbers *= 3
    elif len(numbers) == 4:
        numbers = [(1 - one) * (1 - numbers[3]) for one in numbers[:3]]
    elif len(numbers) != 3:
        return "#000000"
    if min(numbers) >= _WHITE:
        return ""
    return "#" + "".join(f"{round(one * 255):02x}" for one in numbers)


def _box_of(box: Any, motion: Motion) -> Box | None:
    if box is None or len(box) != 4:
        return None
    x0, y0, x1, y1 = (float(value) for value in box)
    corners = [motion.point(corner) for corner in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return (min(xs), min(ys), max(xs), max(ys))


def _both(one: Box | None, other: Box | None) -> Box | None:
    if one is None or other is None:
        return one or other
    return (max(one[0], other[0]), max(one[1], other[1]), min(one[2], other[2]), min(one[3], other[3]))
