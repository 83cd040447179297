"""DXF of any version: drawn lines with their layers, blocks put in their places, units declared, answered or asked.

Damaged files go through recovery, but nothing is read of one whose numbers recovery would change.
"""

from __future__ import annotations

import io
import logging
from collections.abc import Iterable, Iterator
from typing import Any

from app.tracing import dxf_tags
from app.tracing.dxf_shapes import CURVES, entity_lines
from app.tracing.found import Found, FoundLine, FoundPoint, FoundWords
from app.tracing.limits import DEEPEST, FARTHEST_MM, LARGEST, Count, refused
from app.tracing.questions import Answers, Choice, Question, settled
from app.tracing.sizing import LEAST_MM, LIKELY_MM, PER_UNIT, WIDEST_MM, box_of, largest_box, size_choice
from geometry.findings import Finding, Level
from geometry.motions import Motion

#: $INSUNITS by number, as far as a pattern may be drawn in them.
_DECLARED = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m"}
_MOST_COPIES = 2000
#: What the library may raise at parts that are not what they should be.
_BROKEN = (ValueError, TypeError, AttributeError, LookupError, ArithmeticError, AssertionError)


def read_dxf(data: bytes, name: str, answers: Answers) -> Found:
    """What is drawn in a DXF. Raises PatternError for what is none, cut off, damaged in its numbers, or empty."""
    if len(data) > LARGEST:
        raise refused(name, f"it is larger than {LARGEST // 1_000_000} MB.")
    data = dxf_tags.as_text(data, name)
    dxf_tags.check(data, name)
    document, findings = _opened(data, name)
    walk = _walked(document, name)
    lines = walk.lines
    questions: list[Question] = []
    if walk.hidden:
        layers = ", ".join(sorted({f"“{line.layer}”" for line in walk.hidden}))
        choices = (Choice("leave out"), Choice("read"))
        asks = f"The file has {len(walk.hidden)} lines on layers that are off or frozen ({layers}). Read or leave out?"
        hidden = settled(Question("hidden", asks, "leave out", "--hidden", choices), answers)
        questions.append(hidden)
        lines = lines + walk.hidden if hidden.answer == "read" else lines
    if not lines:
        raise refused(name, "no line is drawn in it.")
    scale, source, asked = _sized(document, answers, lines)
    motion = Motion(scale, 0.0, 0.0, scale, 0.0, 0.0)
    if any(max(map(abs, line.chain.box)) * scale > FARTHEST_MM for line in lines):
        raise refused(name, "lines in it lie more than 100 m from its middle; is the unit right (--file-units)?")
    if walk.unknown:
        kinds = ", ".join(sorted(walk.unknown))
        findings.append(Finding("left-out", Level.NOTICE, f"Left out, as they are no lines of a piece: {kinds}."))
    return Found(
        "dxf",
        tuple(
            FoundLine(line.chain.moved(motion), line.closed, line.layer, line.colour, line.dash, "", line.group)
            for line in lines
        ),
        tuple(
            FoundWords(one.words, motion.point(one.at), one.height_mm * scale, one.layer, one.group)
            for one in walk.words
        ),
        tuple(FoundPoint(motion.point(one.at), one.layer, one.group) for one in walk.points),
        source,
        0.001,
        (*questions, *asked),
        tuple(findings),
    )


def _opened(data: bytes, name: str) -> tuple[Any, list[Finding]]:
    """The document, through recovery where it must be, and what was repaired."""
    import ezdxf
    from ezdxf import recover
    from ezdxf.lldxf.const import DXFError

    level = logging.getLogger("ezdxf").level
    logging.getLogger("ezdxf").setLevel(logging.CRITICAL)
    try:
        try:
            document, auditor = recover.read(io.BytesIO(data), errors="surrogateescape")
        except (DXFError, OSError, *_BROKEN) as error:
            raise refused(name, "it is no DXF, or too damaged to be read safely.") from error
        except RecursionError as error:
            raise refused(name, "its blocks lie inside each other without end.") from error
        messages = [entry.message for entry in (*auditor.errors, *auditor.fixes)]
        if any("floating point" in message.lower() or "invalid float" in message.lower() for message in messages):
            raise refused(name, "a number in it cannot be made out; nothing is guessed.")
        if not messages:
            return document, []
        says = f"The file was damaged in {len(messages)} place" + ("s" if len(messages) > 1 else "")
        says += " and was repaired; no number of a line was changed. Compare the pieces with the file."
        return document, [Finding("file-repaired", Level.WARN, says)]
    finally:
        logging.getLogger("ezdxf").setLevel(level)
        del ezdxf


def _walked(document: Any, name: str) -> _Walk:
    from ezdxf.lldxf.const import DXFError

    walk = _Walk(document, name)
    try:
        walk.draw()
    except (DXFError, *_BROKEN) as error:
        raise refused(name, "a part of it is not what it should be; it is damaged.") from error
    except RecursionError as error:
        raise refused(name, "its blocks lie inside each other without end.") from error
    return walk


class _Walk:
    """Goes through the model; lines are in file units."""

    def __init__(self, document: Any, name: str) -> None:
        self._document, self._name = document, name
        self._count = Count(name)
        self._groups: dict[str, int] = {}
        self.lines: list[FoundLine] = []
        self.hidden: list[FoundLine] = []
        self.words: list[FoundWords] = []
        self.points: list[FoundPoint] = []
        self.unknown: set[str] = set()
        self._dark = {
            layer.dxf.name.lower() for layer in document.layers if layer.is_off() or layer.is_frozen()
        }  # fmt: skip

    def draw(self) -> None:
        self._visit(self._document.modelspace(), "", ())
        if not self.lines and not self.hidden:
            # Some files define their pieces as blocks and never put them anywhere.
            for block in self._document.blocks:
                if not block.name.startswith("*"):
                    self._visit(block, self._group(block.name), (block.name,))

    def _group(self, name: str) -> str:
        """A name for one copy of a block: the second copy of “FRONT” is “FRONT 2”."""
        self._groups[name] = self._groups.get(name, 0) + 1
        return name if self._groups[name] == 1 else f"{name} {self._groups[name]}"

    def _visit(self, entities: Iterable[Any], group: str, inside: tuple[str, ...], layer: str = "0") -> None:
        for entity in entities:
            self._count.thing()
            kind = entity.dxftype()
            own = entity.dxf.get("layer", "0")
            on = layer if own == "0" and inside else own
            if kind == "INSERT":
                self._insert(entity, group, inside, on)
            elif kind in CURVES:
                self._line(entity, group, on)
            elif kind == "POINT":
                at = entity.dxf.location
                self.points.append(FoundPoint((float(at[0]), float(at[1])), on, group))
            elif kind in ("TEXT", "MTEXT", "ATTRIB", "ATTDEF"):
                self._text(entity, kind, group, on)
            else:
                self.unknown.add(kind)

    def _insert(self, insert: Any, group: str, inside: tuple[str, ...], layer: str) -> None:
        block = insert.dxf.get("name", "")
        if block in inside:
            raise refused(self._name, f"the block “{block[:40]}” holds itself, so the drawing has no end.")
        if len(inside) > DEEPEST:
            raise refused(self._name, "its blocks lie inside each other too deeply.")
        copies = max(insert.dxf.get("row_count", 1), 1) * max(insert.dxf.get("column_count", 1), 1)
        if copies > _MOST_COPIES:
            raise refused(self._name, f"it puts the block “{block[:40]}” down {copies} times.")
        for one in insert.multi_insert() if copies > 1 else (insert,):
            own = group or ("" if block.startswith("*") else self._group(block))
            self._visit(_virtual(one), own, (*inside, block), layer)
            for attribute in one.attribs:
                self._text(attribute, "ATTRIB", own, layer)

    def _line(self, entity: Any, group: str, layer: str) -> None:
        try:
            drawn = entity_lines(entity)
        except ValueError as error:
            raise refused(self._name, f"a {entity.dxftype()} on layer “{layer}” is damaged.") from error
        dark = layer.lower() in self._dark or bool(entity.dxf.get("invisible", 0))
        colour = str(entity.dxf.get("color", 256))
        linetype = str(entity.dxf.get("linetype", "BYLAYER")).upper()
        dash = () if linetype in ("BYLAYER", "BYBLOCK", "CONTINUOUS") else (float(sum(map(ord, linetype))),)
        for line, closed in drawn:
            self._count.thing(len(line))
            found = FoundLine(line, closed, layer, "" if colour == "256" else colour, dash, "", group)
            (self.hidden if dark else self.lines).append(found)

    def _text(self, entity: Any, kind: str, group: str, layer: str) -> None:
        try:
            words = entity.plain_text() if kind != "MTEXT" else entity.plain_text(fast=True)
        except (ValueError, AttributeError, IndexError):
            return
        at = entity.dxf.get("insert", (0.0, 0.0, 0.0))
        height = float(entity.dxf.get("char_height" if kind == "MTEXT" else "height", 0.0))
        for line in str(words).splitlines()[:50]:
            if line.strip():
                self.words.append(FoundWords(line.strip()[:200], (float(at[0]), float(at[1])), height, layer, group))


def _virtual(insert: Any) -> Iterator[Any]:
    try:
        yield from insert.virtual_entities()
    except (ValueError, TypeError, ArithmeticError, AttributeError) as error:
        raise refused("the file", "a block cannot be put in its place; it is damaged.") from error


def _sized(document: Any, answers: Answers, lines: list[FoundLine]) -> tuple[float, str, tuple[Question, ...]]:
    """Millimetres in one unit, where that comes from, and the question, where it is not plain."""
    declared = _DECLARED.get(int(document.header.get("$INSUNITS", 0) or 0))
    boxes = [box_of(line.chain) for line in lines]
    largest = max(boxes, key=lambda size: size[0] * size[1] + 1e-9 * (size[0] + size[1]))
    side = max(largest)
    likely = declared is not None and LIKELY_MM[0] <= side * PER_UNIT[declared] <= LIKELY_MM[1]
    if likely and declared is not None and "units" not in answers:
        return PER_UNIT[declared], f"the file's own unit, {declared}", ()
    largest = largest_box(lines) or largest
    side = max(largest)
    # A unit in which no pattern can be drawn was declared by mistake.
    can_be = declared is not None and LEAST_MM <= side * PER_UNIT[declared] <= WIDEST_MM
    default = declared if declared is not None and can_be else _guessed(document, side)
    why = f"The file says that its unit is {declared}" if declared else "The file does not say what its unit is"
    why += "." if declared is None or can_be else ", which cannot be."
    choices = tuple(size_choice(unit, PER_UNIT[unit], largest) for unit in ("mm", "cm", "m", "in", "ft"))
    question = settled(Question("units", f"{why} What is one unit of it?", default, "--file-units", choices), answers)
    how = "answered" if not question.by_default else "taken without an answer"
    return PER_UNIT[question.answer], f"{question.answer} ({how})", (question,)


def _guessed(document: Any, side: float) -> str:
    """The likely unit: inches where the file counts in them, else the first that makes the largest piece likely."""
    first = "mm" if int(document.header.get("$MEASUREMENT", 1) or 0) == 1 else "in"
    for unit in (first, "mm", "in", "cm"):
        if LIKELY_MM[0] <= side * PER_UNIT[unit] <= LIKELY_MM[1]:
            return unit
    return first
