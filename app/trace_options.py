"""The command line's options for tracing, and what each answers."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from app.files.safely import read_bytes
from app.tracing.corners_by_hand import AT, NOT
from app.tracing.corners_by_hand import KEY as CORNERS_BY_HAND
from app.tracing.sizing import PER_UNIT
from geometry.errors import PatternError

_LINES = {"cutting": "cutting line", "stitching": "stitching line"}
#: A file of points is no larger (bytes).
_LARGEST_POINTS = 1_000_000
_SIDES = {"right": "right side up", "wrong": "wrong side up"}


def add_options(parser: argparse.ArgumentParser) -> None:
    """What a file leaves open, as options; each question that is asked names its option."""
    parser.add_argument("inputs", nargs="+", metavar="INPUT", help="a drawing, photo or scan, or a folder of them")
    parser.add_argument(
        "--out",
        required=True,
        metavar="FILE",
        help="a .garment.json for all pieces, or a folder: one garment a file",
    )
    parser.add_argument("--garment", metavar="NAME", help="what the garment is called (the file's name if left out)")
    parser.add_argument("--file-units", choices=tuple(PER_UNIT), help="what one unit of the file is")
    parser.add_argument("--size", metavar="SIZE", help="which of several sizes is worked in")
    parser.add_argument("--other-sizes", choices=("bring in", "leave out"), help="the sizes that are not worked in")
    parser.add_argument("--size-names", metavar="NAMES", help="what sizes without a name are called: 10,12,14")
    parser.add_argument("--layer", action="append", metavar="LAYER", help="only this layer; may be given again")
    parser.add_argument("--hidden", choices=("leave out", "read"), help="what is hidden")
    parser.add_argument("--gap", metavar="LENGTH", help="the widest gap that is closed")
    parser.add_argument("--pages", metavar="PAGES", help="for PDF: which pages, such as 2-13")
    parser.add_argument("--grid", metavar="GRID", help="for PDF: columns x rows of the pages, such as 3x4, or none")
    parser.add_argument("--trim", metavar="LENGTH", help="for PDF: where pages are trimmed; one margin, or four")
    _add_photo_options(parser)
    parser.add_argument("--only", metavar="PIECE", help="only these pieces, by name or number")
    parser.add_argument("--name", action="append", metavar="PIECE=NAME", help="what a piece is called")
    parser.add_argument(
        "--traced",
        action="append",
        metavar="LINE",
        help="cutting or stitching, or PIECE=cutting",
    )
    parser.add_argument(
        "--allowance", action="append", metavar="LENGTH", help="LENGTH, EDGE=LENGTH or PIECE:EDGE=LENGTH"
    )
    parser.add_argument("--fold", action="append", metavar="PIECE=EDGE", help="the edge on the fold, or none")
    parser.add_argument("--edge", action="append", metavar="PIECE:EDGE=KIND", help="what an edge is")
    parser.add_argument("--up", action="append", metavar="PIECE=SIDE", help="right or wrong: which side is up")
    parser.add_argument("--square-fold", action="append", metavar="PIECE", help="make the corners at its fold square")
    parser.add_argument(
        "--join", action="append", metavar="PIECE:EDGE=PIECE:EDGE", help="lay two parts together on their match line"
    )
    parser.add_argument("--edge-name", action="append", metavar="PIECE:EDGE=NAME", help="what an edge is called")
    parser.add_argument(
        "--mark", action="append", metavar="MARK", help="a mark placed by hand: notch:x,y or waist line:x,y x,y"
    )
    parser.add_argument(
        "--corner-at", action="append", metavar="POINT", help="a corner that was missed on an outline: x,y"
    )
    parser.add_argument("--no-corner", action="append", metavar="POINT", help="a corner that is none, at x,y")
    parser.add_argument("--no-seam", action="append", metavar="NAME", help="a proposed seam that is left out")
    parser.add_argument("--no-seams", action="store_true", help="propose no seams")


def _add_photo_options(parser: argparse.ArgumentParser) -> None:
    """What a photo or scan leaves open."""
    parser.add_argument("--rule", metavar="LENGTH", help="for a photo: what the marker sheets' printed rule measures")
    parser.add_argument(
        "--scan",
        nargs="?",
        action="append",
        const="as the file says",
        metavar="NUMBER",
        help="a scan, of so many pixels an inch; given again, of the next picture",
    )
    parser.add_argument(
        "--scan-check",
        action="append",
        metavar="POINTS",
        help="for a scan: a known length on it, “x,y x,y=100mm”, its ends in pixels; given again, on the next",
    )
    parser.add_argument(
        "--corners",
        action="append",
        metavar="POINTS",
        help="for a photo: four known corners, in pixels; given again, of the next picture",
    )
    parser.add_argument(
        "--corner-size",
        action="append",
        metavar="SIZE",
        help="for a photo: how far they are apart, as 210mmx297mm; given again, in the next picture",
    )
    parser.add_argument("--pen", choices=("outside", "middle", "inside"), help="for a photo: along a pen line on paper")
    parser.add_argument("--follow", metavar="POINTS", help="for a photo: the line through points, in pixels")
    parser.add_argument(
        "--points", metavar="FILE", help="for a photo: an outline set by hand, a point in pixels a line"
    )
    parser.add_argument(
        "--shared-marks",
        action="append",
        metavar="POINTS",
        help="several pictures of one piece: marks in the first = in the next, in pixels",
    )
    parser.add_argument(
        "--moved", action="append", metavar="MOVE", help="for a photo: a place of the outline moved, “x,y=x,y~mm”"
    )
    parser.add_argument("--by-hand", action="append", metavar="PIECE=LENGTH", help="how exactly that was set")


def answers_of(options: argparse.Namespace) -> dict[str, str]:
    """The answers that the options give, by the keys of their questions. Raises PatternError for a malformed one."""
    answers: dict[str, str] = {}
    if options.file_units is not None:
        answers["units"] = options.file_units
    for option in ("other_sizes", "size_names"):
        if getattr(options, option) is not None:
            answers[option.replace("_", "-")] = getattr(options, option)
    for key in ("scan", "scan-check", "corners", "corner-size"):
        for number, value in enumerate(getattr(options, key.replace("-", "_")) or (), 1):
            answers[key if number == 1 else f"{key}-{number}"] = value
    for key in ("size", "hidden", "gap", "pages", "grid", "trim", "only", "rule", "pen", "follow"):
        value = getattr(options, key)
        if value is not None:
            answers[key] = value
    if options.points is not None:
        answers["points"] = read_bytes(Path(options.points), _LARGEST_POINTS).decode("utf-8", "replace")
    for key, given in (
        ("shared-marks", options.shared_marks), ("moved", options.moved), ("marks", options.mark),
        ("layers", options.layer), ("join", options.join),
    ):  # fmt: skip
        if given:
            answers[key] = "\n".join(given)
    for words in options.by_hand or ():
        piece, length = _pair(words, "--by-hand", "PIECE=LENGTH")
        answers[f"by-hand:{piece}"] = length
    corners = [f"{AT} {at}" for at in options.corner_at or ()] + [f"{NOT} {at}" for at in options.no_corner or ()]
    if corners:
        answers[CORNERS_BY_HAND] = "\n".join(corners)
    for words in options.traced or ():
        piece, _, line = words.rpartition("=")
        answers[f"line:{piece}" if piece else "line"] = _one_of(_LINES, line, "--traced")
    for words in options.up or ():
        piece, side = _pair(words, "--up", "PIECE=SIDE")
        answers[f"up:{piece}"] = _one_of(_SIDES, side, "--up")
    for words in options.name or ():
        piece, name = _pair(words, "--name", "PIECE=NAME")
        answers[f"name:{piece}"] = name
    for words in options.fold or ():
        piece, edge = _pair(words, "--fold", "PIECE=EDGE")
        answers[f"fold:{piece}"] = edge
    for words in options.edge or ():
        place, kind = _pair(words, "--edge", "PIECE:EDGE=KIND")
        piece, colon, edge = place.rpartition(":")
        if not colon:
            raise PatternError(f"--edge “{words}” should be PIECE:EDGE=KIND.")
        _add(answers, f"edges:{piece}", f"{edge}={kind}")
    for words in options.edge_name or ():
        place, name = _pair(words, "--edge-name", "PIECE:EDGE=NAME")
        piece, colon, edge = place.rpartition(":")
        if not colon:
            raise PatternError(f"--edge-name “{words}” should be PIECE:EDGE=NAME.")
        key, row = f"called:{piece}", f"{edge}={name}"
        answers[key] = f"{answers[key]}\n{row}" if key in answers else row
    for piece in options.square_fold or ():
        answers[f"square:{piece}"] = "square"
    _allowances(answers, options.allowance or ())
    return answers


def _allowances(answers: dict[str, str], given: Sequence[str]) -> None:
    """Allowances for all pieces, and those of one piece after them."""
    for words in given:
        place, equals, length = words.rpartition("=")
        piece, colon, edge = place.rpartition(":")
        if equals and colon:
            _add(answers, f"allowance:{piece}", f"{edge}={length}")
        else:
            _add(answers, "allowance", words)
    for key in [key for key in answers if key.startswith("allowance:")]:
        if "allowance" in answers:
            answers[key] = f"{answers['allowance']},{answers[key]}"


def _add(answers: dict[str, str], key: str, words: str) -> None:
    answers[key] = f"{answers[key]},{words}" if key in answers else words


def _pair(words: str, option: str, form: str) -> tuple[str, str]:
    left, equals, right = words.partition("=")
    if not equals or not left.strip() or not right.strip():
        raise PatternError(f"{option} “{words}” should be {form}.")
    return left.strip(), right.strip()


def _one_of(known: dict[str, str], word: str, option: str) -> str:
    value = word.strip().lower()
    if value in known.values():
        return value
    if value not in known:
        raise PatternError(f"{option} “{word}” is no choice here; there are {', '.join(known)}.")
    return known[value]
