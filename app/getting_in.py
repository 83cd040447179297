"""What a garment says of who gets into it: the stretch of its cloths, the girths, its openings; read from options."""

from __future__ import annotations

import argparse
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from geometry.closures import Girth, Opening, OpeningKind
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.getting_in import passage_words
from geometry.notes import edge_run_length
from geometry.pieces import Cloth, Edge, Piece, neighbours
from geometry.readings import mm_words
from geometry.rings import Passage
from geometry.units import read_length

#: A stretch is read up to this (percent).
MOST_STRETCH = 400.0


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options that say what the garment does not say yet."""
    says = "usable stretch, measured on a fold: 4 in to 6 in is 50%%"
    parser.add_argument("--stretch", action="append", metavar="[CLOTH:]PERCENT", help=says)
    for girth in Girth:
        parser.add_argument(f"--{girth}", metavar="LENGTH", help=f"girth of the {girth} that has to pass")
    parser.add_argument(
        "--open",
        metavar="PIECE:EDGE[@PLACE]",
        help="an edge left open from its start as far as a place (from its end with a minus), or all along",
    )
    kinds = [str(kind) for kind in OpeningKind]
    parser.add_argument("--with", dest="kind", choices=kinds, default=kinds[0], help="what closes the opening")
    parser.add_argument("--close", metavar="OPENING", help="the id of an opening that is there no more")


def asked(options: argparse.Namespace) -> bool:
    """Whether anything is to be changed."""
    given = [options.stretch, options.open, options.close, *(getattr(options, girth) for girth in Girth)]
    return any(one is not None for one in given)


def changed(garment: Garment, options: argparse.Namespace) -> Garment:
    """The garment with what the options say. Raises PatternError for what does not fit."""
    stretch, girths = dict(garment.stretch), dict(garment.girths)
    for word in options.stretch or ():
        cloth, percent = _stretch(word)
        stretch[cloth] = percent
    for girth in Girth:
        if (word := getattr(options, girth)) is not None:
            girths[girth] = read_length(word).mm
    openings = garment.openings
    if options.close is not None:
        if all(opening.id != options.close for opening in openings):
            known = ", ".join(opening.id for opening in openings) or "none"
            raise PatternError(f"There is no opening “{options.close}”; there are {known}.")
        openings = tuple(opening for opening in openings if opening.id != options.close)
    if options.open is not None:
        openings = (*openings, _opening(garment, options.open, OpeningKind(options.kind)))
    return replace(
        garment, stretch=MappingProxyType(stretch), girths=MappingProxyType(girths), openings=openings
    )


def new_opening(
    garment: Garment, kind: OpeningKind, piece: Piece, edge: Edge, end: str, length: float | None
) -> Opening:
    """An opening with an id that no other thing of the garment has."""
    taken = {one.id for group in (garment.pieces, garment.seams, garment.openings) for one in group}
    number = next(n for n in range(1, len(taken) + 2) if f"opening-{n}" not in taken)
    return Opening(f"opening-{number}", str(kind), kind, piece.id, edge.id, end, length=length)


def opening_words(garment: Garment, opening: Opening) -> str:
    """“zip: centre back seam of Back, 200 mm from the waist.”."""
    piece = garment.piece(opening.piece)
    edge = piece.edge(opening.edge)
    if opening.length is None and opening.notch is None:
        reach = "all along"
    else:
        stop = next((n.name for n in piece.notches if n.id == opening.notch), "")
        far = f"as far as the {stop}" if opening.length is None else mm_words(opening.length)
        reach = f"{far} from the {end_name(piece, edge, opening.end)}"
    return f"{opening.name}: {edge.name} of {piece.name}, {reach}."


def end_name(piece: Piece, edge: Edge, end: str) -> str:
    """The name of the edge that meets an end of another."""
    before, after = neighbours(piece, edge.id)
    return (before if end == "start" else after).name


def passage_values(passage: Passage) -> dict[str, Any]:
    """One ring as plain values."""
    return {
        "ring": passage.kind.value,
        "edges": [{"piece": piece, "edge": edge} for piece, edge in passage.edges],
        "rest_mm": _rounded(passage.rest_mm),
        "stretch_percent": _rounded(passage.stretch),
        "slit_mm": _rounded(passage.slit_mm),
        "opens_mm": _rounded(passage.opens_mm),
        "girth": passage.girth.value,
        "girth_mm": _rounded(passage.girth_mm),
        "room_mm": _rounded(passage.room_mm),
        "passes": passage.passes,
        "assumed": list(passage.assumed),
    }


def passage_line(garment: Garment, passage: Passage) -> str:
    """One ring in a line, as it is walked."""
    return f"{passage_words(garment, passage)}: {'passes' if passage.passes else 'too tight'}"


def _rounded(value: float) -> float:
    return round(value, 4) + 0.0


def _stretch(word: str) -> tuple[Cloth, float]:
    cloth, colon, percent = word.rpartition(":")
    if colon and cloth not in list(Cloth):
        raise PatternError(f"“{cloth}” is no cloth; there are {', '.join(Cloth)}.")
    try:
        value = float(percent.strip().removesuffix("%"))
    except ValueError:
        raise PatternError(f"“{percent}” is no stretch; write it in percent, as 50%.") from None
    if not 0 <= value <= MOST_STRETCH:
        raise PatternError(f"A stretch goes from 0 to {MOST_STRETCH:g} percent; {value:g} does not.")
    return Cloth(cloth or Cloth.SELF), value


def _opening(garment: Garment, word: str, kind: OpeningKind) -> Opening:
    piece_id, colon, rest = word.partition(":")
    edge_id, at, place = rest.partition("@")
    if not colon:
        raise PatternError(f"“{word}” names no edge; write it as PIECE:EDGE or PIECE:EDGE@200mm.")
    piece = garment.piece(piece_id)
    edge = piece.edge(edge_id)
    if not at:
        return new_opening(garment, kind, piece, edge, "start", None)
    end = "end" if place.startswith("-") else "start"
    length = read_length(place.removeprefix("-")).mm
    if not 0 < length <= edge_run_length(edge):
        raise PatternError(
            f"“{edge.name}” of “{piece.name}” is {mm_words(edge_run_length(edge))} long, so it cannot be open for "
            f"{mm_words(length)}.",
            piece.id,
            edge.id,
        )
    return new_opening(garment, kind, piece, edge, end, length)
