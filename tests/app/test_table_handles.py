"""Handles answer to every alteration without knowing any: drag one, and the strip's side follows the hand."""

from __future__ import annotations

import dataclasses
import math

import pytest

from app.handles import Handle, handles_of, straight_sides, strip_of
from app.scene import scene_of
from app.window.table_words import handle_words
from geometry.alterations import find
from geometry.following import take_step
from geometry.garments import Garment
from geometry.notes import Note, Target
from geometry.pipeline import draft
from geometry.stages import Step
from sample_pieces.draft import undershirt
from tests.alteration_cases import CASES, Case
from tests.canon import front, sleeve

STRIPPED = [case for case in CASES if any(len(s.outline) for s in take_step(case.garment, case.note()).strips)]


def steps_and_handles(case: Case) -> list[tuple[Step, str, Handle]]:
    step = take_step(case.garment, case.note())
    pieces = dict.fromkeys(target.piece for target in case.targets)
    return [(step, piece, handle) for piece in pieces for handle in handles_of(step, piece)]


def dragged(step: Step, piece: str, handle: Handle, way: float) -> Step:
    """The note done again after its handle was pulled ``way`` mm along."""
    start = handle.at
    now = (start[0] + way * handle.along[0], start[1] + way * handle.along[1])
    amounts = dataclasses.replace(step.note.amounts, **{handle.field: handle.value_at(start, now, handle.value)})
    targets = tuple(dataclasses.replace(target, amount=None) for target in step.note.targets)
    return take_step(step.before, dataclasses.replace(step.note, amounts=amounts, targets=targets))


@pytest.mark.parametrize("case", STRIPPED, ids=lambda case: case.name)
def test_the_side_of_the_strip_follows_the_hand(case: Case) -> None:
    """Pulled by 1 mm, the handle's line passes within 0.1 mm of the hand (amounts are not all linear)."""
    found = steps_and_handles(case)
    if case.alteration in ("shorten_or_lengthen", "armhole_gapes") or "tuck" in case.name:
        assert found, "a strip whose side goes along with a number can be dragged"
    for step, piece, handle in found:
        after = dragged(step, piece, handle, 1.0)
        assert after.done, [finding.says for finding in after.findings]
        strip = strip_of(after.strips, piece)
        assert strip is not None
        hand = (handle.at[0] + handle.along[0], handle.at[1] + handle.along[1])
        gaps = [distance_to_line(hand, side) for side in straight_sides(strip.outline)]
        assert min(gaps) < 0.1


@pytest.mark.parametrize("case", STRIPPED, ids=lambda case: case.name)
def test_the_main_amount_comes_first_and_no_two_numbers_share_a_field(case: Case) -> None:
    by_piece: dict[str, list[Handle]] = {}
    for _, piece, handle in steps_and_handles(case):
        by_piece.setdefault(piece, []).append(handle)
    for handles in by_piece.values():
        assert [one.main for one in handles] == sorted((one.main for one in handles), reverse=True)
        assert len({handle.field for handle in handles}) == len(handles)
        for handle in handles:
            assert math.isclose(math.hypot(*handle.along), 1.0, abs_tol=1e-9)
            assert handle.at in handle.side


def test_a_parallel_tuck_has_the_handles_worked_by_hand() -> None:
    """25 mm above the lengthen line at 240: the parallel lies at 265 and goes up 1 mm for each mm."""
    step = take_step(Garment("g", "g", (front(),)), note("shorten_or_lengthen", Target("front"), amount=25.0))
    (handle,) = handles_of(step, "front")
    assert (handle.field, handle.value, handle.main) == ("amount", 25.0, True)
    assert handle.at[1] == pytest.approx(265.0) and handle.at[0] > 200.0, "the free end is the one off the fold"
    assert handle.along == pytest.approx((0.0, 1.0)) and handle.per_mm == pytest.approx(1.0)


def test_a_tuck_at_the_armhole_is_dragged_by_its_amount_and_by_its_height() -> None:
    step = take_step(Garment("g", "g", (front(),)), note("armhole_too_low", Target("front"), amount=6.0, height=60.0))
    amount, height = handles_of(step, "front")
    assert (amount.field, height.field) == ("amount", "height")
    assert amount.at[1] == pytest.approx(416.0) and height.at[1] == pytest.approx(410.0)
    assert handles_of(step, "front", "height") == (height,)


def test_a_piece_with_its_own_amount_is_dragged_from_that_amount() -> None:
    targets = (Target("front", amount=12.0),)
    step = take_step(Garment("g", "g", (front(),)), note("shorten_or_lengthen", *targets, amount=25.0))
    (handle,) = handles_of(step, "front")
    assert handle.value == 12.0 and handle.at[1] == pytest.approx(252.0)


def test_a_note_that_was_not_done_or_is_off_has_no_handles() -> None:
    garment = Garment("g", "g", (front(), sleeve()))
    wide = take_step(garment, note("shorten_or_lengthen", Target("front"), amount=300.0))
    assert not wide.done and handles_of(wide, "front") == ()
    off = take_step(garment, dataclasses.replace(note("shorten_or_lengthen", Target("front")), on=False))
    assert handles_of(off, "front") == ()
    other = take_step(garment, note("shorten_or_lengthen", Target("front")))
    assert handles_of(other, "sleeve") == ()


def test_a_drag_stays_within_the_limits_of_its_field() -> None:
    step = take_step(Garment("g", "g", (front(),)), note("armhole_too_low", Target("front"), amount=6.0, height=60.0))
    _, height = handles_of(step, "front")
    assert height.value_at((0.0, 0.0), (0.0, -500.0), height.value) == height.least == 5.0
    assert height.value_at((0.0, 0.0), (0.0, 900.0), height.value) == height.most == 250.0


def note(alteration: str, *targets: Target, **values: float) -> Note:
    from geometry.alterations import find

    return Note("n", alteration, find(alteration).checked(values), targets)


def distance_to_line(point: tuple[float, float], side: tuple[tuple[float, float], tuple[float, float]]) -> float:
    (ax, ay), (bx, by) = side
    return abs((bx - ax) * (point[1] - ay) - (by - ay) * (point[0] - ax)) / math.dist(*side)


def test_a_number_that_is_not_what_the_strip_adds_is_said_as_what_it_is() -> None:
    # A neckline 30 mm lower asks for a longer band; nothing more than that was asked, so 0 is not what is added.
    shirt = undershirt()
    lower, recut = find("raise_or_lower_neckline"), find("recut_a_band")
    notes = [
        Note("note-1", lower.name, lower.checked({"way": "lower", "amount": 30.0}), (Target("front"),)),
        Note("note-2", recut.name, recut.checked({}), (Target("neckband"),)),
    ]
    drafted = draft(shirt, notes)
    scene = scene_of(drafted, "neckband", "note-2")
    (handle,) = [one for one in scene.handles if one.main]
    assert handle_words(handle, 0.0, "cm", True) == "longer than its\nseam asks: 0 mm"
    assert handle_words(handle, 25.0, "cm", True) == "longer than its\nseam asks: 2.5 cm"
    # The strips say what is really added, on the half band: half of what the whole band gains.
    gained = drafted.redrawn.piece("neckband").edge("neckband.outer").length
    gained -= shirt.piece("neckband").edge("neckband.outer").length
    assert sum(strip.amount or 0.0 for strip in scene.strips) == pytest.approx(gained, abs=1e-6) and gained > 10.0
