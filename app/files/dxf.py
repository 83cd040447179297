"""Pieces on a sheet as DXF, in mm: a layer per role, one block a piece, curves flattened, closed outlines."""

from __future__ import annotations

import io
import logging
import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Literal

from geometry.drawing import LOOKS, Drawing, Look, Role, Words
from geometry.lines import flatten
from geometry.sheets import Sheet

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document
    from ezdxf.layouts.blocklayout import BlockLayout

Version = Literal["R12", "R2000"]
FLAT_MM = 0.01
LETTERING = "LETTERING"
BOLD = "LETTERING_BOLD"
_RUN_DASHES_THROUGH = 128


def dxf_bytes(sheet: Sheet, version: Version = "R2000") -> bytes:
    """A DXF file of the sheet; the same sheet gives the same bytes.

    Each piece is a block in its own frame and is inserted where it lies on the sheet. Curves are flattened within
    FLAT_MM; R2000 has LWPOLYLINE, R12 has POLYLINE and cannot say its units.
    """
    from ezdxf.filemanagement import new

    with _fixed_facts():
        document = new(version)
        document.header["$MEASUREMENT"] = 1
        if version != "R12":
            document.header["$INSUNITS"] = 4
        document.header["$PSVPSCALE"] = 1.0
        document.header["$LTSCALE"] = 1.0
        document.styles.add(LETTERING, font="DejaVuSans.ttf")
        document.styles.add(BOLD, font="DejaVuSans-Bold.ttf")
        used = {stroke.role for one in sheet.placed for stroke in one.drawing.strokes}
        used |= {words.role for one in sheet.placed for words in one.drawing.words}
        for role in Role:
            if role in used:
                _add_layer(document, role, version)
        for one, name in zip(sheet.placed, _block_names(sheet), strict=True):
            _draw_block(document.blocks.new(name), one.drawing, version)
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


def _add_layer(document: Document, role: Role, version: Version) -> None:
    look = LOOKS[role]
    kind = "CONTINUOUS"
    if look.dashes:
        kind = layer_name(role)
        pattern = [sum(look.dashes), *(dash * (1 if index % 2 == 0 else -1) for index, dash in enumerate(look.dashes))]
        document.linetypes.add(kind, pattern, description=role.value)
    layer = document.layers.add(layer_name(role), color=7 if look.grey < 0.3 else 8, linetype=kind)
    if version != "R12":
        layer.dxf.lineweight = _line_weight(look)


def _line_weight(look: Look) -> int:
    """The nearest of the format's line weights, in 1/100 mm."""
    return min((13, 15, 18, 20, 25, 30, 35, 40, 50), key=lambda weight: abs(weight - 100 * look.width))


def _draw_block(block: BlockLayout, drawing: Drawing, version: Version) -> None:
    for stroke in drawing.strokes:
        points = [(float(x), float(y)) for x, y in flatten(stroke.chain, FLAT_MM)[0]]
        if stroke.closed:
            points = points[:-1]
        attributes = {"layer": layer_name(stroke.role), "flags": _RUN_DASHES_THROUGH}
        if version == "R12":
            block.add_polyline2d(points, close=stroke.closed, dxfattribs=attributes)
        else:
            block.add_lwpolyline(points, close=stroke.closed, dxfattribs=attributes)
    for words in drawing.words:
        _add_words(block, words)


def _add_words(block: BlockLayout, words: Words) -> None:
    from ezdxf.enums import TextEntityAlignment

    anchors = {
        "start": TextEntityAlignment.MIDDLE_LEFT,
        "middle": TextEntityAlignment.MIDDLE_CENTER,
        "end": TextEntityAlignment.MIDDLE_RIGHT,
    }
    text = block.add_text(
        words.words,
        height=words.height_mm,
        rotation=words.angle_deg,
        dxfattribs={"layer": layer_name(words.role), "style": BOLD if words.bold else LETTERING},
    )
    text.set_placement(words.at, align=anchors[words.anchor])


def _block_names(sheet: Sheet) -> list[str]:
    """A name for each piece's block that R12 takes (31 of A-Z, 0-9, -, _), all different."""
    found: list[str] = []
    for one in sheet.placed:
        plain = re.sub(r"[^A-Z0-9_-]+", "_", one.piece_id.upper())[:24] or "PIECE"
        found.append(plain if plain not in found else f"{plain}_{len(found) + 1}")
    return found
