"""The garment file, ``*.garment.json``: a document as one JSON text and back; docs/garment-file.md describes it.

What all sizes share stands once under "pieces"; what is drawn stands under "sizes", by size, piece and id. Ids are
the same in every size. The saved form is derived from the frozen values, that of a note from its alteration.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from app.documents import Document, Settings
from app.files import safely
from app.files.json_text import check, layout, one_line, parse
from app.files.plain import as_list, as_object, from_plain, plain_text, refusal, shown, step_into, to_plain
from app.files.upgrades import newest, upgraded
from geometry.alterations import find
from geometry.alterations.base import Alteration
from geometry.closures import Girth, Opening
from geometry.errors import PatternError
from geometry.garments import Garment, Seam
from geometry.nests import DRAWN, in_size, nested, size_names
from geometry.notes import BlendChoice, Note, Target
from geometry.pieces import Cloth, Finish, Piece, RunKind
from geometry.size_tables import SizeTable
from geometry.tolerances import MEET_MM

__all__ = ["ENDING", "LARGEST", "Document", "open_file", "read_bytes", "save_file", "to_bytes"]

FORMAT = "tuck-and-true garment"
ENDING = ".garment.json"
#: Files larger than this are not read (bytes).
LARGEST = 50_000_000

#: What of a garment says who gets into it and how; each is left out where nothing is said.
_GETTING_IN = ("stretch", "girths", "openings")
_SHARED_GARMENT = ("id", "name", "for_whom", "knit", "widths", "size_table", *_GETTING_IN)
_TOP = (
    *("format", "version", "garment", "size", "pieces", "seams", "sizes"),
    *("notes", "notes_written", "settings", "results", "extra"),
)
_NEEDED = ("format", "version", "garment", "size", "pieces", "sizes")


def open_file(path: Path | str) -> tuple[Document, str]:
    """The document in a file, and the stamp of what was read (for ``safely.changed_since``).

    Raises PatternError as ``read_bytes`` does, and when the file cannot be read or is over 50 MB.
    """
    try:
        data = safely.read_bytes(path, LARGEST)
        return read_bytes(data, Path(path).name), safely.stamp_of(data)
    except PatternError as error:
        raise replace(error, file=str(path)) from error


def save_file(path: Path | str, document: Document) -> str:
    """Save a document whole or not at all; returns the stamp of what was written. Raises PatternError."""
    data = to_bytes(document)
    safely.write_bytes(path, data)
    return safely.stamp_of(data)


def to_bytes(document: Document) -> bytes:
    """The document as a file holds it: UTF-8, the same bytes each time.

    Raises PatternError when it could not be opened again, so that nothing is saved over what can.
    """
    from app.files import schema

    plain = _document_to_plain(document)
    try:
        check(plain)
        schema.check(plain)
        _document_from(plain)
        data = layout(plain).encode("utf-8")
    except PatternError as error:
        raise replace(
            error, says=one_line(f"The garment was not saved, for it would not open again: {error.says}")
        ) from error
    except (TypeError, ValueError) as error:
        raise PatternError(f"The garment was not saved, for it holds what no file can ({str(error)[:60]}).") from None
    if len(data) > LARGEST:
        raise PatternError(f"The garment is larger than {LARGEST // 1_000_000} MB, so it was not saved.")
    return data


def read_bytes(data: bytes, name: str = "the file", *, shipped: bool = False) -> Document:
    """The document that the content of a file means; ``name`` is what sentences call the file.

    ``shipped`` is for samples that come with the program: they are read as strictly, but the schema library is not
    loaded for them. Raises PatternError, saying where, for anything that is no whole garment file of a known version.
    """
    plain = parse(data, name)
    version = _version_of(plain, name)
    try:
        plain = upgraded(plain, version)
        if not shipped:
            from app.files import schema

            schema.check(plain)
        return _document_from(plain)
    except PatternError as error:
        raise replace(error, says=one_line(f"“{name}” was not opened: {error.says}")) from error


def _version_of(plain: Any, name: str) -> int:
    if not isinstance(plain, dict) or plain.get("format") != FORMAT:
        raise PatternError(f"“{name}” is not a garment file: “format” does not say “{FORMAT}”.")
    version = plain.get("version")
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        raise PatternError(f"“{name}” was not opened: {shown(version)} is no version of a garment file.")
    if version > newest():
        raise PatternError(
            f"“{name}” was saved by a newer Tuck & True (file version {version}, this one reads up to {newest()}), "
            "so it was not opened; update the program."
        )
    return version


def _document_to_plain(document: Document) -> dict[str, Any]:
    garments = [in_size(document.garment, size) for size in size_names(document.garment)]
    shared = [_garment_to_plain(garment) for garment in garments]
    for garment, (common, _) in zip(garments[1:], shared[1:], strict=True):
        if common != shared[0][0]:
            raise PatternError(f"Size “{garment.size}” of “{garment.name}” does not share everything but its lines.")
    return {
        "format": FORMAT,
        "version": newest(),
        **shared[0][0],
        "size": document.garment.size,
        "sizes": {garment.size: drawn for garment, (_, drawn) in zip(garments, shared, strict=True)},
        "notes": [note_to_plain(note) for note in document.notes],
        "notes_written": document.notes_written,
        "settings": to_plain(document.settings, whole=True),
        "results": {
            piece: {edge: float(edges[edge]) for edge in sorted(edges)}
            for piece, edges in sorted(document.results.items())
        },
        "extra": dict(document.extra),
    }


def _garment_to_plain(garment: Garment) -> tuple[dict[str, Any], dict[str, Any]]:
    """What all sizes share, and what is drawn in this one."""
    common = {name: to_plain(getattr(garment, name)) for name in ("id", "name", "for_whom", "knit")}
    common["widths"] = {str(finish): float(garment.widths[finish]) for finish in Finish}
    if garment.size_table is not None:
        common["size_table"] = to_plain(garment.size_table)
    common |= {name: to_plain(said) for name in _GETTING_IN if (said := getattr(garment, name))}
    pieces: list[dict[str, Any]] = []
    drawn: dict[str, Any] = {}
    for piece in garment.pieces:
        plain = to_plain(piece)
        drawn[piece.id] = _lift_out(plain)
        pieces.append(plain)
    return {"garment": common, "pieces": pieces, "seams": to_plain(garment.seams)}, drawn


def _lift_out(plain: dict[str, Any]) -> dict[str, Any]:
    """Take what is drawn out of a plain piece, and return it by group and id."""
    drawn: dict[str, Any] = {"size": plain.pop("size", "")}
    for group, names in DRAWN.items():
        if parts := plain.get(group):
            drawn[group] = {part["id"]: {name: part.pop(name) for name in names if name in part} for part in parts}
    return drawn


def note_to_plain(note: Note) -> dict[str, Any]:
    """A note as files hold it."""
    return {
        "id": note.id,
        "alteration": note.alteration,
        "rule": note.rule,
        "on": note.on,
        "amounts": to_plain(note.amounts, whole=True),
        "targets": to_plain(note.targets),
        "blend": to_plain(note.blend, whole=True),
        "remark": note.remark,
    }


def _document_from(plain: dict[str, Any]) -> Document:
    check_keys(plain, _TOP, _NEEDED, ())
    size = from_plain(str, plain["size"], ("size",))
    sizes = as_object(plain["sizes"], ("sizes",))
    if size not in sizes:
        raise refusal(("size",), f"“{size}” is not among the sizes {', '.join(sizes) or 'there'}")
    garments = [_garment_from(plain, name, drawn) for name, drawn in sizes.items()]
    notes = as_list(plain.get("notes", []), ("notes",))
    return Document(
        garment=nested(garments, size),
        notes=tuple(note_from(note, step_into(("notes",), note, number)) for number, note in enumerate(notes)),
        settings=from_plain(Settings, plain.get("settings", {}), ("settings",)),
        results=from_plain(Mapping[str, Mapping[str, float]], plain.get("results", {}), ("results",)),
        extra=as_object(plain.get("extra", {}), ("extra",)),
        notes_written=from_plain(int, plain.get("notes_written", 0), ("notes_written",)),
    )


def _garment_from(plain: dict[str, Any], size: str, drawn: Any) -> Garment:
    plain_text(size, ("sizes",))
    common = as_object(plain["garment"], ("garment",))
    check_keys(common, _SHARED_GARMENT, ("id", "name", "widths"), ("garment",))
    widths = from_plain(Mapping[Finish, float], common["widths"], ("garment", "widths"))
    for finish in Finish:
        if finish not in widths:
            raise refusal(("garment", "widths"), f"“{finish}” is missing")
    pieces = as_list(plain["pieces"], ("pieces",))
    lines = as_object(drawn, ("sizes", size))
    _check_ids([_id_of(piece) for piece in pieces], lines, ("sizes", size))
    return Garment(
        id=from_plain(str, common["id"], ("garment", "id")),
        name=from_plain(str, common["name"], ("garment", "name")),
        pieces=tuple(_piece_from(piece, lines, size, number) for number, piece in enumerate(pieces)),
        seams=from_plain(tuple[Seam, ...], plain.get("seams", []), ("seams",)),
        size=size,
        for_whom=from_plain(str, common.get("for_whom", ""), ("garment", "for_whom")),
        knit=from_plain(bool, common.get("knit", False), ("garment", "knit")),
        widths=widths,
        size_table=from_plain(SizeTable | None, common.get("size_table"), ("garment", "size_table")),
        stretch=from_plain(Mapping[Cloth, float], common.get("stretch", {}), ("garment", "stretch")),
        girths=from_plain(Mapping[Girth, float], common.get("girths", {}), ("garment", "girths")),
        openings=from_plain(tuple[Opening, ...], common.get("openings", []), ("garment", "openings")),
    )


def _piece_from(shared: Any, lines: dict[str, Any], size: str, number: int) -> Piece:
    where = step_into(("pieces",), shared, number)
    piece = dict(as_object(shared, where))
    there = ("sizes", size, where[-1])
    drawn = as_object(lines[_id_of(piece)], there)
    check_keys(drawn, ("size", *DRAWN), (), there)
    for group, names in DRAWN.items():
        parts = as_list(piece.get(group, []), (*where, group))
        by_id = as_object(drawn.get(group, {}), (*there, group))
        _check_ids([_id_of(part) for part in parts], by_id, (*there, group))
        if group in piece:
            piece[group] = [_joined(part, by_id[_id_of(part)], names, (*where, group), there) for part in parts]
    if "size" in piece:
        raise refusal(where, "“size” is not known here; it belongs under “sizes”")
    found: Piece = from_plain(Piece, piece | {"size": drawn.get("size", "")}, where)
    _check_drawn(found, there)
    return found


def _check_drawn(piece: Piece, there: tuple[str, ...]) -> None:
    """Raises PatternError for a line of no length, and for a dart mouth that is not straight across."""
    for line in piece.lines:
        if np.ptp(line.chain.cubics.reshape(-1, 2), axis=0).max() <= MEET_MM:
            raise refusal((*there, "lines", line.id), f"the {line.name} of “{piece.name}” has no length")
    for edge in piece.edges:
        if any(run.kind is RunKind.MOUTH and not run.chain.is_straight for run in edge.runs):
            raise PatternError(
                f"A dart mouth on “{edge.name}” of “{piece.name}” is not one straight line across.", piece.id, edge.id
            )


def _joined(
    shared: dict[str, Any], drawn: Any, names: tuple[str, ...], where: tuple[str, ...], there: tuple[str, ...]
) -> dict[str, Any]:
    """A part of a piece with what is drawn of it put back."""
    check_keys(as_object(drawn, there), names, (), (*there, where[-1], shared["id"]))
    for name in names:
        if name in shared:
            raise refusal((*where, shared["id"]), f"“{name}” is not known here; it belongs under “sizes”")
    whole: dict[str, Any] = shared | drawn
    return whole


def note_from(plain: Any, where: tuple[str, ...]) -> Note:
    """The note that a plain value means; raises PatternError, saying where, for anything else."""
    given = as_object(plain, where)
    check_keys(
        given,
        ("id", "alteration", "rule", "on", "amounts", "targets", "blend", "remark"),
        ("id", "alteration", "rule", "amounts", "targets"),
        where,
    )
    try:
        alteration = find(from_plain(str, given["alteration"], (*where, "alteration")))
        amounts = as_object(given["amounts"], (*where, "amounts"))
        checked = alteration.checked({name: _frozen(value) for name, value in amounts.items()})
    except PatternError as error:
        raise replace(error, says=f"{' › '.join(where)}: {error.says}") from None
    rule = from_plain(int, given["rule"], (*where, "rule"))
    if not 1 <= rule <= alteration.version:
        raise refusal(where, f"“{alteration.title}” was done by its rule {rule}; update the program to open it")
    return Note(
        id=from_plain(str, given["id"], (*where, "id")),
        alteration=alteration.name,
        amounts=checked,
        targets=_targets_from(alteration, given["targets"], (*where, "targets")),
        on=from_plain(bool, given.get("on", True), (*where, "on")),
        rule=rule,
        blend=from_plain(BlendChoice, given.get("blend", {}), (*where, "blend")),
        remark=from_plain(str, given.get("remark", ""), (*where, "remark")),
    )


def _targets_from(alteration: Alteration, plain: Any, where: tuple[str, ...]) -> tuple[Target, ...]:
    """What a note is done to, each once and its own amount within the limits."""
    targets: tuple[Target, ...] = from_plain(tuple[Target, ...], plain, where)
    for number, target in enumerate(targets, 1):
        try:
            alteration.checked_target(target)
        except PatternError as error:
            raise replace(error, says=f"{' › '.join((*where, str(number)))}: {error.says}") from None
        if any(replace(one, amount=None) == replace(target, amount=None) for one in targets[: number - 1]):
            raise refusal((*where, str(number)), f"the note is done to “{target.piece}” there already")
    return targets


def _frozen(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


def _id_of(part: Any) -> str:
    named = part.get("id") if isinstance(part, dict) else None
    if not isinstance(named, str):
        raise refusal(("pieces",), "a piece or a part of one has no “id”")
    return named


def check_keys(given: dict[str, Any], known: tuple[str, ...], needed: tuple[str, ...], where: tuple[str, ...]) -> None:
    """Raises PatternError for a key that is not known, and for one that is needed and missing."""
    for name in given:
        if name not in known:
            raise refusal(where, f"“{name[:40]}” is not known here; things of your own belong under “extra”")
    for name in needed:
        if name not in given:
            raise refusal(where, f"“{name}” is missing")


def _check_ids(shared: list[str], drawn: dict[str, Any], where: tuple[str, ...]) -> None:
    for name in shared:
        if name not in drawn:
            raise refusal(where, f"“{name[:40]}” is not drawn in this size")
    for name in drawn:
        if name not in shared:
            raise refusal(where, f"“{name[:40]}” is drawn but is not among the pieces' parts")
