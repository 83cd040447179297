"""What is asked about each piece: its name, its fold, its edges, the line it was traced on, and which side is up."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from app.tracing.building import Drawn, Settled, drawn_allowances, index_of, right_angle_gap
from app.tracing.corners_by_hand import beside_corners
from app.tracing.naming import names_for
from app.tracing.questions import Answers, Choice, Question, settled
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.lines import Chain
from geometry.pieces import EdgeKind
from geometry.units import read_length

STITCHING, CUTTING = "stitching line", "cutting line"
RIGHT, WRONG = "right side up", "wrong side up"
#: Corners at the fold this far from square are offered to be made so (degrees).
_SQUARE_FROM, _SQUARE_TO = 0.02, 5.0
#: A name of an edge has no more letters.
LONGEST_NAME = 60
#: An edge that bows by no more than this may lie on the fold, and is then made straight (mm).
_FOLD_BOW_MM = 1.0
_INCLUDED = re.compile(
    r"(?:includ\w*|with)\D{0,20}([\d./ ]+\s*(?:mm|cm|in|\"))|([\d./ ]+\s*(?:mm|cm|in|\"))[^\d]{0,40}includ",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class PieceAnswers:
    """The answers for one piece with the questions they answer and the doubts that arose."""

    settled: Settled
    questions: tuple[Question, ...]
    findings: tuple[Finding, ...]


def piece_answers(drawn: Drawn, answers: Answers, size: str) -> PieceAnswers:
    """Every question about a piece, settled. Keys end in the piece's id: “fold:front”. Raises PatternError."""
    questions: list[Question] = []

    fold_key = f"fold:{drawn.id}"
    if answers.get(fold_key, "none").strip().lower() != "none":
        answers = {**answers, fold_key: drawn.names[index_of(drawn, answers[fold_key])]}

    def ask(question: Question) -> str:
        given = settled(question, answers)
        questions.append(given)
        return given.answer

    name = ask(Question(f"name:{drawn.id}", "What is the piece called?", drawn.raw.name, "--name", piece=drawn.id))
    fold = _fold(drawn, ask)
    kinds = _kinds(drawn, answers, fold, questions)
    widths, on_cutting_line = _line(drawn, answers, fold, kinds, ask)
    wrong = False
    if fold is None:
        choices = (Choice(RIGHT, "as drawn"), Choice(WRONG, "it is turned over"))
        asks = "Which side of the piece is up in the drawing?"
        wrong = ask(Question(f"up:{drawn.id}", asks, RIGHT, "--up", choices, drawn.id)) == WRONG
    square = _square(drawn, fold, ask)
    called = _called(drawn, answers, names_for(kinds, fold))
    findings = _findings(drawn)
    given = Settled(name, fold, kinds, on_cutting_line, widths, wrong, square, size, called)
    return PieceAnswers(given, tuple(questions), findings)


def _fold(drawn: Drawn, ask) -> int | None:  # type: ignore[no-untyped-def]
    names = drawn.names
    straight = [i for i, edge in enumerate(drawn.edges) if edge.whole.is_straight or _bow(edge.whole) <= _FOLD_BOW_MM]
    default = "none" if drawn.suggestion.fold is None else names[drawn.suggestion.fold]
    choices = (*(Choice(names[i], f"edge {i + 1}") for i in straight), Choice("none", "drawn whole"))
    answer = ask(
        Question(f"fold:{drawn.id}", "Which edge lies on the fold of the cloth?", default, "--fold", choices, drawn.id)
    )
    return None if answer == "none" else index_of(drawn, answer)


def _bow(line: Chain) -> float:
    """How far a line leaves the straight between its ends (mm)."""
    (x0, y0), (x1, y1) = line.start, line.end
    off = (line.flat[0] - line.start) @ np.array([y0 - y1, x1 - x0])
    return float(np.abs(off).max()) / max(math.dist(line.start, line.end), 1e-9)


def _kinds(drawn: Drawn, answers: Answers, fold: int | None, questions: list[Question]) -> tuple[EdgeKind, ...]:
    kinds = list(drawn.suggestion.kinds)
    names = drawn.names
    listed = ", ".join(f"{i} {name}" for i, name in enumerate(names, 1))
    key = f"edges:{drawn.id}"
    question = Question(key, "Are the edges named rightly, in order round the piece?", listed, "--edge", piece=drawn.id)
    given = answers.get(key)
    named = set()
    if given is not None:
        for part in given.split(","):
            word, equals, kind = part.partition("=")
            found = next((one for one in EdgeKind if one.value == kind.strip().lower()), None)
            if not equals or found is None:
                known = ", ".join(one.value for one in EdgeKind)
                raise PatternError(f"--edge “{part}” should be EDGE=KIND, with one of: {known}.", drawn.id)
            named.add(index_of(drawn, word))
            kinds[index_of(drawn, word)] = found
    # What lies beside a corner that was set since is asked about again.
    questions.append(question if beside_corners(drawn) - named else settled(question, answers))
    if fold is not None and kinds[fold] in (EdgeKind.OTHER, EdgeKind.SIDE, EdgeKind.BAND):
        kinds[fold] = EdgeKind.CENTRE_BACK if "back" in drawn.raw.name.lower() else EdgeKind.CENTRE_FRONT
    return tuple(kinds)


def _called(drawn: Drawn, answers: Answers, names: Sequence[str]) -> dict[int, str]:
    """Names of her own by edge, from rows “3=yoke seam”. Raises PatternError for one that another edge has."""
    found: dict[int, str] = {}
    for row in answers.get(f"called:{drawn.id}", "").split("\n"):
        word, _, name = row.partition("=")
        if name.strip():
            found[index_of(drawn, word)] = " ".join(name.split())
    whole = [found.get(i, name).lower() for i, name in enumerate(names)]
    for i, name in found.items():
        if whole.count(name.lower()) > 1:
            raise PatternError(f"“{drawn.raw.name}” has two edges called “{name}”; call one otherwise.", drawn.id)
        if len(name) > LONGEST_NAME:
            raise PatternError(f"The name of edge {i + 1} is longer than {LONGEST_NAME} letters; shorten it.", drawn.id)
    return found


def _line(drawn: Drawn, answers: Answers, fold, kinds, ask) -> tuple[Mapping[int, float], bool]:  # type: ignore[no-untyped-def]
    """The allowances by edge, and whether the outline is the cutting line, to be set in by them."""
    drawn_widths = drawn_allowances(drawn)
    if drawn_widths:
        return {i: width for i, width in drawn_widths.items() if i != fold}, False
    stated = _stated_allowance(drawn)
    words = answers.get(f"allowance:{drawn.id}", answers.get("allowance"))
    # Who says how wide the allowance is says that the line was drawn outside it.
    default = CUTTING if stated or words is not None else STITCHING
    choices = (
        Choice(STITCHING, "sewn on it"),
        Choice(CUTTING, "allowances inside it"),
    )
    key = f"line:{drawn.id}"
    asks = "Is the outline the stitching line, or the cutting line with allowances included?"
    given = answers.get(key, answers.get("line"))
    answer = _with_given(ask, Question(key, asks, default, "--traced", choices, drawn.id), answers, given)
    if answer == STITCHING:
        return {}, False
    asks = "How much allowance lies on which edge?"
    usual = stated or "15 mm, hem=25 mm"
    question = Question(f"allowance:{drawn.id}", asks, usual, "--allowance", (), drawn.id)
    answer = _with_given(ask, question, answers, words)
    return allowances(drawn, answer, fold, kinds), True


def _with_given(ask, question: Question, answers: Answers, given: str | None) -> str:  # type: ignore[no-untyped-def]
    from dataclasses import replace

    if given is None or question.key in answers:
        return str(ask(question))
    values = [choice.value for choice in question.choices]
    if values and given not in values:
        raise PatternError(f"{question.option} “{given}” is no choice here; there are {', '.join(values)}.")
    return str(ask(replace(question, given=given)))


def _stated_allowance(drawn: Drawn) -> str:
    """The allowance that the words on the piece say is included, “” where they say none."""
    for words in drawn.words:
        if "allowance" in words.lower() or "s.a." in words.lower():
            found = _INCLUDED.search(words)
            if found:
                return (found[1] or found[2]).strip().replace('"', " in")
    return ""


def allowances(drawn: Drawn, words: str, fold: int | None, kinds: tuple[EdgeKind, ...]) -> dict[int, float]:
    """Allowance in mm by edge from “15 mm, hem=25 mm”. Raises PatternError for a length or an edge that is none."""
    widths = {}
    parts = [part.strip() for part in words.split(",") if part.strip()]
    for part in sorted(parts, key=lambda one: "=" in one):
        word, equals, length = part.rpartition("=")
        width = read_length(length).mm
        if not 0 <= width <= 100:
            raise PatternError(f"An allowance of {width:g} mm is not between nothing and 100 mm.", drawn.id)
        if not equals:
            widths = dict.fromkeys(range(len(drawn.edges)), width)
            continue
        by_kind = [i for i, kind in enumerate(kinds) if kind.value == word.strip().lower()]
        for index in by_kind or [index_of(drawn, word)]:
            widths[index] = width
    return {i: width for i, width in widths.items() if i != fold}


def _square(drawn: Drawn, fold: int | None, ask) -> bool:  # type: ignore[no-untyped-def]
    if fold is None:
        return False
    off = right_angle_gap(drawn.edges, fold)
    if not _SQUARE_FROM < off < _SQUARE_TO:
        return False
    choices = (Choice("as drawn", f"{off:.1f} degrees off square"), Choice("square", "a right angle at both ends"))
    asks = f"A corner at the fold is {off:.1f} degrees off a right angle. Make both corners at the fold square?"
    return bool(ask(Question(f"square:{drawn.id}", asks, "as drawn", "--square-fold", choices, drawn.id)) == "square")


def _findings(drawn: Drawn) -> tuple[Finding, ...]:
    found = []
    stretches = sum(int(stretch.line.straight.sum()) for edge in drawn.edges for stretch in edge.stretches)
    if stretches > 30 + len(drawn.edges):
        says = (
            f"“{drawn.raw.name}” is drawn as {stretches} straight stretches, too far apart to say what curve they "
            "stand for; they are kept as drawn."
        )
        found.append(Finding("drawn-in-straights", Level.NOTICE, says, drawn.id))
    return tuple(found)
