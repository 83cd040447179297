"""One pass over the questions of some files: what was answered so far, what an answer changes, and what is open."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from app.photo.each_picture import numbered
from app.tracing.corners_by_hand import KEY
from app.tracing.found import Found
from app.tracing.questions import Answers, Question
from app.tracing.tracing import GAP_MM, Traced, TracedPiece
from geometry.pieces import EdgeKind

#: The answer that names the pictures that are joined to a picture, by their numbers from 1, in order.
PICTURES = "pictures"
#: The answer that names the drawings that are laid beside a drawing, likewise.
BESIDE = "beside"
#: A file is read again when the answer to one of these changes; from all others only the pieces follow anew.
READING = frozenset(
    {"units", "hidden", "pages", "grid", "trim"}
    | {"rule", "scan", "corners", "corner-size", "pen", "follow", "points", "shared-marks", "scan-check", PICTURES}
)
#: What was set in the pixels of a picture that is another one afterwards.
_OTHER_PIXELS = dict.fromkeys(("moved", "marks", "points", "follow", KEY))
_OPTION = re.compile(r"--[a-z-]+")


@dataclass(frozen=True)
class Pass:
    """Where the pass stands: what the garment is called, the answers for each file, the proposed seams that are
    declined, by name, and the files that are left out, by place; a value, so undo is a list."""

    garment: str
    files: tuple[Answers, ...]
    declined: frozenset[str] = frozenset()
    left_out: frozenset[int] = frozenset()

    def answered(self, file: int, key: str, answer: str) -> Pass:
        """With one more answer for a file."""
        return self._with(file, {**self.files[file], key: answer})

    def changed(self, file: int, changes: Mapping[str, str | None]) -> Pass:
        """With several answers for a file given, or taken away where there is None, at once."""
        whole = {**self.files[file], **changes}
        return self._with(file, {key: value for key, value in whole.items() if value is not None})

    def confirmed(self, file: int, traced: Traced) -> Pass:
        """With every question of a file that stands as it was taken answered by just that."""
        open_ones = {question.key: confirming(question, traced) for question in questions_of(traced)}
        return self._with(file, {**open_ones, **self.files[file]})

    def without_pieces(self, file: int) -> Pass:
        """Without the answers about single pieces of a file."""
        return self._with(file, {key: value for key, value in self.files[file].items() if ":" not in key})

    def sewn(self, seam: str, wanted: bool) -> Pass:
        """With a proposed seam taken, or declined."""
        return replace(self, declined=self.declined - {seam} if wanted else self.declined | {seam})

    def called(self, garment: str) -> Pass:
        return replace(self, garment=garment)

    def pictures(self, file: int) -> tuple[int, ...]:
        """The places of the pictures that are joined to one, in order."""
        return self._places(file, PICTURES)

    def beside(self, file: int) -> tuple[int, ...]:
        """The places of the drawings that are laid beside one, in order."""
        return self._places(file, BESIDE)

    def joined_to(self, file: int) -> tuple[int, ...]:
        """The places of all files that go with one."""
        return (*self.pictures(file), *self.beside(file))

    def _places(self, file: int, key: str) -> tuple[int, ...]:
        return tuple(int(number) - 1 for number in self.files[file].get(key, "").split())

    @property
    def shown(self) -> tuple[int, ...]:
        """The places of the files that are traced; one that is joined to another goes with that."""
        taken = self.left_out.union(*(self.joined_to(file) for file in range(len(self.files))))
        return tuple(file for file in range(len(self.files)) if file not in taken)

    def with_more(self, count: int) -> Pass:
        """With so many more files, of which nothing is answered yet."""
        return replace(self, files=self.files + _unanswered(count))

    def without_file(self, file: int) -> Pass:
        """With a file left out, and the pictures that are joined to it."""
        return replace(self, left_out=self.left_out | {file})

    def with_picture(self, file: int, other: int, marks: str) -> Pass:
        """With one more picture joined to a picture on shared marks; what was set in its pixels is let go."""
        answers = self.files[file]
        pictures = f"{answers.get(PICTURES, '')} {other + 1}".strip()
        rows = "\n".join(row for row in (answers.get("shared-marks", ""), marks) if row)
        return self.changed(file, {**_OTHER_PIXELS, PICTURES: pictures, "shared-marks": rows})

    def with_drawing(self, file: int, other: int) -> Pass:
        """With one more drawing laid beside a drawing."""
        return self.answered(file, BESIDE, f"{self.files[file].get(BESIDE, '')} {other + 1}".strip())

    def without_drawing(self, file: int) -> Pass:
        """With the drawing that was laid beside one last taken off again, and what joined their parts."""
        left = " ".join(self.files[file][BESIDE].split()[:-1])
        return self.changed(file, {BESIDE: left or None, "join": None})

    def without_picture(self, file: int) -> Pass:
        """With the picture that was joined to one last taken off again."""
        answers = self.files[file]
        pictures = " ".join(answers[PICTURES].split()[:-1])
        rows = "\n".join(answers["shared-marks"].split("\n")[:-1])
        return self.changed(file, {**_OTHER_PIXELS, PICTURES: pictures or None, "shared-marks": rows or None})

    def reading(self, file: int) -> Answers:
        """All that reading a file depends on, the sizes of the pictures that are joined to it with it."""
        own = dict(for_reading(self.files[file]))
        for number, other in enumerate(self.pictures(file), 2):
            own |= numbered(self.files[other], number)
        return own

    def _with(self, file: int, answers: Answers) -> Pass:
        kept = MappingProxyType(dict(answers))
        return replace(self, files=(*self.files[:file], kept, *self.files[file + 1 :]))


def begun(garment: str, files: int) -> Pass:
    """Nothing answered yet."""
    return Pass(garment, _unanswered(files))


def _unanswered(files: int) -> tuple[Answers, ...]:
    return (MappingProxyType({}),) * files


def for_reading(answers: Answers) -> Answers:
    """The answers that reading depends on."""
    return {key: value for key, value in answers.items() if key in READING}


def as_confirmed(found: Found, before: Answers, now: Answers) -> Found | None:
    """What was read by the answers ``before``, where those of ``now`` only confirm what was taken besides."""
    more = {key: value for key, value in now.items() if before.get(key) != value}
    taken = {question.key: question.answer for question in found.questions if question.by_default}
    if set(before) - set(now) or any(taken.get(key) != value for key, value in more.items()):
        return None
    questions = (replace(one, given=one.answer) if one.key in more else one for one in found.questions)
    return replace(found, questions=tuple(questions))


def questions_of(traced: Traced) -> tuple[Question, ...]:
    """Every question of a file in order: about the file, then piece by piece."""
    return (*traced.questions, *(one for piece in traced.pieces for one in piece.questions))


def confirming(question: Question, traced: Traced) -> str:
    """The answer that leaves everything as it was taken."""
    if question.key.startswith("edges:"):
        return kinds_answer(piece_of(question, traced))
    return question.answer


def piece_of(question: Question, traced: Traced) -> TracedPiece:
    """The piece that a question is about."""
    return next(one for one in traced.pieces if one.piece.id == question.piece)


def kinds_answer(traced: TracedPiece, changed: int | None = None, kind: EdgeKind | None = None) -> str:
    """The answer “1=hem,2=side” that keeps every edge's kind, one of them changed where that is wanted."""
    kinds = list(traced.kinds)
    if changed is not None and kind is not None:
        kinds[changed] = kind
    return ",".join(f"{number}={one.value}" for number, one in enumerate(kinds, 1))


def called_answer(traced: TracedPiece, place: int, name: str) -> str:
    """The answer, rows of “3=yoke seam”, by which one edge is called otherwise; an empty name takes hers away."""
    called = {**traced.called, place: name.strip()}
    return "\n".join(f"{place + 1}={one}" for place, one in sorted(called.items()) if one)


def open_questions(traced: Sequence[Traced]) -> int:
    """How many questions stand as they were taken."""
    return sum(one.by_default for each in traced for one in questions_of(each))


def rescue_questions(found: Found, answers: Answers) -> tuple[Question, ...]:
    """What is asked of a file that was read but holds no piece as it stands: how it was read, and about gaps."""
    default, asks = f"{GAP_MM[found.way]:g} mm", "Up to what gap do lines belong together?"
    return (*found.questions, Question("gap", asks, default, "--gap", given=answers.get("gap")))


def for_the_window(says: str) -> str:
    """A refusal without the names of the command line's options."""
    plain = re.sub(r" ?\(--[a-z-]+\)| with --[a-z-]+", "", says)
    return _OPTION.sub("The answer", plain, count=1) if plain.startswith("--") else _OPTION.sub("an answer here", plain)
