"""Uses of the alteration that blends sizes, on nests of the canon and on the tabard, for the laws and the page."""

from __future__ import annotations

from dataclasses import replace

from geometry.garments import Garment
from geometry.nests import nested
from geometry.notes import Address, Target
from geometry.pieces import Piece
from geometry.seam_levels import seam_changed
from sample_pieces.drafting.tabard import tabard
from tests.alteration_use import Case
from tests.canon import bodice, front, skirt, sleeve

NOTHING = {"bust": 0.0, "waist": 0.0, "hip": 0.0, "hem": 0.0}
TABARD = tabard()
_SIDES = frozenset({"front.side", "back.side"})


def wider(piece: Piece, edges: tuple[str, ...], **outward: float) -> Piece:
    """A piece with seams let out by mm at levels, as the same piece in a larger size."""
    for edge in edges:
        piece = seam_changed(piece, edge, NOTHING | outward)
    return piece


def nest_of(*pieces: Piece, larger: tuple[Piece, ...]) -> Garment:
    """A garment in the sizes 1 and 2, worked in 1."""
    one = Garment("nest", "nest", pieces, size="1")
    return nested((one, replace(one, pieces=larger, size="2")), "1")


def bodice_nest() -> Garment:
    """The canon's bodice, size 2 wider by 8 mm on each edge at the bust, 12 at the waist, 10 at the hem."""
    one = replace(bodice(), size="1")
    larger = tuple(wider(piece, ("side",), bust=8.0, waist=12.0, hem=10.0) for piece in one.pieces)
    return nested((one, replace(one, pieces=larger, size="2")), "1")


def darted_nest() -> Garment:
    """The canon's front with a dart in its side."""
    one = front(with_dart=True)
    return nest_of(one, larger=(wider(one, ("side",), bust=8.0, waist=12.0, hem=10.0),))


def sleeve_nest() -> Garment:
    one = sleeve()
    return nest_of(one, larger=(wider(one, ("underarm.front", "underarm.back"), bust=9.0, hem=5.0),))


def skirt_nest() -> Garment:
    one = skirt()
    return nest_of(one, larger=(wider(one, ("side",), waist=10.0, hip=14.0, hem=14.0),))


def blend(name: str, garment: Garment, values: dict[str, str], *targets: Target, redrawn: frozenset[str]) -> Case:
    nothing = dict.fromkeys(("bust", "waist", "hip", "hem", "place"), "as it is")
    return Case(name, "blend_between_sizes", garment, values, targets, nothing, redrawn=redrawn)  # type: ignore[arg-type]


SIZE_CASES = (
    blend(
        "size 14 at the bust and 18 at the hip",
        TABARD,
        {"hip": "18"},
        Target("front", edge="front.side"),
        redrawn=_SIDES,
    ),
    blend(
        "size 12 at the bust, 16 at the hip, 14 at the hem",
        TABARD,
        {"bust": "12", "hip": "16", "hem": "as it is"},
        Target("back", edge="back.side"),
        redrawn=_SIDES | {"front.armhole", "back.armhole"},
    ),
    blend(
        "size 16 at a marked place",
        TABARD,
        {"place": "16", "hip": "as it is"},
        Target("front", edge="front.side", across=(Address("front.side", "start", length=300.0),)),
        redrawn=_SIDES,
    ),
    blend(
        "a bodice of size 2 at the bust and 1 at the hem",
        bodice_nest(),
        {"bust": "2", "hip": "drawn over", "hem": "as it is"},
        Target("front", edge="side"),
        redrawn=frozenset({"side", "armhole"}),
    ),
    blend(
        "a side with a dart, size 2 at the waist",
        darted_nest(),
        {"waist": "2"},
        Target("front", edge="side"),
        redrawn=frozenset({"side", "armhole"}),
    ),
    blend(
        "a sleeve of size 2 at the underarm",
        sleeve_nest(),
        {"bust": "2"},
        Target("sleeve", edge="underarm.front"),
        Target("sleeve", edge="underarm.back"),
        redrawn=frozenset({"underarm.front", "underarm.back", "cap"}),
    ),
    blend(
        "a skirt of size 2 at the waist",
        skirt_nest(),
        {"waist": "2"},
        Target("skirt", edge="side"),
        redrawn=frozenset({"side", "waist"}),
    ),
)
