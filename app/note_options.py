"""Notes on the command line: the options of each alteration are made from its declared amounts."""

from __future__ import annotations

import argparse
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from app.files.plain import FARTHEST_MM
from geometry.alterations import find
from geometry.alterations.base import Alteration, Amount
from geometry.body_regions import REGIONS, UPRIGHT_SEAMS, Covered, covered, is_asked
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.notes import Address, BlendChoice, Note, Target, place_of
from geometry.pipeline import draft
from geometry.units import read_length, said


def add_amounts(parser: argparse.ArgumentParser, alteration: Alteration) -> None:
    """One option for each amount of an alteration, and the options that every note has."""
    for name, field in alteration.fields().items():
        parser.add_argument(
            f"--{name.replace('_', '-')}", dest=f"amount_{name}", metavar=_meta(field), help=_help(field)
        )
    add_shared(parser, "PIECE:EDGE" if alteration.aims_at == "edges" else "PIECE")


def add_all_amounts(parser: argparse.ArgumentParser, labels: Mapping[str, str]) -> None:
    """One option for each amount that any alteration has, for changing a note of any kind."""
    for name, label in labels.items():
        parser.add_argument(f"--{name.replace('_', '-')}", dest=f"amount_{name}", metavar="VALUE", help=label)
    add_shared(parser, "PIECE[:EDGE]")


def add_shared(parser: argparse.ArgumentParser, what: str) -> None:
    """The options that every note has; ``what`` says how a target is written."""
    says = "what it is done to, a piece or a region such as armhole; give it once for each"
    parser.add_argument("--on", action="append", metavar=what, help=says)
    parser.add_argument(
        "--across",
        action="append",
        metavar="PIECE:EDGE@PLACE[,EDGE@PLACE]",
        help="a line drawn across: a place is a length from the edge's start (-30mm from its end) or a share (40%%)",
    )
    parser.add_argument("--own-line", action="append", metavar="PIECE:LINE", help="another line on that piece alone")
    parser.add_argument(
        "--own-amount", action="append", metavar="PIECE:LENGTH", help="another amount on that piece alone"
    )
    parser.add_argument("--blend-before", metavar="LENGTH", help="how far the blend runs before the cut")
    parser.add_argument("--blend-after", metavar="LENGTH", help="how far the blend runs after the cut")
    parser.add_argument("--blend-share", metavar="SHARE", help="0 trims the jog in, 0.5 shares it, 1 fills it out")
    parser.add_argument("--remark", help="your own words beside the note")


def new_note(garment: Garment, note_id: str, alteration: Alteration, options: argparse.Namespace) -> Note:
    """A note from options. Raises PatternError for what does not fit."""
    values, _ = _amounts(alteration, options)
    amounts = alteration.checked(values)
    targets: tuple[Target, ...] = ()
    if not options.on:
        # Where no piece can be cut so, those that the note is usually done to, so that it says why it is not done.
        for tried in (amounts, alteration.checked({})):
            targets = targets or of_region(garment, alteration, alteration.place, tried)[0]
    blank = Note(note_id, alteration.name, amounts, targets, rule=alteration.version)
    return _with_options(garment, blank, alteration, options)


def of_region(
    garment: Garment, alteration: Alteration, region: str, amounts: Any
) -> tuple[tuple[Target, ...], tuple[str, ...]]:
    """The pieces of a region that an alteration can be done to, and a sentence for each piece and each one to ask.

    A piece is asked where what it is sewn to changes its length. An alteration of the width that aims at edges is done
    to one edge of each upright seam.
    """
    targets: list[Target] = []
    says: list[str] = []
    sewn: set[str] = set()
    found = covered(garment, region)
    for one in found:
        if one.asked:
            continue
        name = garment.piece(one.piece).name
        aims = [target for target in _aims(garment, alteration, region, one.piece) if _fresh(garment, target, sewn)]
        aims = [target for target in aims if _fits(garment, alteration, amounts, target)]
        targets += aims
        says += [f"done to “{name}”: {one.why}"] if aims else []
    after = _tried(garment, alteration, amounts, targets)
    says += [_asks(garment, one) for one in found if after is not None and is_asked(one, garment, after)]
    return tuple(targets), tuple(says) if targets else ()


def done_to(garment: Garment, note: Note, after: Garment) -> tuple[str, tuple[str, ...]]:
    """Why a note that made ``after`` of a garment is done to its pieces: in a few words, and a sentence for each piece.

    Each piece that it asks for has one too. Both are empty where none of its pieces belongs to its region of the body.
    """
    place, mine = find(note.alteration).place, {target.piece for target in note.targets}
    found = [one for one in covered(garment, place) if one.piece in mine or is_asked(one, garment, after)]
    if all(one.asked or one.piece not in mine for one in found):
        return "", ()
    names, asked = (
        [garment.piece(one.piece).name for one in found if (one.piece in mine) is done] for done in (True, False)
    )
    short = f"for the {place}: {', '.join(names)}" + (f"; sewn on there: {', '.join(asked)}" if asked else "")
    says = (
        f"done to “{garment.piece(one.piece).name}”: {one.why}" if one.piece in mine else _asks(garment, one)
        for one in found
    )
    return short, tuple(says)


def _asks(garment: Garment, one: Covered) -> str:
    return f"asks for “{garment.piece(one.piece).name}”: {one.why}"


def _aims(garment: Garment, alteration: Alteration, region: str, piece_id: str) -> list[Target]:
    if alteration.aims_at == "pieces":
        return [Target(piece_id)]
    edges = garment.piece(piece_id).edges if region == "width" else ()
    return [Target(piece_id, edge=edge.id) for edge in edges if edge.kind in UPRIGHT_SEAMS]


def _fresh(garment: Garment, target: Target, sewn: set[str]) -> bool:
    """Whether no edge of the same seam was met before; it is met now."""
    seams = {seam.id for seam in garment.seams_of(target.piece, target.edge)} if target.edge is not None else set()
    new = not seams & sewn
    sewn |= seams
    return new


def _fits(garment: Garment, alteration: Alteration, amounts: Any, target: Target) -> bool:
    """Whether a piece can be cut so, if not by this much then by the usual.

    Else a note that is too much for one piece would be done to the others alone.
    """
    numbers = {name: field.default for name, field in alteration.fields().items() if not field.choices}
    return any(
        _tried(garment, alteration, one, [target]) is not None for one in (amounts, replace(amounts, **numbers))
    )


def _tried(garment: Garment, alteration: Alteration, amounts: Any, targets: Sequence[Target]) -> Garment | None:
    """What a note makes of the garment, None where it cannot be done or is done to nothing."""
    if not targets:
        return None
    try:
        return alteration.do(garment, amounts, tuple(targets), "trial").garment
    except PatternError:
        return None


def changed_note(garment: Garment, note: Note, options: argparse.Namespace) -> Note:
    """A note with the options given put in place of what it had."""
    alteration = find(note.alteration)
    kept = {name: getattr(note.amounts, name) for name in alteration.fields()}
    values, _ = _amounts(alteration, options)
    return _with_options(garment, replace(note, amounts=alteration.checked(kept | values)), alteration, options)


def understood(alteration: Alteration, options: argparse.Namespace) -> list[str]:
    """What was understood of each length typed."""
    heard = _amounts(alteration, options)[1]
    for given in options.own_amount or ():
        piece, word = _pair(given, "--own-amount")
        heard.append(_understood(f"own amount of “{piece}”", word))
    for side in ("before", "after"):
        word = getattr(options, f"blend_{side}")
        if word is not None:
            heard.append(_understood(f"blend {side} the cut", word))
    for given in options.across or ():
        for place in _pair(given, "--across")[1].split(","):
            edge, _, along = place.strip().rpartition("@")
            if not along.endswith("%"):
                end = "end" if along.startswith("-") else "start"
                heard.append(_understood(f"from the {end} of “{edge}”", along.removeprefix("-")))
    return heard


def check_places(garment: Garment, before: Sequence[Note], note: Note, options: argparse.Namespace) -> None:
    """Raises PatternError where options name lines or places that are not there once the notes ``before`` are done."""
    if not (options.own_line or options.across):
        return
    now = draft(garment, before).followed.garment
    for target in note.targets:
        piece = now.piece(target.piece)
        known = [line.id for line in piece.lines] + [notch.id for notch in piece.notches]
        known += [dart.id for dart in piece.darts] + [dart.id for dart in piece.inner_darts]
        if target.line is not None and target.line not in known:
            raise PatternError(f"“{piece.name}” has no line “{target.line}”; it has {', '.join(known)}.", piece.id)
        for address in target.across or ():
            place_of(piece, address)


def _understood(what: str, word: str) -> str:
    return f"{what}: “{word}” {said(read_length(word))}"


def note_words(garment: Garment, note: Note) -> str:
    """A note as its card reads it, for a list."""
    alteration = find(note.alteration)
    words: dict[str, str] = {"blend": ""}
    for name, field in alteration.fields().items():
        value = getattr(note.amounts, name)
        words[name] = value if field.choices else f"{value:.0%}" if field.unit == "share" else f"{value:g} mm"
    words["pieces"] = ", ".join(_target_words(garment, target) for target in note.targets) or "nothing yet"
    return alteration.sentence.format(**words)


def _target_words(garment: Garment, target: Target) -> str:
    try:
        piece = garment.piece(target.piece)
        return piece.name if target.edge is None else f"{piece.edge(target.edge).name} of {piece.name}"
    except PatternError:
        return target.piece


def _with_options(garment: Garment, note: Note, alteration: Alteration, options: argparse.Namespace) -> Note:
    targets = note.targets
    if options.on:
        words = [word for given in options.on for word in given.split(",")]
        targets = tuple(
            dict.fromkeys(one for word in words for one in _targets(garment, alteration, word.strip(), note.amounts))
        )
    for given in options.across or ():
        piece, places = _pair(given, "--across")
        targets = _with(targets, piece, across=_drawn(garment, piece, places))
    for given in options.own_line or ():
        piece, line = _pair(given, "--own-line")
        targets = _with(targets, piece, line=line)
    for given in options.own_amount or ():
        piece, length = _pair(given, "--own-amount")
        if alteration.own is None:
            raise PatternError(f"“{alteration.title}” has no amount that a piece can have its own of.", piece)
        targets = _with(targets, piece, amount=read_length(length).mm)
    blend = BlendChoice(
        note.blend.share if options.blend_share is None else _share(options.blend_share, "--blend-share"),
        note.blend.before if options.blend_before is None else _run(options.blend_before, "--blend-before"),
        note.blend.after if options.blend_after is None else _run(options.blend_after, "--blend-after"),
    )
    remark = note.remark if options.remark is None else options.remark
    checked = tuple(alteration.checked_target(target) for target in targets)
    return replace(note, targets=checked, blend=blend, remark=remark)


def _drawn(garment: Garment, piece_id: str, words: str) -> tuple[Address, ...]:
    """The line that --across draws: through one place, or from one to another."""
    drawn = tuple(_address(word) for word in words.split(","))
    if len(drawn) > 2:
        raise PatternError(f"A line is drawn through one place or from one to another; “{words}” names {len(drawn)}.")
    return drawn


def _run(word: str, option: str) -> float:
    length = read_length(word).mm
    if not 0 <= length <= FARTHEST_MM:
        raise PatternError(f"{option} goes from 0 mm to {FARTHEST_MM:g} mm; {length:g} mm does not.")
    return length


def _targets(garment: Garment, alteration: Alteration, word: str, amounts: Any) -> tuple[Target, ...]:
    """What a word after --on means: a piece, an edge of one, or a region of the body where no piece is called so."""
    if word in REGIONS and alteration.aims_at == "pieces" and all(piece.id != word for piece in garment.pieces):
        targets, _ = of_region(garment, alteration, word, amounts)
        if not targets:
            raise PatternError(f"“{alteration.title}” fits no piece that has the {word}; name the pieces with --on.")
        return targets
    return (_target(garment, alteration, word),)


def _target(garment: Garment, alteration: Alteration, word: str) -> Target:
    piece, _, edge = word.partition(":")
    found = garment.piece(piece)
    if alteration.aims_at == "edges":
        if not edge:
            names = ", ".join(e.id for e in found.edges)
            raise PatternError(f"Say which edge of “{found.name}” is meant, as {piece}:EDGE; it has {names}.", piece)
        return Target(piece, edge=found.edge(edge).id)
    if edge:
        raise PatternError(f"“{alteration.title}” is done to whole pieces; leave “:{edge}” out.", piece)
    return Target(piece)


def _with(targets: tuple[Target, ...], piece: str, **changes: Any) -> tuple[Target, ...]:
    if all(target.piece != piece for target in targets):
        raise PatternError(f"The note is not done to “{piece}”; name it with --on first.", piece)
    return tuple(replace(target, **changes) if target.piece == piece else target for target in targets)


def _address(word: str) -> Address:
    edge, at, place = word.strip().rpartition("@")
    if not at:
        raise PatternError(f"“{word}” names no place; write it as EDGE@120mm, EDGE@-30mm or EDGE@40%.")
    if place.endswith("%"):
        return Address(edge, "start", share=_share(place, "A place along an edge"))
    if place.startswith("-"):
        return Address(edge, "end", length=read_length(place[1:]).mm)
    return Address(edge, "start", length=read_length(place).mm)


def _amounts(alteration: Alteration, options: argparse.Namespace) -> tuple[dict[str, Any], list[str]]:
    values: dict[str, Any] = {}
    heard: list[str] = []
    fields = alteration.fields()
    typed = {key.removeprefix("amount_"): word for key, word in vars(options).items() if key.startswith("amount_")}
    for name, word in typed.items():
        if word is None:
            continue
        if name not in fields:
            raise PatternError(f"“{alteration.title}” has no amount “{name}”; it has {', '.join(fields)}.")
        if fields[name].unit == "mm":
            values[name] = read_length(word).mm
            heard.append(_understood(fields[name].label, word))
        else:
            values[name] = _number(word) if fields[name].unit == "share" else word
    return values, heard


def _share(word: str, what: str) -> float:
    share = _number(word)
    if not 0 <= share <= 1:
        raise PatternError(f"{what} goes from 0 to 1 (100%); “{word}” does not.")
    return share


def _number(word: str) -> float:
    try:
        number = float(word[:-1]) / 100 if word.endswith("%") else float(word)
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        raise PatternError(f"“{word}” is not a share; write 0.4 or 40%.")
    return number


def _pair(word: str, option: str) -> tuple[str, str]:
    piece, colon, rest = word.partition(":")
    if not colon or not rest:
        raise PatternError(f"{option} wants PIECE:…; “{word}” has no colon.")
    return piece, rest


def _meta(field: Amount) -> str:
    return {"mm": "LENGTH", "share": "SHARE", "size": "SIZE"}.get(field.unit, "WORDS")


def _help(field: Amount) -> str:
    limits = ", ".join(field.choices) if field.choices else f"{field.least:g} to {field.most:g}"
    limits = f"a size, {limits}" if field.unit == "size" else limits
    default = f"{field.default:g}" if isinstance(field.default, float) else field.default
    unit = " mm" if field.unit == "mm" else ""
    basis = f"; {field.basis}" if field.basis else ""
    return f"{field.label} ({limits}{unit}; {default}{unit} if left out{basis})".replace("%", "%%")
