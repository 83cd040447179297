"""True every seam: on the samples with hard lists of notes nothing stays open; each proposal betters its finding."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

import sample_pieces
from app.files.garment_file import open_file
from geometry.alterations import find
from geometry.corners import walk_corners
from geometry.every_seam import AS_TRACED, Trued, true_every_seam
from geometry.garments import EdgeRef, Garment, Seam, Stretch, StretchKind
from geometry.lines import straight
from geometry.memory import Memory
from geometry.named_corners import corner_target
from geometry.notes import Address, Note, Target
from geometry.pieces import CornerKind, EdgeKind, Finish
from geometry.pipeline import Draft, draft
from geometry.remedies import propose
from geometry.sameness import same
from geometry.tolerances import SQUARE_DEG, TRUE_MM
from tests.canon import edge, piece

GARMENTS = ("undershirt", "funnel-neck", "skirt", "trousers", "waistcoat")


@cache
def sample(name: str) -> Garment:
    return open_file(sample_pieces.path(f"{name}.garment.json"))[0].garment


@cache
def trued_of(words: str) -> Trued:
    """What truing every seam makes of one of the lists."""
    name, notes = LISTS[words]
    return true_every_seam(sample(name), notes, len(notes))


def note(number: int, alteration: str, *targets: Target | str, **values: Any) -> Note:
    made = tuple(Target(one) if isinstance(one, str) else one for one in targets)
    return Note(f"note-{number}", alteration, find(alteration).checked(values), made)


#: Hard lists of notes: (garment, what was written).
LISTS: dict[str, tuple[str, tuple[Note, ...]]] = {
    "armhole tucked on front and back only": (
        "undershirt", (note(1, "armhole_too_low", "front", "back", amount=9.0),)),
    "armhole tucked on the front alone": (
        "undershirt", (note(1, "armhole_too_low", "front", amount=12.0),)),
    "side seam run on at the hem of one piece": (
        "undershirt", (note(1, "true_a_seam", corner_target("back", "back.side", False), way="longer", amount=7.0),
                       note(2, "true_a_seam", corner_target("front", "front.side", True), amount=2.5))),
    "shortened in front alone, neck lowered": (
        "undershirt", (note(1, "shorten_or_lengthen", "front", amount=18.0),
                       note(2, "raise_or_lower_neckline", "front", way="lower", amount=15.0))),
    "square shoulder and lowered armhole": (
        "undershirt", (note(1, "square_or_sloping_shoulder", "front", "back", amount=9.0),
                       note(2, "raise_or_lower_underarm", "front", "back", amount=8.0))),
    "forward shoulder, swayback, larger upper arm": (
        "funnel-neck", (note(1, "forward_shoulder", "front", "back", amount=6.0), note(2, "swayback", "back"),
                        note(3, "upper_arm", "sleeve"))),
    "hem raised in front alone, waist taken in": (
        "funnel-neck", (note(1, "hem", "front", centre=25.0, side=10.0),
                        note(2, "take_in_or_let_out", Target("front", edge="front.side"), waist=9.0, hem=6.0))),
    "front alone shortened, one side let out at waist and hip": (
        "skirt", (note(1, "shorten_or_lengthen", "front", amount=30.0),
                  note(2, "take_in_or_let_out", Target("back", edge="back.side"), way="let out", waist=8.0, hip=5.0))),
    "full seat, larger waist": ("skirt", (note(1, "seat", "back"), note(2, "waist_size", "front", "back"))),
    "crotch longer behind, wider leg in front": (
        "trousers", (note(1, "crotch_length", "back", amount=14.0), note(2, "leg_width", "front"))),
    "crotch deeper in front alone": ("trousers", (note(1, "crotch_depth", "front"),)),
    "back alone shortened, full bust": (
        "waistcoat", (note(1, "shorten_or_lengthen", "back", amount=15.0),
                      note(2, "full_or_small_bust", "front"))),
    "shoulders sloping on all, neck widened in front alone": (
        "waistcoat", (note(1, "square_or_sloping_shoulder", "front", "back", way="sloping shoulder", amount=8.0),
                      note(2, "widen_or_narrow_neckline", "front", amount=6.0))),
    "hollow chest, armhole tucked": (
        "funnel-neck", (note(1, "armhole_too_low", "front", "back", amount=6.0),
                        note(2, "hollow_or_pigeon_chest", "front"))),
    "armhole cut in, neck gaping": (
        "undershirt", (note(1, "armhole_cut_in_or_filled_out", "front", "back"), note(2, "neckline_gapes", "back"))),
}  # fmt: skip


def open_of(drafted: Draft) -> list[str]:
    """Every finding about a seam, a corner or a dart: none of any level may stay."""
    return [finding.says for finding in drafted.findings if finding.about is not None]


def warnings_of(drafted: Draft) -> set[tuple[str, str | None]]:
    """What else is doubtful: not about seams, corners or darts."""
    return {(f.code, f.piece) for f in drafted.findings if f.about is None and f.level != "notice"}


@pytest.mark.parametrize("words", LISTS)
def test_nothing_stays_open_on_the_samples(words: str) -> None:
    name, notes = LISTS[words]
    garment, memory = sample(name), Memory(2000)
    before = draft(garment, notes, memory)
    assert all(step.done for step in before.followed.steps), before.findings
    trued = trued_of(words)
    after = draft(garment, (*notes, *trued.notes), memory)
    assert open_of(after) == [] and trued.left == ()
    # Walked by hand from the result: every seam within its range, every corner that runs on within a degree.
    for walked in after.after:
        least, most = walked.ease
        assert least - TRUE_MM <= walked.difference_mm <= most + TRUE_MM + 0.001
    pointing = {c.id for c in walk_corners(garment) if abs(c.off) > 10 or c.meant_to_point}
    for corner in after.corners:
        assert abs(corner.off) <= SQUARE_DEG or corner.id in pointing
    assert all(step.done for step in after.followed.steps)
    assert warnings_of(after) <= warnings_of(before)
    assert len(trued.notes) <= 14 and all(0 < amount_of(one) <= 60 for one in trued.notes)
    assert [one.id for one in trued.notes] == [f"note-{len(notes) + 1 + i}" for i in range(len(trued.notes))]
    again = true_every_seam(garment, (*notes, *trued.notes), len(notes) + len(trued.notes), memory)
    assert again.notes == () and again.left == ()


def amount_of(one: Note) -> float:
    """The largest of a note's amounts in mm."""
    numbers = [value for value in vars(one.amounts).values() if isinstance(value, float)]
    return max([abs(n) for n in numbers if n] or [1.0])


def test_at_least_one_list_needs_every_kind_of_act() -> None:
    # A check of the lists themselves: between them they call for every alteration of truing that samples can need.
    used: set[str] = set()
    for words in LISTS:
        used |= {one.alteration for one in trued_of(words).notes}
    assert {"true_a_seam", "true_a_corner", "move_a_notch", "slash_and_spread", "cap_height"} <= used


@pytest.mark.parametrize("name", GARMENTS)
def test_a_garment_that_sews_is_left_as_it_is(name: str) -> None:
    trued = true_every_seam(sample(name), (), 0)
    assert trued.notes == () and trued.left == ()


@pytest.mark.parametrize("words", list(LISTS)[::3])
def test_each_finding_has_a_proposal_that_makes_it_better(words: str) -> None:
    name, notes = LISTS[words]
    garment, memory = sample(name), Memory(2000)
    drafted = draft(garment, notes, memory)
    findings = [finding for finding in drafted.findings if finding.about is not None]
    assert findings
    for finding in findings:
        offered = propose(garment, notes, finding, len(notes), memory)
        assert offered is not None and offered.notes and offered.says
        assert offered.after < 0.75 * offered.before
        now = draft(garment, (*notes, *offered.notes), memory)
        still = [f for f in now.findings if f.about == finding.about]
        assert bool(still) == (offered.after > 0)


def test_the_same_answer_twice_and_after_saving() -> None:
    from app.documents import Document
    from app.files.garment_file import read_bytes, to_bytes

    name, notes = LISTS["square shoulder and lowered armhole"]
    first = true_every_seam(sample(name), notes, len(notes))
    assert first == trued_of("square shoulder and lowered armhole")
    whole = Document(sample(name), (*notes, *first.notes))
    opened = read_bytes(to_bytes(whole))
    assert opened.notes == whole.notes
    kept = draft(opened.garment, opened.notes).redrawn
    assert same(kept, draft(whole.garment, whole.notes).redrawn, 0.0)


# -- the joined piece's own tuck first -----------------------------------------------------------------------------


def tent() -> Garment:
    """A front whose armhole is one straight upright line, and a sleeve whose cap leans 45 degrees on both sides."""
    front = piece(
        "front",
        edge("hem", EdgeKind.HEM, straight((0, 0), (200, 0)), finish=Finish.HEM_ONCE),
        edge("side", EdgeKind.SIDE, straight((200, 0), (200, 300))),
        edge("armhole", EdgeKind.ARMHOLE, straight((200, 300), (200, 300 + 100 * math.sqrt(2)))),
        edge("shoulder", EdgeKind.SHOULDER, straight((200, 300 + 100 * math.sqrt(2)), (100, 480))),
        edge("neck", EdgeKind.NECKLINE, straight((100, 480), (0, 480))),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 480), (0, 0)), finish=Finish.FOLD),
    )
    sleeve = piece(
        "sleeve",
        edge("wrist", EdgeKind.WRIST, straight((-100, 0), (100, 0)), finish=Finish.HEM_ONCE),
        edge("front_under", EdgeKind.UNDERARM, straight((100, 0), (100, 200))),
        edge("cap", EdgeKind.CAP, straight((100, 200), (0, 300)), straight((0, 300), (-100, 200))),
        edge("back_under", EdgeKind.UNDERARM, straight((-100, 200), (-100, 0))),
    )
    twin = replace(front, id="back", edges=tuple(replace(e, id=f"b.{e.id}") for e in front.edges),
                   corners=tuple(replace(c, id=f"b.{c.id}") for c in front.corners))  # fmt: skip
    seam = Seam("cap", "sleeve to armhole", (EdgeRef("front", "armhole"), EdgeRef("back", "b.armhole", True)),
                (EdgeRef("sleeve", "cap"),))  # fmt: skip
    return Garment("tent", "tent", (front, twin, sleeve), (seam,))


def test_a_tuck_across_a_cap_that_leans_45_degrees_takes_1_41_of_it_off_each_side() -> None:
    # T / cos 45 degrees = 1.4142 T off each side of the cap, T off each upright armhole; worked by hand.
    garment, memory, T = tent(), Memory(), 10.0
    tuck = note(1, "armhole_too_low", "front", "back", amount=T, height=40.0)
    drafted = draft(garment, (tuck,), memory)
    assert drafted.after[0].first_mm == pytest.approx(200 * math.sqrt(2) - 2 * T, abs=1e-6)
    finding = next(f for f in drafted.findings if f.about == "seam:cap")
    offered = propose(garment, (tuck,), finding, 1, memory)
    assert offered is not None
    first = offered.notes[0]
    assert (first.alteration, first.amounts, first.targets) == ("armhole_too_low", tuck.amounts, (Target("sleeve"),))
    cut = draft(garment, (tuck, first), memory).followed.garment.piece("sleeve").edge("cap")
    own = sum(run.chain.length for run in cut.runs)
    assert 200 * math.sqrt(2) - own == pytest.approx(2 * 1.41421356 * T, abs=1e-6)
    # Walked again with its jogs redrawn it is not even yet; the remainder is solved.
    assert len(offered.notes) > 1 and offered.after == 0.0
    after = draft(garment, (tuck, *offered.notes), memory).after[0]
    assert after.difference_mm == pytest.approx(0.0, abs=TRUE_MM)


# -- what was traced -----------------------------------------------------------------------------------------------


def test_a_difference_that_was_traced_is_trued_unless_it_is_to_be_left_or_was_accepted() -> None:
    garment = sample("traced-pair")
    trued = true_every_seam(garment, (), 0)
    assert [one.alteration for one in trued.notes] == ["true_a_seam"]
    assert trued.notes[0].amounts.amount == pytest.approx(2.0, abs=0.05)
    assert open_of(draft(garment, trued.notes)) == []
    left = true_every_seam(garment, (), 0, leave_traced=True)
    assert left.notes == () and [(one.about, one.why) for one in left.left] == [("seam:sides", AS_TRACED)]
    accepted = tuple(replace(s, accepted_mm=2.0) if s.id == "sides" else s for s in garment.seams)
    assert true_every_seam(replace(garment, seams=accepted), (), 0).notes == ()


def bent_hem(degrees: float, said: CornerKind = CornerKind.RUNS_ON) -> Garment:
    """A panel whose hem meets the fold at an angle, as traced, with what was said of that corner."""
    rise = 200 * math.tan(math.radians(90 - degrees))
    panel = piece(
        "panel",
        edge("hem", EdgeKind.HEM, straight((0, 0), (200, rise)), finish=Finish.HEM_ONCE),
        edge("side", EdgeKind.SIDE, straight((200, rise), (200, 400))),
        edge("waist", EdgeKind.WAIST, straight((200, 400), (0, 400))),
        edge("fold", EdgeKind.CENTRE_FRONT, straight((0, 400), (0, 0)), finish=Finish.FOLD),
    )
    corners = (replace(panel.corners[0], kind=said), *panel.corners[1:])
    return Garment("g", "g", (replace(panel, corners=corners),))


@pytest.mark.parametrize(
    ("degrees", "said", "touched"),
    [
        (86.0, CornerKind.RUNS_ON, True),
        (86.0, CornerKind.POINTS, False),
        (78.0, CornerKind.RUNS_ON, False),
        (78.0, CornerKind.TO_RUN_ON, True),
        (102.0, CornerKind.RUNS_ON, False),
        (102.0, CornerKind.TO_RUN_ON, True),
    ],
)
def test_a_corner_far_off_in_the_tracing_is_never_touched_until_she_says_otherwise(
    degrees: float, said: CornerKind, touched: bool
) -> None:
    # More than 10 degrees off in the tracing counts as meant to point: the rule of this program, no outside source.
    garment = bent_hem(degrees, said)
    trued = true_every_seam(garment, (), 0)
    assert bool(trued.notes) is touched and trued.left == ()
    assert all(one.alteration == "true_a_corner" for one in trued.notes)
    after = draft(garment, trued.notes)
    hem = next(c for c in after.corners if c.id == "panel:panel.corner0")
    assert abs(hem.off) <= SQUARE_DEG if touched else hem.degrees == pytest.approx(degrees, abs=1e-6)


def test_what_cannot_be_put_right_is_left_with_its_reason() -> None:
    # Two sides of folded strips that differ by 150 mm: no corner can be carried so far.
    short, long = bent_hem(90.0).pieces[0], bent_hem(90.0).pieces[0]
    long = replace(long, id="long", edges=tuple(replace(e, id=f"l.{e.id}") for e in long.edges),
                   corners=tuple(replace(c, id=f"l.{c.id}") for c in long.corners))  # fmt: skip
    seam = Seam("s", "seam", (EdgeRef("panel", "waist"),), (EdgeRef("long", "l.side"),), (Stretch(),))
    garment = Garment("g", "g", (short, long), (seam,))
    trued = true_every_seam(garment, (), 0)
    assert trued.left and trued.left[0].about == "seam:s" and "no note was found" in trued.left[0].why


def test_notches_are_set_so_that_ease_lies_where_it_is_allowed() -> None:
    # 8 mm of ease in a cap that may have 0 to 13 between its notches and none below them.
    garment = sample("undershirt")
    moved = note(1, "move_a_notch", replace(corner_target("sleeve", "sleeve.cap", True, 5.0), line="sleeve.cap.front"))
    drafted = draft(garment, (moved,))
    assert drafted.followed.steps[0].done, drafted.findings
    assert open_of(drafted)
    trued = true_every_seam(garment, (moved,), 1)
    assert [one.alteration for one in trued.notes] == ["move_a_notch"]
    cap = next(w for w in draft(garment, (moved, *trued.notes)).after if w.seam == "sleeve_cap")
    kinds = [(s.kind, s.second_mm - s.first_mm) for s in cap.stretches]
    assert [k for k, _ in kinds] == [StretchKind.EVEN, StretchKind.EASED, StretchKind.EVEN]
    assert kinds[0][1] == pytest.approx(0.0, abs=0.2) and kinds[1][1] == pytest.approx(6.5, abs=0.3)


def test_a_finding_that_is_about_nothing_walked_has_no_proposal() -> None:
    garment = sample("undershirt")
    wrong = note(1, "reshape_an_edge", Target("front", edge="front.side", across=(Address("front.hem", share=0.5),)))
    finding = draft(garment, (wrong,)).findings[0]
    assert finding.about is None and propose(garment, (wrong,), finding, 1) is None
