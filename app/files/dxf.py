"""Pieces on a sheet as DXF, in mm: a layer per role, one block a piece, closed outlines, curves flattened or true."""

from __future__ import annotations

import io
import logging
import math
import re
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from app.files.line_table import LineTable
from geometry.drawing import LOOKS, Drawing, Look, Role, Stroke, Words
from geometry.errors import PatternError
from geometry.lines import Chain, flatten
from geometry.sheets import Sheet

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document
    from ezdxf.layouts.blocklayout import BlockLayout

Version = Literal["R12", "R2000"]
FLAT_MM = 0.01
LEAST_FLAT_MM, MOST_FLAT_MM = 0.001, 1.0
LETTERING = "LETTERING"
BOLD = "LETTERING_BOLD"
_RUN_DASHES_THROUGH = 128
#: The last character that the four figures of “\U+XXXX” can name.
LARGEST_CHARACTER = 0xFFFF
#: Layers of points by the trade's exchange (ASTM D6673, from memory): where an outline turns, and where it only bends.
TURN_POINTS, CURVE_POINTS = "2", "3"
#: An outline turns where its direction changes by more than this; less is a bend (degrees).
TURNS_DEG = 2.0


@dataclass(frozen=True)
class DxfSettings:
    """How the drawing is written. ``flat_mm``: how far a flattened line may lie from its curve; None keeps true curves
    (R2000 alone). ``numbers``: layers are the numbers of this table instead of the roles' names; the points of cutting
    and stitching lines are then marked on layers 2 and 3 as the trade's exchange does.

    Raises PatternError where that cannot be.
    """

    version: Version = "R2000"
    flat_mm: float | None = FLAT_MM
    numbers: LineTable | None = None

    def __post_init__(self) -> None:
        if self.flat_mm is None and self.version == "R12":
            raise PatternError("DXF R12 has no curves; take R2000, or leave the curves flattened.")
        if self.flat_mm is not None and not LEAST_FLAT_MM <= self.flat_mm <= MOST_FLAT_MM:
            least, most = LEAST_FLAT_MM, MOST_FLAT_MM
            raise PatternError(f"Curves are flattened within {least:g} to {most:g} mm; {self.flat_mm:g} is outside.")

    def layer(self, role: Role) -> str:
        return layer_name(role) if self.numbers is None else str(self.numbers[role].number)


def dxf_bytes(sheet: Sheet, settings: DxfSettings = DxfSettings()) -> bytes:
    """A DXF file of the sheet; the same sheet gives the same bytes.

    Each piece is a block in its own frame and is inserted where it lies on the sheet. Curves are flattened, to
    LWPOLYLINE in R2000 and to POLYLINE in R12, which cannot say its units; true curves are SPLINE.
    """
    from ezdxf.filemanagement import new

    with _fixed_facts():
        document = new(settings.version)
        document.header["$MEASUREMENT"] = 1
        if settings.version != "R12":
            document.header["$INSUNITS"] = 4
        document.header["$PSVPSCALE"] = 1.0
        document.header["$LTSCALE"] = 1.0
        document.styles.add(LETTERING, font="DejaVuSans.ttf")
        document.styles.add(BOLD, font="DejaVuSans-Bold.ttf")
        used = {stroke.role for one in sheet.placed for stroke in one.drawing.strokes}
        used |= {words.role for one in sheet.placed for words in one.drawing.words}
        for role in Role:
            if role in used:
                _add_layer(document, role, settings)
        if settings.numbers is not None:
            for layer in (TURN_POINTS, CURVE_POINTS):
                if not document.layers.has_entry(layer):
                    document.layers.add(layer, color=7)
        for one, name in zip(sheet.placed, _block_names(sheet), strict=True):
            _draw_block(document.blocks.new(name), one.drawing, settings)
            document.modelspace().add_blockref(
                name, (one.motion.e, one.motion.f), {"rotation": one.motion.turned_deg, "layer": "0"}
            )
        document.header["$EXTMIN"], document.header["$EXTMAX"] = (0, 0, 0), (sheet.width, sheet.height, 0)
        text = io.StringIO()
        document.write(text)
        return document.encode(text.getvalue())


def layer_name(role: Role) -> str:
    """A role's layer: “CUTTING_LINE”, as R12 takes no spaces and no small letters."""
    return role.value.upper().replace(" ", "_")


@contextmanager
def _fixed_facts() -> Iterator[None]:
    """Dates and identifiers of the file fixed, so that it can be compared; nothing said on the way."""
    from ezdxf._options import options

    before = options.write_fixed_meta_data_for_testing
    logger = logging.getLogger("ezdxf")
    level = logger.level
    options.write_fixed_meta_data_for_testing = True
    # It warns about units at each R12 file, whatever is asked of it.
    logger.setLevel(logging.ERROR)
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before
        logger.setLevel(level)


def _add_layer(document: Document, role: Role, settings: DxfSettings) -> None:
    look = LOOKS[role]
    if document.layers.has_entry(settings.layer(role)):
        return
    kind = "CONTINUOUS"
    if look.dashes:
        kind = layer_name(role)
        pattern = [sum(look.dashes), *(dash * (1 if index % 2 == 0 else -1) for index, dash in enumerate(look.dashes))]
        document.linetypes.add(kind, pattern, description=role.value)
    layer = document.layers.add(settings.layer(role), color=7 if look.grey < 0.3 else 8, linetype=kind)
    if settings.version != "R12":
        layer.dxf.lineweight = _line_weight(look)


def _line_weight(look: Look) -> int:
    """The nearest of the format's line weights, in 1/100 mm."""
    return min((13, 15, 18, 20, 25, 30, 35, 40, 50), key=lambda weight: abs(weight - 100 * look.width))


def _draw_block(block: BlockLayout, drawing: Drawing, settings: DxfSettings) -> None:
    for stroke in drawing.strokes:
        attributes = {"layer": settings.layer(stroke.role), "flags": _RUN_DASHES_THROUGH}
        if settings.numbers is not None and stroke.role in (Role.CUT, Role.STITCH):
            _add_points(block, stroke, settings.flat_mm)
        if settings.flat_mm is None and not stroke.chain.straight.all():
            _add_curve(block, stroke, attributes["layer"])
            continue
        points = [(float(x), float(y)) for x, y in flatten(stroke.chain, settings.flat_mm or FLAT_MM)[0]]
        if stroke.closed:
            points = points[:-1]
        if settings.version == "R12":
            block.add_polyline2d(points, close=stroke.closed, dxfattribs=attributes)
        else:
            block.add_lwpolyline(points, close=stroke.closed, dxfattribs=attributes)
    for words in drawing.words:
        _add_words(block, words, settings.layer(words.role))


def _add_points(block: BlockLayout, stroke: Stroke, flat_mm: float | None) -> None:
    """A point at each corner of an outline, on one layer where it turns and on another where it only bends; of a curve
    that stays one, where its cubics meet."""
    chain = stroke.chain
    us = np.arange(len(chain) + 1.0) if flat_mm is None else flatten(chain, flat_mm)[1]
    for u in us[:-1] if stroke.closed else us:
        layer = TURN_POINTS if _turns(chain, float(u), stroke.closed) else CURVE_POINTS
        x, y = chain.point(float(u))
        block.add_point((x, y), dxfattribs={"layer": layer})


def _turns(chain: Chain, u: float, closed: bool) -> bool:
    if u != round(u):
        return False
    at_end = u in (0.0, float(len(chain)))
    if at_end and not closed:
        return True
    comes = chain.end_tangent if at_end else chain.tangent(u, before=True)
    goes = chain.start_tangent if at_end else chain.tangent(u)
    across, along = comes[0] * goes[1] - comes[1] * goes[0], comes[0] * goes[0] + comes[1] * goes[1]
    return abs(math.degrees(math.atan2(across, along))) > TURNS_DEG


def _add_curve(block: BlockLayout, stroke: Stroke, layer: object) -> None:
    """The whole chain as one SPLINE: its cubics are those of a B-spline with every inner knot three times."""
    cubics = stroke.chain.cubics
    points = [*cubics[0, :1].tolist(), *cubics[:, 1:].reshape(-1, 2).tolist()]
    joints = [float(joint) for joint in range(len(cubics) + 1) for _ in range(3)]
    spline = block.add_spline(degree=3, dxfattribs={"layer": layer})
    spline.control_points = [(x, y, 0.0) for x, y in points]
    spline.knots = [0.0, *joints, float(len(cubics))]


def _add_words(block: BlockLayout, words: Words, layer: str) -> None:
    from ezdxf.enums import TextEntityAlignment

    anchors = {
        "start": TextEntityAlignment.MIDDLE_LEFT,
        "middle": TextEntityAlignment.MIDDLE_CENTER,
        "end": TextEntityAlignment.MIDDLE_RIGHT,
    }
    text = block.add_text(
        _plain_text(words.words),
        height=words.height_mm,
        rotation=words.angle_deg,
        dxfattribs={"layer": layer, "style": BOLD if words.bold else LETTERING},
    )
    text.set_placement(words.at, align=anchors[words.anchor])


def _plain_text(words: str) -> str:
    """The words as a DXF says them: “^” and “%%” begin signs of its own, and it has four figures for a character.

    Characters beyond those, and ones that only steer the line, are question marks or left out.
    """
    plain = (sign for sign in words if unicodedata.category(sign) not in ("Cc", "Cf"))
    known = "".join(sign if ord(sign) <= LARGEST_CHARACTER else "?" for sign in plain)
    return known.replace("^", "^ ").replace("%%", "%%%%%%")


def _block_names(sheet: Sheet) -> list[str]:
    """A name for each piece's block that R12 takes (31 of A-Z, 0-9, -, _), all different."""
    found: list[str] = []
    for one in sheet.placed:
        plain = re.sub(r"[^A-Z0-9_-]+", "_", one.piece_id.upper())[:24] or "PIECE"
        found.append(plain if plain not in found else f"{plain}_{len(found) + 1}")
    return found
