"""Walking the seams: limits, stretches, notches, since which note, corners."""

from __future__ import annotations

from dataclasses import replace

import pytest

from geometry.alterations import find
from geometry.corners import corner_findings, walk_corners
from geometry.following import follow
from geometry.garments import Garment, Seam, Stretch, StretchKind
from geometry.lines import polyline, straight
from geometry.notes import Note, Target
from geometry.pieces import CornerKind, Run
from geometry.truing import seam_finding, since, verdict, walk, walk_seam
from tests.canon import bodice, front, leaning


@pytest.mark.parametrize(
    ("difference", "expected"),
    [
        (0.0, "true"), (0.8, "true"), (-0.8, "true"), (0.801, "notice"), (1.6, "notice"), (1.601, "warn"),
        (3.2, "warn"), (3.201, "fault"), (-3.201, "fault"), (0.8004, "true"), (0.8006, "notice"),
    ],
)  # fmt: skip
def test_the_limits_of_a_mismatch(difference: float, expected: str) -> None:
    # 0.8 mm (0.03 in) for computer-made patterns, 1/16 in and 1/8 in: Threads no. 200 (2018), "10 patternwork skills".
    # Lengths are rounded to 0.001 mm before a limit is applied.
    assert verdict(difference) == expected


@pytest.mark.parametrize(
    ("difference", "expected"),
    [(25.0, "ease"), (20.0, "ease"), (38.0, "ease"), (19.3, "ease"), (18.5, "notice"), (41.0, "warn"), (-2.0, "fault")],
)
def test_the_limits_apply_to_what_lies_outside_the_ease(difference: float, expected: str) -> None:
    # A set-in woven cap is eased by 20 to 38 mm: common practice, no source.
    assert verdict(difference, 20.0, 38.0) == expected


def test_a_bodice_of_equal_sides_walks_exactly() -> None:
    for walked in walk(bodice(), "before"):
        assert walked.difference_mm == pytest.approx(0, abs=1e-9)
        assert walked.verdict == "true"
    sides = walk(bodice(), "before")[1]
    assert sides.notches[0].first_at == pytest.approx(sides.notches[0].second_at)


def _sleeve_seam(stretches: tuple[Stretch, ...]) -> tuple[Garment, Seam]:
    garment = bodice()
    seam = replace(garment.seams[0], stretches=stretches)
    return replace(garment, seams=(seam,)), seam


def test_each_stretch_between_notches_is_walked_by_itself() -> None:
    garment, seam = _sleeve_seam((Stretch(), Stretch(StretchKind.EASED, 0, 12)))
    moved = replace(garment.piece("back").notches[0], place=replace(garment.piece("back").notches[0].place, u=0.55))
    shifted = garment.with_piece(replace(garment.piece("back"), notches=(moved, garment.piece("back").notches[1])))
    walked = walk_seam(shifted, seam, "before")
    first, second = walked.stretches
    assert first.second_mm - first.first_mm == pytest.approx(-(second.second_mm - second.first_mm), abs=1e-9)
    assert walked.difference_mm == pytest.approx(0, abs=1e-9)
    assert walked.verdict == "fault"
    finding = seam_finding(shifted, walked, "traced", "so in the tracing")
    assert finding is not None and "Move the notch" in finding.says


def test_a_band_that_is_stretched_on_is_measured_against_its_ratio() -> None:
    panel = leaning(0.0)
    band = replace(leaning(0.0), id="band", name="band")
    garment = Garment(
        "g", "g", (panel, band),
        (Seam("s", "band seam", (_ref("panel", "side"),), (_ref("band", "waist"),),
              (Stretch(StretchKind.STRETCHED, -3, 3, ratio=0.375),)),),
    )  # fmt: skip
    walked = walk(garment, "before")[0]
    # side 400 long, waist 150: 0.375 x 400 = 150, worked by hand.
    assert (walked.first_mm, walked.second_mm) == pytest.approx((400, 150))
    assert walked.ease == pytest.approx((-253, -247))
    assert walked.verdict == "ease"


def _ref(piece: str, edge: str):  # type: ignore[no-untyped-def]
    from geometry.garments import EdgeRef

    return EdgeRef(piece, edge)


def test_a_front_at_5_and_a_back_at_10_degrees_end_0_31_mm_apart() -> None:
    # H 400, T 25.4, both 406.17 long before: 380.874 and 381.182 after redrawing corner to corner, worked by hand.
    from geometry.blending import blend_piece

    lengths = []
    for degrees in (5.0, 10.0):
        import math

        height = 406.1706 * math.cos(math.radians(degrees))
        panel = replace(leaning(degrees, height), lines=leaning(degrees, height).lines[:1])
        garment = Garment("g", "g", (panel,))
        note = Note(
            "n", "shorten_or_lengthen", find("shorten_or_lengthen").checked({"amount": 25.4}), (Target("panel"),)
        )
        followed = follow(garment, (note,))
        lengths.append(blend_piece(followed.garment.piece("panel"), {}).piece.edge("side").length)
    assert lengths == pytest.approx([380.874, 381.182], abs=0.001)


def test_since_names_the_note_that_put_the_seam_out() -> None:
    garment = bodice()
    shorten = find("shorten_or_lengthen")
    both = Note("n1", shorten.name, shorten.checked({"amount": 20.0}), (Target("front"), Target("back")))
    one = Note("n2", shorten.name, shorten.checked({"amount": 9.0}), (Target("front"),))
    followed = follow(garment, (both, one))
    before, after = walk(garment, "before"), walk(followed.garment, "after")
    found = {w.seam: since(followed, b, w) for b, w in zip(before, after, strict=True)}
    assert found == {"sides": "n2", "shoulders": "traced"}
    assert {w.seam: w.verdict for w in after} == {"sides": "fault", "shoulders": "true"}


def test_an_accepted_difference_is_left_as_it_is() -> None:
    garment, seam = bodice(), bodice().seams[1]
    piece = garment.piece("front")
    shoulder = piece.edge("shoulder")
    # The front shoulder drawn through a point 15 mm out is about 4 mm longer than the straight back one.
    bent = replace(shoulder, runs=(Run(polyline([shoulder.start, (122.0, 592.0), shoulder.end])),))
    longer = garment.with_piece(piece.with_edge(bent))
    walked = walk_seam(longer, seam, "before")
    assert walked.verdict == "fault"
    accepted = replace(seam, accepted_mm=walked.difference_mm)
    assert walk_seam(longer, accepted, "before").verdict == "ease"


def test_corners_that_run_on_add_up_to_180_and_folds_are_square() -> None:
    corners = {corner.name: corner for corner in walk_corners(bodice())}
    armhole = corners["Armhole at the side seam"]
    assert armhole.wanted == 180 and armhole.degrees == pytest.approx(2 * _inner_angle("armhole"), abs=1e-6)
    fold = corners["hem of front at the fold"]
    assert fold.wanted == 90 and fold.runs_on


def _inner_angle(edge_id: str) -> float:
    from geometry.pieces import corner_angle

    piece = front()
    return corner_angle(piece, [e.id for e in piece.edges].index(edge_id))


def test_a_corner_far_off_in_the_tracing_is_meant_to_point_and_is_left_alone() -> None:
    traced = walk_corners(bodice())
    far_off = [c for c in traced if abs(c.off) > 10]
    assert far_off, "the canon has such a corner"
    said = {f.says.split(":")[0] for f in corner_findings(traced, traced)}
    assert not said & {c.name for c in far_off}


def test_a_corner_that_a_note_bends_is_found() -> None:
    garment = bodice()
    piece = garment.piece("front")
    hem = piece.edge("hem")
    bent = replace(hem, runs=(Run(straight((0, 0), (111, -4))), Run(straight((111, -4), hem.end))), joints=(None,))
    off = garment.with_piece(piece.with_edge(bent))
    findings = corner_findings(walk_corners(garment), walk_corners(off))
    assert any("hem of front at the fold" in f.says and "is square" in f.says for f in findings)
    pointed = replace(off.piece("front"), corners=tuple(replace(c, kind=CornerKind.POINTS) for c in piece.corners))
    assert not any(
        "hem of front at the fold" in f.says
        for f in corner_findings(walk_corners(garment), walk_corners(off.with_piece(pointed)))
    )
