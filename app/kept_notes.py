"""A client's notes: kept by themselves, and done to another size or another garment. Values only; no files, no Qt.

Beside the notes stands what they call for by name: the pieces, edges and lines of the garment they were written on.
Each is found on the other garment by its id first, then by what it is (the kind of the edge or line, the kinds of all
edges of the piece), then by its name.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from app.documents import Document, highest_note, with_notes
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.notes import Note, Target


@dataclass(frozen=True)
class KeptPart:
    """An edge or a line as the notes call for it."""

    id: str
    name: str
    kind: str


@dataclass(frozen=True)
class KeptPiece:
    """A piece as the notes call for it, with its edges and lines."""

    id: str
    name: str
    edges: tuple[KeptPart, ...] = ()
    lines: tuple[KeptPart, ...] = ()


@dataclass(frozen=True, eq=False)
class KeptNotes:
    """Notes kept by themselves: for whom, on which garment and size they were written, and what they call for."""

    garment: str
    notes: tuple[Note, ...]
    pieces: tuple[KeptPiece, ...] = ()
    size: str = ""
    for_whom: str = ""


@dataclass(frozen=True, eq=False)
class Fitted:
    """A document with kept notes written under its own.

    ``found`` tells what was found how; ``missing`` are the ids of notes with a clause that says what each calls for
    and the garment does not have.
    """

    document: Document
    written: tuple[Note, ...]
    found: tuple[str, ...]
    missing: tuple[tuple[str, str], ...]

    @property
    def said(self) -> tuple[str, ...]:
        """Both in sentences, first what was found."""
        return (*self.found, *(f"{note} is not done: {why}." for note, why in self.missing))


def kept(document: Document) -> KeptNotes:
    """The notes of a document with what they call for. Raises PatternError when there are none."""
    if not document.notes:
        raise PatternError(f"“{document.garment.name}” has no notes to keep yet.")
    garment = document.garment
    called = {target.piece for note in document.notes for target in note.targets}
    pieces = tuple(
        KeptPiece(
            piece.id,
            piece.name,
            tuple(KeptPart(edge.id, edge.name, str(edge.kind)) for edge in piece.edges),
            tuple(KeptPart(line.id, line.name, str(line.kind)) for line in piece.lines),
        )
        for piece in garment.pieces
        if piece.id in called
    )
    return KeptNotes(garment.name, document.notes, pieces, garment.size, garment.for_whom)


def fitted(document: Document, found: KeptNotes) -> Fitted:
    """The document with kept notes after its own.

    What a note calls for and the garment does not have stays in the note, which is then not done, and is said.
    """
    match = _Match(document.garment, found)
    first = highest_note(document.notes, document) + 1
    written = tuple(
        replace(note, id=f"note-{number}", targets=_each_once(match.target(target, number) for target in note.targets))
        for number, note in enumerate(found.notes, first)
    )
    found_how, missing = tuple(dict.fromkeys(match.said)), tuple(dict.fromkeys(match.missing))
    return Fitted(with_notes(document, (*document.notes, *written)), written, found_how, missing)


def _each_once(targets: Iterable[Target]) -> tuple[Target, ...]:
    """Where two pieces that notes call for are one piece here, what is to be done to it is done once."""
    found: dict[Target, Target] = {}
    for target in targets:
        found.setdefault(replace(target, amount=None), target)
    return tuple(found.values())


class _Match:
    """Finds on a garment what notes call for, and keeps what there is to say of it."""

    def __init__(self, garment: Garment, found: KeptNotes) -> None:
        self._garment = garment
        self._called = {piece.id: piece for piece in found.pieces}
        self.said: list[str] = []
        self.missing: list[tuple[str, str]] = []

    def target(self, target: Target, number: int) -> Target:
        called = self._called.get(target.piece, KeptPiece(target.piece, target.piece))
        piece_id = self._piece(called)
        if piece_id is None:
            self.missing.append((f"note-{number}", f"there is no piece like “{called.name}” here"))
            return target
        piece = self._garment.piece(piece_id)
        edges = [KeptPart(edge.id, edge.name, str(edge.kind)) for edge in piece.edges]
        lines = [KeptPart(line.id, line.name, str(line.kind)) for line in piece.lines]

        def there(part_id: str | None, parts: Sequence[KeptPart], here: Sequence[KeptPart]) -> str | None:
            if part_id is None:
                return None
            part = next((one for one in parts if one.id == part_id), KeptPart(part_id, part_id, ""))
            return self._part(part, here, piece.name, number)

        across = target.across
        if across is not None:
            across = tuple(replace(a, edge=there(a.edge, called.edges, edges) or a.edge) for a in across)
        edge = there(target.edge, called.edges, edges)
        return replace(target, piece=piece_id, edge=edge, line=there(target.line, called.lines, lines), across=across)

    def _piece(self, called: KeptPiece) -> str | None:
        pieces = self._garment.pieces
        if any(piece.id == called.id for piece in pieces):
            self.said.append(f"“{called.name}” was found by its id.")
            return called.id
        kinds = Counter(edge.kind for edge in called.edges)
        alike = [p for p in pieces if kinds and Counter(str(edge.kind) for edge in p.edges) == kinds]
        named = [piece for piece in pieces if piece.name.casefold() == called.name.casefold()]
        for found, how in ((alike, "by the kinds of its edges"), (named, "by its name")):
            if len(found) == 1:
                self.said.append(f"“{called.name}” was found {how}: “{found[0].name}”.")
                return found[0].id
        return None

    def _part(self, part: KeptPart, here: Sequence[KeptPart], piece: str, number: int) -> str:
        if any(one.id == part.id for one in here):
            return part.id
        alike = [one for one in here if one.kind == part.kind]
        both = [one for one in alike if one.name.casefold() == part.name.casefold()]
        named = [one for one in here if one.name.casefold() == part.name.casefold()]
        for found, how in ((both, "by what it is and its name"), (alike, "by what it is"), (named, "by its name")):
            if len(found) == 1:
                self.said.append(f"“{part.name}” of “{piece}” was found {how}: “{found[0].name}”.")
                return found[0].id
        self.missing.append((f"note-{number}", f"“{piece}” has no “{part.name}”"))
        return part.id
