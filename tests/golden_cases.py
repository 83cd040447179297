"""The golden drawings: what is done to which piece of a sample garment. Each was looked at before it was kept.

Names read “what is done--garment and piece--by how much”.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from geometry.alterations import find
from geometry.garments import Garment
from geometry.notes import Address, Note, Target
from sample_pieces.draft import everything


@dataclass(frozen=True, eq=False)
class Golden:
    """One drawing: the sample garment, the notes, and the pieces that are kept."""

    name: str
    sample: str
    notes: tuple[Note, ...]
    pieces: tuple[str, ...]

    @property
    def garment(self) -> Garment:
        return samples()[self.sample]


@cache
def samples() -> dict[str, Garment]:
    found = {name: garment for name, (garment, _) in everything().items()}
    return found | {SLIPPED: _with_a_slipped_dart(found[COAT])}


def _with_a_slipped_dart(garment: Garment) -> Garment:
    """The garment with the point of its front's dart 3 mm lower, so that the legs are not equal."""
    front = garment.piece("front")
    dart = front.darts[0]
    slipped = replace(dart, sewn_point=(dart.sewn_point[0], dart.sewn_point[1] - 3.0))
    return garment.with_piece(replace(front, darts=(slipped,)))


def _at(edge: str, length: float | None = None, *, end: str = "start", share: float | None = None) -> Address:
    return Address(edge, end, length, share)


def _golden(
    name: str, sample: str, alteration: str, on: str, *across: Address, also: str = "", with_it: str = "", **values: Any
) -> Golden:
    """``on`` is a piece, or piece:edge; the note is done to ``also`` too, and itself changes the pieces ``with_it``."""
    piece, _, edge = on.partition(":")
    first = Target(piece, edge=f"{piece}.{edge}" if edge else None, across=across or None)
    targets = (first, *(Target(one) for one in also.split()))
    found = find(alteration)
    kept = (piece, *also.split(), *with_it.split())
    return Golden(name, sample, (Note("note-1", alteration, found.checked(values), targets),), kept)


def _then(golden: Golden, name: str, alteration: str, **values: Any) -> Golden:
    """A second note after the first, on the same piece."""
    note = Note("note-2", alteration, find(alteration).checked(values), (Target(golden.pieces[0]),))
    return replace(golden, name=name, notes=(*golden.notes, note))


def _band_recut(name: str, sample: str, alteration: str, also: str = "", **values: Any) -> Golden:
    """The neckband after a note on the front's neckline, recut to it."""
    golden = _golden(name, sample, alteration, "front", also=also, **values)
    recut = Note("note-2", "recut_a_band", find("recut_a_band").checked({}), (Target("neckband"),))
    return replace(golden, notes=(*golden.notes, recut), pieces=("neckband",))


SHIRT, COAT, FUNNEL, SKIRT, TROUSERS = "undershirt", "waistcoat", "funnel-neck", "skirt", "trousers"
TABARD = "tabard"
SLIPPED = "waistcoat with a slipped dart"

GOLDENS = (
    # Length
    _golden("shorten-at-the-line--undershirt-front-25mm", SHIRT, "shorten_or_lengthen", "front", amount=25.0),
    _golden("lengthen-at-the-line--skirt-back-40mm", SKIRT, "shorten_or_lengthen", "back", way="lengthen", amount=40.0),
    _golden("shorten-at-the-line--funnel-neck-sleeve-20mm", FUNNEL, "shorten_or_lengthen", "sleeve", amount=20.0),
    _golden(
        "shorten-at-the-waist-line--waistcoat-back-15mm",
        COAT,
        "shorten_or_lengthen",
        "back",
        amount=15.0,
        line="waist line",
    ),
    _golden(
        "shorten-at-a-slanting-line--waistcoat-front-10mm",
        COAT,
        "shorten_or_lengthen",
        "front",
        _at("front.edge", 150.0),
        _at("front.side", 230.0),
        amount=10.0,
        line="line drawn across",
    ),
    _golden("hem-raised--skirt-front-30mm", SKIRT, "hem", "front", centre=30.0, side=30.0),
    _golden("hem-lowered--undershirt-back-20mm", SHIRT, "hem", "back", way="lower", centre=20.0, side=20.0),
    _golden(
        "hem-curved-as-a-shirt-tail--undershirt-front-40mm-at-the-side", SHIRT, "hem", "front", centre=0.0, side=40.0
    ),
    _golden(
        "hem-high-at-the-side-low-at-the-back--undershirt-back-25-and-30mm",
        SHIRT,
        "hem",
        "back",
        way="high at the side, low at the centre",
        centre=30.0,
        side=25.0,
    ),
    _then(
        _golden("curved first", COAT, "hem", "front", centre=0.0, side=30.0),
        "hem-curved-then-levelled--waistcoat-front-at-the-side",
        "hem_levelled",
        height="as high as at the side",
    ),
    # Width
    _golden(
        "take-in-at-waist-hip-and-hem--waistcoat-side-8-4-and-4mm",
        COAT,
        "take_in_or_let_out",
        "front:side",
        with_it="back",
        waist=8.0,
        hip=4.0,
        hem=4.0,
    ),
    _golden(
        "let-out-at-every-level--undershirt-side-10mm",
        SHIRT,
        "take_in_or_let_out",
        "front:side",
        with_it="back",
        way="let out",
        bust=10.0,
        waist=10.0,
        hem=10.0,
    ),
    _golden("take-in-at-the-waist--waistcoat-centre-back-6mm", COAT, "take_in_or_let_out", "back:centre", waist=6.0),
    _golden("rounder-hip-curve--skirt-front-5mm", SKIRT, "hip_curve", "front", amount=5.0),
    _golden(
        "spread-all-along--trousers-front-from-hem-to-waist-12mm",
        TROUSERS,
        "slash_and_spread",
        "front",
        _at("front.hem", 105.0),
        _at("front.waist", 100.0),
        amount=12.0,
    ),
    _golden(
        "spread-to-a-hinge--skirt-back-hem-to-waist-60mm",
        SKIRT,
        "slash_and_spread",
        "back",
        _at("back.hem", 125.0),
        _at("back.waist", 40.0, end="end"),
        amount=60.0,
        hinge="to nothing where the line ends",
    ),
    _golden(
        "overlap-to-a-hinge--undershirt-back-side-to-centre-12mm",
        SHIRT,
        "slash_and_spread",
        "back",
        _at("back.side", 200.0),
        _at("back.fold", 400.0),
        way="overlap",
        amount=12.0,
        hinge="to nothing where the line starts",
    ),
    _golden(
        "add-flare--skirt-front-90mm-in-three-slashes", SKIRT, "flare", "front", amount=90.0, slashes="three slashes"
    ),
    _golden(
        "remove-flare--skirt-back-20mm-in-two-slashes",
        SKIRT,
        "flare",
        "back",
        way="remove",
        amount=20.0,
        slashes="two slashes",
    ),
    # Armhole
    _golden(
        "tuck-across-the-armhole--undershirt-front-back-and-cap-6mm",
        SHIRT,
        "armhole_too_low",
        "front",
        also="back sleeve",
        amount=6.0,
    ),
    _golden(
        "underarm-filled-in--waistcoat-front-12mm",
        COAT,
        "armhole_too_low",
        "front",
        way="fill in the underarm by",
        amount=12.0,
    ),
    _golden("gaping-armhole-into-the-bust-dart--waistcoat-front-8mm", COAT, "armhole_gapes", "front", amount=8.0),
    _golden(
        "gaping-armhole-run-out-at-the-hem--undershirt-front-6mm",
        SHIRT,
        "armhole_gapes",
        "front",
        _at("front.hem", 165.0),
        amount=6.0,
        at=0.3,
        into="run out at another edge",
    ),
    _golden(
        "underarm-lowered--undershirt-front-and-sleeve-12mm",
        SHIRT,
        "raise_or_lower_underarm",
        "front",
        also="sleeve",
        way="lower",
        amount=12.0,
    ),
    _golden("underarm-raised--waistcoat-back-12mm", COAT, "raise_or_lower_underarm", "back", way="raise", amount=12.0),
    _golden("armhole-cut-in--waistcoat-back-6mm", COAT, "armhole_cut_in_or_filled_out", "back", amount=6.0),
    _golden(
        "armhole-filled-out--undershirt-front-5mm",
        SHIRT,
        "armhole_cut_in_or_filled_out",
        "front",
        way="fill out",
        amount=5.0,
    ),
    # Neckline
    _golden(
        "neckline-lowered--undershirt-front-20mm", SHIRT, "raise_or_lower_neckline", "front", way="lower", amount=20.0
    ),
    _golden("neckline-raised--undershirt-back-8mm", SHIRT, "raise_or_lower_neckline", "back", way="raise", amount=8.0),
    _golden(
        "neckline-lowered--waistcoat-v-neck-and-facing-15mm",
        COAT,
        "raise_or_lower_neckline",
        "front",
        also="front_facing",
        way="lower",
        amount=15.0,
    ),
    _golden(
        "neckline-widened--waistcoat-back-and-facing-10mm",
        COAT,
        "widen_or_narrow_neckline",
        "back",
        also="back_facing",
        way="widen",
        amount=10.0,
    ),
    _golden(
        "neckline-narrowed--undershirt-front-8mm", SHIRT, "widen_or_narrow_neckline", "front", way="narrow", amount=8.0
    ),
    _golden(
        "gaping-neckline-to-mid-armhole--waistcoat-front-and-facing-6mm",
        COAT,
        "neckline_gapes",
        "front",
        also="front_facing",
        amount=6.0,
    ),
    _golden(
        "gaping-neckline-into-the-bust-dart--waistcoat-front-and-facing-6mm",
        COAT,
        "neckline_gapes",
        "front",
        also="front_facing",
        amount=6.0,
        into="turned into the bust dart",
    ),
    _golden(
        "gaping-neckline-to-the-hem--undershirt-front-6mm",
        SHIRT,
        "neckline_gapes",
        "front",
        amount=6.0,
        at=0.2,
        into="to nothing at the hem",
    ),
    # Shoulder
    _golden(
        "square-shoulder--undershirt-front-8mm",
        SHIRT,
        "square_or_sloping_shoulder",
        "front",
        way="square shoulder",
        amount=8.0,
    ),
    _golden(
        "sloping-shoulder--waistcoat-back-and-facing-10mm",
        COAT,
        "square_or_sloping_shoulder",
        "back",
        also="back_facing",
        way="sloping shoulder",
        amount=10.0,
    ),
    _golden("narrow-shoulder--waistcoat-front-10mm", COAT, "narrow_or_broad_shoulder", "front", amount=10.0),
    _golden(
        "broad-shoulder--undershirt-back-12mm",
        SHIRT,
        "narrow_or_broad_shoulder",
        "back",
        way="broad shoulder",
        amount=12.0,
    ),
    _golden(
        "forward-shoulder--undershirt-front-and-back-8mm", SHIRT, "forward_shoulder", "front", also="back", amount=8.0
    ),
    # Bust and chest
    _golden("full-bust--waistcoat-front-12.7mm", COAT, "full_or_small_bust", "front", amount=12.7),
    _golden("small-bust--waistcoat-front-6mm", COAT, "full_or_small_bust", "front", way="small bust", amount=6.0),
    _golden("full-bust-makes-a-dart--undershirt-front-15mm", SHIRT, "full_or_small_bust", "front", amount=15.0),
    _golden(
        "full-bust-dartless--undershirt-front-10mm",
        SHIRT,
        "full_or_small_bust",
        "front",
        amount=10.0,
        dartless="ease it in",
    ),
    _golden("bust-point-raised--waistcoat-front-12mm", COAT, "bust_point_moved", "front", amount=12.0),
    _golden(
        "bust-point-moved-to-the-side--waistcoat-front-10mm",
        COAT,
        "bust_point_moved",
        "front",
        way="move to the side",
        amount=10.0,
    ),
    _golden("hollow-chest--undershirt-front-8mm", SHIRT, "hollow_or_pigeon_chest", "front", amount=8.0),
    _golden(
        "pigeon-chest--undershirt-front-8mm",
        SHIRT,
        "hollow_or_pigeon_chest",
        "front",
        way="pigeon chest: spread",
        amount=8.0,
    ),
    _golden("dart-made--undershirt-back-shoulder-12mm", SHIRT, "dart_made", "back:shoulder", width=12.0, length=80.0),
    _golden("dart-turned--waistcoat-front-to-the-shoulder", COAT, "dart_turned", "front", to="shoulder"),
    _golden("dart-turned--waistcoat-front-half-to-the-hem", COAT, "dart_turned", "front", to="hem", part=0.5),
    _golden("dart-sewn-shorter--waistcoat-front-12mm", COAT, "dart_lengthened", "front", amount=12.0),
    _golden("dart-split--waistcoat-front-in-two", COAT, "dart_split", "front"),
    _golden("dart-eased-in--waistcoat-front-whole", COAT, "dart_eased", "front"),
    # Back
    _golden("swayback--waistcoat-back-12mm", COAT, "swayback", "back", amount=12.0),
    _golden("swayback--undershirt-back-12mm", SHIRT, "swayback", "back", amount=12.0),
    _golden("broad-back-eased--undershirt-back-6mm", SHIRT, "broad_or_narrow_back", "back", amount=6.0),
    _golden(
        "broad-back-with-a-shoulder-dart--waistcoat-back-10mm-to-nothing-at-the-hem",
        COAT,
        "broad_or_narrow_back",
        "back",
        amount=10.0,
        below="to nothing at the hem",
        shoulder="taken up in a shoulder dart",
    ),
    _golden(
        "broad-back-shared-with-the-front--undershirt-back-and-front-12mm",
        SHIRT,
        "broad_or_narrow_back",
        "back",
        also="front",
        amount=12.0,
        shoulder="shared with the front armhole",
    ),
    _golden("round-upper-back--undershirt-back-10mm", SHIRT, "round_or_erect_back", "back", amount=10.0),
    _golden(
        "erect-back--waistcoat-back-8mm", COAT, "round_or_erect_back", "back", way="erect back: fold out", amount=8.0
    ),
    # Sleeve
    _golden("larger-upper-arm--funnel-neck-sleeve-20mm", FUNNEL, "upper_arm", "sleeve", amount=20.0),
    _golden("smaller-upper-arm--undershirt-sleeve-16mm", SHIRT, "upper_arm", "sleeve", way="smaller", amount=16.0),
    _golden("higher-cap--funnel-neck-sleeve-10mm", FUNNEL, "cap_height", "sleeve", amount=10.0),
    _golden(
        "wider-elbow-and-wrist--funnel-neck-sleeve-16-and-24mm",
        FUNNEL,
        "elbow_and_wrist",
        "sleeve",
        elbow=16.0,
        wrist=24.0,
    ),
    # Waist and seat
    _golden("larger-waist--skirt-front-and-back-25.4mm", SKIRT, "waist_size", "front", also="back", amount=25.4),
    _golden(
        "smaller-hip--skirt-front-and-back-24mm", SKIRT, "hip_size", "front", also="back", way="smaller", amount=24.0
    ),
    _golden("full-seat--trousers-back-20mm", TROUSERS, "seat", "back", amount=20.0),
    _golden("flat-seat--skirt-back-10mm", SKIRT, "seat", "back", way="flat seat: overlap", amount=10.0),
    _golden("deeper-crotch--trousers-front-and-back-15mm", TROUSERS, "crotch_depth", "front", also="back", amount=15.0),
    _golden("longer-crotch--trousers-back-15mm", TROUSERS, "crotch_length", "back", amount=15.0),
    _golden("wider-thigh--trousers-front-and-back-24mm", TROUSERS, "leg_width", "front", also="back", amount=24.0),
    _golden(
        "narrower-leg--trousers-front-and-back-40mm-from-the-knee-down",
        TROUSERS,
        "leg_width",
        "front",
        also="back",
        way="narrower",
        amount=40.0,
        where="from the knee down",
    ),
    # Seams
    _golden(
        "seam-sewn-at-12.7mm--waistcoat-shoulder", COAT, "sew_seam_at", "back:shoulder", with_it="front", width=12.7
    ),
    _golden("allowance-of-25mm--waistcoat-side", COAT, "allowance_width", "front:side", width=25.0),
    # Size
    _golden(
        "size-12-at-the-bust-16-at-the-hip--tabard-front-and-back-side",
        TABARD,
        "blend_between_sizes",
        "front:side",
        with_it="back",
        bust="12",
        hip="16",
    ),
    # Free hand
    _golden(
        "corner-moved--waistcoat-front-hem-at-the-edge-12mm-down",
        COAT,
        "move_a_corner",
        "front",
        _at("front.hem", 0.0),
        way="down",
        along_centre=12.0,
    ),
    _golden(
        "edge-reshaped--waistcoat-v-neck-6mm-hollow",
        COAT,
        "reshape_an_edge",
        "front:neck",
        _at("front.neck", share=0.5),
        first=-6.0,
    ),
    # Bands
    _band_recut("band-recut--undershirt-neck-lowered-30mm", SHIRT, "raise_or_lower_neckline", way="lower", amount=30.0),
    _band_recut(
        "band-recut--undershirt-neck-narrowed-10mm",
        SHIRT,
        "widen_or_narrow_neckline",
        also="back",
        amount=10.0,
        way="narrow",
    ),
    # Truing
    _golden("seam-trued-at-the-hem--undershirt-back-side-5mm", SHIRT, "true_a_seam", "back:side", amount=5.0),
    _golden(
        "corner-rounded-off--undershirt-front-hem-at-the-side-2mm",
        SHIRT,
        "true_a_corner",
        "front:hem",
        _at("front.hem", 0.0, end="end"),
        amount=2.0,
        run=60.0,
    ),
    _golden(
        "corner-filled-in--undershirt-front-neck-at-the-fold-1mm",
        SHIRT,
        "true_a_corner",
        "front:neck",
        _at("front.neck", 0.0, end="end"),
        way="fill the hollow in",
        amount=1.0,
        run=40.0,
    ),
    _golden(
        "notch-moved--waistcoat-front-side-4mm",
        COAT,
        "move_a_notch",
        "front:side",
        _at("front.side", 0.0),
        amount=4.0,
    ),
    _golden("dart-legs-trued--slipped-waistcoat-front-1.5mm", SLIPPED, "true_dart_legs", "front", amount=1.5),
)
