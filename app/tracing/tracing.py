"""The whole way from what was found to a garment: each question with its answer or default, and what follows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from app.tracing import left_aside, sizes
from app.tracing.building import Drawn, Settled, build, draw, slug
from app.tracing.calling import as_answered, told_apart
from app.tracing.corners_by_hand import said as said_corners
from app.tracing.corners_by_hand import with_corners
from app.tracing.found import Found
from app.tracing.joining import Joined, join
from app.tracing.laid_plumb import laid_plumb
from app.tracing.line_fitting import STRAIGHT_MM
from app.tracing.moved_by_hand import with_moves
from app.tracing.nesting import Answered, Measures, Part, in_other_sizes
from app.tracing.orienting import stood_upright, turning
from app.tracing.piece_questions import PieceAnswers, piece_answers
from app.tracing.pieces_found import Sorted, is_exchange, sort_out
from app.tracing.placed_marks import with_marks
from app.tracing.placing import placed
from app.tracing.questions import Answers, Question, settled
from app.tracing.set_by_hand import set_by_hand
from app.tracing.size_names import sizes_of_layers
from app.tracing.sizing import WIDEST_MM
from app.tracing.two_parts import joined_parts
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.garments import DEFAULT_WIDTHS, Garment
from geometry.motions import Motion
from geometry.pieces import EdgeKind, Piece
from geometry.setting_in import set_in
from geometry.units import read_length

#: Ends of lines are joined across gaps up to this if nothing else is asked for (mm).
GAP_MM = {"svg": 0.5, "dxf": 0.5, "pdf": 0.3, "photo": 1.0}
#: No garment has more pieces: each is compared with every other.
MOST_PIECES = 100
#: What a piece on a photo is turned by is said from here on (degrees).
_SAID_DEG = 0.05


@dataclass(frozen=True, eq=False)
class TracedPiece:
    """A piece with what is to be said about it.

    ``lies`` moves what was ``drawn`` to where it lies in the file; ``settled`` are the answers that it was built by.
    """

    piece: Piece
    drawn: Drawn
    questions: tuple[Question, ...]
    findings: tuple[Finding, ...]
    size_source: str
    error_mm: float
    lies: Motion
    settled: Settled

    @property
    def kinds(self) -> tuple[EdgeKind, ...]:
        """The kinds of the drawn edges, in order."""
        return self.settled.kinds

    @property
    def called(self) -> Mapping[int, str]:
        """Names of her own by edge."""
        return self.settled.called


@dataclass(frozen=True, eq=False)
class Traced:
    """The pieces of one file or picture; ``questions`` and ``findings`` are those about all of it.

    ``nest`` has the pieces in every size that came in, the picked ``size`` too; it is empty where there is one.
    ``layers`` are all that the file has, chosen or not.
    """

    pieces: tuple[TracedPiece, ...]
    found: Found
    size: str
    questions: tuple[Question, ...]
    findings: tuple[Finding, ...]
    nest: Mapping[str, tuple[Piece, ...]] = field(default_factory=dict)
    layers: tuple[str, ...] = ()


def trace(found: Found, answers: Answers) -> Traced:
    """The pieces that follow from what was found and answered. Raises PatternError where none can be made."""
    layers = tuple(dict.fromkeys(line.layer for line in found.lines if line.layer))
    found, questions = _chosen_layers(with_moves(found, answers), layers, answers)
    named = sizes.by_name(found, answers)
    found, size, every = named.picked.found, named.picked.size, named.every
    questions = [*found.questions, *questions, *named.questions]
    gap, joined, gap_questions = _joined(found, answers)
    if not size:
        looks = sizes.by_look(found, joined, gap, answers)
        size, every = looks.picked.size, looks.every
        found, joined = looks.picked.found, looks.picked.joined or joined
        questions += looks.questions
    questions += gap_questions
    found, joined = with_marks(found, joined, answers)
    sorted_out = sort_out(found, joined)
    if not sorted_out.pieces:
        raise PatternError(_no_piece(found, joined, sorted_out, gap))
    _check_count(sorted_out)
    _check_widest(sorted_out)
    exchange = is_exchange(found)
    noise = found.error_mm if any(line.points for line in found.lines) and found.way == "photo" else 0.0
    measures = Measures(gap, noise, max(STRAIGHT_MM, found.error_mm))
    parts, answers = _drawn(sorted_out, measures, exchange, answers)
    lies = {part.drawn.id: turning(part.raw, part.turned).undone() for part in parts if part.turned}
    parts = [
        replace(part, cornered=one)
        for part, one in zip(parts, with_corners([part.drawn for part in parts], lies, found, answers), strict=True)
    ]
    drawn = joined_parts([part.cornered for part in parts], answers, noise, exchange)
    only = {word.strip() for word in answers.get("only", "").split(",") if word.strip()}
    if only:
        drawn = _only(drawn, only)
    turned = {part.drawn.id: part for part in parts if part.turned}
    made = [_made(one, piece_answers(one, answers, size), found, answers, turned.get(one.id)) for one in drawn]
    answered = [Answered(one.drawn, one.settled, one.piece) for one in made]
    nest, said = in_other_sizes(size, every, parts, answered, measures, answers)
    findings = (*found.findings, *_findings(joined, gap), *left_aside.findings(sorted_out, gap, exchange), *said)
    return Traced(tuple(made), found, size, tuple(questions), findings, nest, layers)


def _drawn(sorted_out: Sorted, measures: Measures, exchange: bool, answers: Answers) -> tuple[list[Part], Answers]:
    """The pieces, stood upright and called as answered, before parts are joined; and the answers by their ids."""
    upright = [stood_upright(raw, exchange, measures.noise) for raw in sorted_out.pieces]
    drawn = [draw(slug(raw.name), raw, measures.noise, exchange, measures.straight) for raw, _ in upright]
    drawn = _with_ids(told_apart(drawn))
    answers = _by_id(answers, drawn)
    drawn = as_answered(drawn, answers)
    rows = zip(sorted_out.pieces, upright, drawn, strict=True)
    return [Part(raw, by, one, one) for raw, (_, by), one in rows], answers


def _joined(found: Found, answers: Answers) -> tuple[float, Joined, list[Question]]:
    default = GAP_MM[found.way]
    given = answers.get("gap")
    gap = read_length(given).mm if given is not None else default
    if not 0 < gap <= 20:
        raise PatternError(f"--gap “{given}” should be more than nothing and at most 20 mm.")
    joined = join(found.lines, gap, apart=is_exchange(found))
    if not joined.gaps:
        return gap, joined, []
    question = Question(
        "gap",
        f"{_count(len(joined.gaps), 'gap')} of up to {max(joined.gaps):.2f} mm were closed. Up to what gap do lines "
        "belong together?",
        f"{default:g} mm",
        "--gap",
    )
    return gap, joined, [settled(question, answers)]


def _chosen_layers(found: Found, layers: Sequence[str], answers: Answers) -> tuple[Found, list[Question]]:
    given = answers.get("layers")
    # Of layers that are sizes it is asked which size, not which layer.
    every_one_a_size = not is_exchange(found) and sizes_of_layers(layers).keys() == set(layers)
    if given is None and (len(layers) < 2 or every_one_a_size):
        return found, []
    listed = ", ".join(f"“{layer}”" for layer in layers)
    asks = f"Which layers are the pieces on? There are {listed}."
    question = settled(Question("layers", asks, "all", "--layer"), answers)
    if question.answer == "all":
        return found, [question]
    wanted = [word.strip() for word in question.answer.split("\n") if word.strip()]
    missing = [word for word in wanted if word not in layers]
    if missing:
        raise PatternError(f"There is no layer “{missing[0]}”; there are {listed or 'none'}.")
    lines = tuple(line for line in found.lines if line.layer in wanted)
    return replace(found, lines=lines), [question]


def _with_ids(drawn: Sequence[Drawn]) -> list[Drawn]:
    """The pieces with ids that are all different."""
    found: list[Drawn] = []
    for one in drawn:
        base = whole = one.id
        again = 2
        while any(whole == other.id for other in found):
            whole, again = f"{base}-{again}", again + 1
        found.append(replace(one, id=whole))
    return found


def _by_id(answers: Answers, drawn: Sequence[Drawn]) -> Answers:
    """The answers with pieces called by their ids. Raises PatternError where one is about a piece that is not there."""
    known = {word: one.id for n, one in enumerate(drawn, 1) for word in (str(n), one.raw.name.lower(), one.id)}
    found = {}
    for key, value in answers.items():
        what, colon, piece = key.partition(":")
        if colon and piece.lower() not in known:
            listed = ", ".join(one.id for one in drawn)
            raise PatternError(f"There is no piece “{piece}” in the file; there are {listed}.")
        found[f"{what}:{known[piece.lower()]}" if colon else key] = value
    return found


def _only(drawn: Sequence[Drawn], only: set[str]) -> list[Drawn]:
    kept = [one for number, one in enumerate(drawn, 1) if only & {one.id, one.raw.name, str(number)}]
    known = {word for number, one in enumerate(drawn, 1) for word in (one.id, one.raw.name, str(number))}
    if only - known:
        listed = ", ".join(one.id for one in drawn)
        raise PatternError(f"There is no piece “{min(only - known)}” in the file; there are {listed}.")
    return kept


def _made(drawn: Drawn, given: PieceAnswers, found: Found, answers: Answers, turned: Part | None) -> TracedPiece:
    line = build(drawn, given.settled)
    piece = placed(line, line, wrong_side_up=given.settled.wrong_side_up)
    findings = [*given.findings, *said_corners(drawn, given.settled.names)]
    if found.way == "photo":
        piece, by = laid_plumb(piece)
        if abs(by) >= _SAID_DEG:
            says = f"“{piece.name}” lies {abs(by):.1f} degrees off the upright in the picture; it was laid plumb."
            findings.append(Finding("stood-upright", Level.NOTICE, says, piece.id))
    lies = Motion()
    if turned is not None:
        lies = turning(turned.raw, turned.turned).undone()
        lay = f"lies turned by {turned.turned:.0f} degrees in the file"
        says = f"“{piece.name}” {lay}; it was stood upright by its grainline."
        findings.append(Finding("stood-upright", Level.NOTICE, says, piece.id))
    if given.settled.on_cutting_line:
        alone = Garment("garment", "garment", (piece,), widths=DEFAULT_WIDTHS)
        piece, said = set_in(alone, piece)
        piece = replace(piece, set_in=True)
        findings += said
    questions, error = given.questions, found.error_mm
    if drawn.raw.outline.line.by_hand is not None:
        question, error, finding = set_by_hand(drawn, given.settled.names, found, lies, answers)
        questions, findings = (*questions, question), [*findings, finding]
    return TracedPiece(piece, drawn, questions, tuple(findings), found.size_source, error, lies, given.settled)


def _findings(joined: Joined, gap: float) -> list[Finding]:
    found = []
    if joined.gaps:
        says = (
            f"{_count(len(joined.gaps), 'gap')} in the outlines, the widest {max(joined.gaps):.2f} mm, were closed; "
            f"lines meet halfway (up to {gap:g} mm)."
        )
        found.append(Finding("gaps-closed", Level.NOTICE, says))
    if joined.doubled:
        says = f"{_count(joined.doubled, 'line')} drawn twice counted once."
        found.append(Finding("doubled-dropped", Level.NOTICE, says))
    return found


def _check_count(sorted_out: Sorted) -> None:
    """Raises PatternError where there are more pieces than any garment has."""
    if len(sorted_out.pieces) > MOST_PIECES:
        raise PatternError(
            f"{len(sorted_out.pieces)} pieces were found, more than the {MOST_PIECES} of any garment; choose some by "
            "their layer (--layer) or page (--pages)."
        )


def _check_widest(sorted_out: Sorted) -> None:
    """Raises PatternError where a piece is larger than a garment's file can hold."""
    widest = max(sorted_out.pieces, key=lambda piece: max(piece.outline.box))
    across, down = widest.outline.box
    if max(across, down) > WIDEST_MM:
        raise PatternError(
            f"“{widest.name}” would be {across / 1000:.1f} x {down / 1000:.1f} m, larger than any piece; is the size "
            "right (--file-units)?"
        )


def _no_piece(found: Found, joined: Joined, sorted_out: Sorted, gap: float) -> str:
    if sorted_out.crossing:
        return f"No piece was found. {left_aside.crosses(sorted_out.crossing[0])}; mend it there."
    longest = max(joined.rest, key=lambda line: line.chain.length, default=None)
    if longest is not None and longest.chain.length > 100:
        x, y = longest.chain.end
        return (
            f"No closed outline was found: lines end without another within {gap:g} mm, one at ({x:.0f}, {y:.0f}) mm; "
            "close the outline, or allow a wider gap with --gap."
        )
    if found.lines:
        return "No piece was found: no closed outline is as large as 20 mm; is the size right (--file-units)?"
    return "Nothing is drawn in the layers chosen."


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
