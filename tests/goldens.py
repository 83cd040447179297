"""Golden drawings: how each alteration redraws a piece of the samples, kept as cubics under tests/golden.

They are compared by id, corner by corner, and curve by curve by their distance both ways; how a curve is divided into
segments does not matter. After a change that is meant, look at the drawing and make it anew by its name:

    python -m tests.goldens changed                     names the drawings that differ from what is kept
    python -m tests.goldens look FOLDER [NAME ...]      pictures to look at: as kept (red), as drawn today (black)
    python -m tests.goldens remake NAME [NAME ...]      keeps what is drawn today, and says how far it moved
"""

from __future__ import annotations

import json
import math
import sys
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from geometry.lines import Chain, chain, flatten
from geometry.pieces import Piece
from geometry.pipeline import Draft, draft
from geometry.stages import JogBlend
from tests.golden_cases import GOLDENS, Golden

FOLDER = Path(__file__).resolve().parent / "golden"
#: Corners and curves may lie this far from what is kept (mm).
NEAR_MM = 0.01
#: Points on a curve that is compared are so close to it, and so close together where it is curved (mm).
_FLAT_MM, _STEP_MM = 1e-4, 1.0

Values = dict[str, Any]


@cache
def drafted(golden: Golden) -> Draft:
    return draft(golden.garment, golden.notes)


@cache
def blends() -> tuple[tuple[Golden, JogBlend], ...]:
    """Every blend of every drawing, with the drawing."""
    return tuple(
        (golden, blend)
        for golden in GOLDENS
        for one in drafted(golden).blended.pieces.values()
        for blend in one.blends
    )


def summary_lines() -> list[str]:
    """What the blends of the drawings reached, for the end of a test run."""
    reached = [(golden.name, blend) for golden, blend in blends() if blend.max_curvature_ratio is not None]
    applies = [blend for _, blend in reached if blend.within_bounds is not None]
    lines = [
        f"{len(GOLDENS)} golden drawings, {len(blends())} blends, {len(reached)} of them curved; the bounds apply to "
        f"{len(applies)}, {sum(blend.within_bounds is True for blend in applies)} within them"
    ]
    for label, values in (
        ("greatest curvature / original's", [blend.max_curvature_ratio or 0.0 for _, blend in reached]),
        ("new inflections", [float(blend.new_inflections or 0) for _, blend in reached]),
        ("off the old lines, mm", [blend.off_line_mm for _, blend in reached]),
    ):
        name, blend = reached[int(np.argmax(values))]
        lines.append(f"  {label}: median {np.median(values):.2f}, worst {max(values):.2f} ({blend.edge} of {name})")
    return lines


def drawn(golden: Golden) -> Values:
    """What is drawn today: each piece as the note left it, jogs and all, and as it is redrawn."""
    done = drafted(golden)
    assert all(step.done for step in done.followed.steps), [f.says for f in done.findings]
    pieces = {}
    for name in golden.pieces:
        cutting = done.cut[name].cutting
        pieces[name] = {
            "moved": _piece(done.followed.garment.piece(name)),
            "redrawn": _piece(done.redrawn.piece(name)),
            "cutting line": None if cutting is None else _curves(cutting),
        }
    return {"name": golden.name, "units": "mm", "pieces": pieces}


def kept(golden: Golden) -> Values:
    """What is kept of a drawing."""
    values: Values = json.loads(path_of(golden.name).read_text(encoding="utf-8"))
    return values


def path_of(name: str) -> Path:
    return FOLDER / f"{name}.json"


def _piece(piece: Piece) -> Values:
    notches = {n.id: {"at": _point(piece.point_at(n.place)), "count": n.count} for n in piece.notches}
    return {
        "corners": {c.id: _point(e.start) for c, e in zip(piece.corners, piece.edges, strict=True)},
        "edges": {e.id: [{"is": r.kind.value, "curves": _curves(r.chain)} for r in e.runs] for e in piece.edges},
        "notches": notches,
        "marks": {mark.id: _point(mark.point) for mark in piece.marks},
        "darts": {
            d.id: {"bust point": _point(d.bust_point), "sewn point": _point(d.sewn_point), "pressed to": d.fold_to}
            for d in piece.darts
        },
        "lines": {line.id: [_point(line.chain.start), _point(line.chain.end)] for line in piece.lines},
    }


def _curves(line: Chain) -> list[list[float]]:
    """Where a line starts, then each cubic: both of its controls and its end; a straight one its end alone."""
    parts = [_point(line.start)]
    for cubic, straight in zip(line.cubics, line.straight, strict=True):
        points = cubic[3:] if straight else cubic[1:]
        parts.append([number for point in points for number in _point(point)])
    return parts


def _point(point: Any) -> list[float]:
    return [round(float(point[0]), 4) + 0.0, round(float(point[1]), 4) + 0.0]


def line_of(curves: list[list[float]]) -> Chain:
    segments: list[Any] = []
    at = tuple(curves[0])
    for part in curves[1:]:
        points = [tuple(part[i : i + 2]) for i in range(0, len(part), 2)]
        segments.append((at, *points))
        at = points[-1]
    return chain(segments)


def differences(one: Values, other: Values) -> list[str]:
    """Where two drawings differ by more than NEAR_MM or in what they hold; each as one sentence."""
    found = _keys(one["pieces"], other["pieces"], "the drawing")
    for name in one["pieces"].keys() & other["pieces"].keys():
        here, there = one["pieces"][name], other["pieces"][name]
        for stage in ("moved", "redrawn"):
            found += _pieces_apart(here[stage], there[stage], f"{name}, {stage}")
        lines = [values["cutting line"] for values in (here, there)]
        if lines[0] == lines[1]:
            continue
        if None in lines:
            found.append(f"{name}: one has a cutting line and one has none")
        else:
            found += _far(two_way(*map(line_of, lines)), f"{name}: cutting line")
    return found


def _pieces_apart(one: Values, other: Values, where: str) -> list[str]:
    found: list[str] = []
    for group in ("corners", "edges", "notches", "marks", "darts", "lines"):
        found += _keys(one[group], other[group], f"{where}, {group}")
        for name in one[group].keys() & other[group].keys():
            found += _values_apart(one[group][name], other[group][name], f"{where}: {name}")
    return found


def _values_apart(one: Any, other: Any, where: str) -> list[str]:
    """Points by their distance, curves both ways, words and counts exactly."""
    if one == other:
        return []
    if isinstance(one, dict) and "curves" in one:
        kinds = [] if one["is"] == other["is"] else [f"{where} is {one['is']} in one, {other['is']} in the other"]
        lines = [line_of(values["curves"]) for values in (one, other)]
        ends = max(math.dist(lines[0].start, lines[1].start), math.dist(lines[0].end, lines[1].end))
        return kinds + _far(max(ends, two_way(*lines)), where)
    if isinstance(one, dict):
        return [line for key in one for line in _values_apart(one[key], other[key], f"{where}, {key}")]
    if isinstance(one, list) and one and not isinstance(one[0], float):
        if len(one) != len(other):
            return [f"{where} is in {len(one)} parts in one, in {len(other)} in the other"]
        return [line for i, (a, b) in enumerate(zip(one, other)) for line in _values_apart(a, b, f"{where} {i + 1}")]
    if isinstance(one, list):
        return _far(math.dist(one, other), where)
    return [] if one == other else [f"{where} is {one} in one, {other} in the other"]


def _keys(one: Values, other: Values, where: str) -> list[str]:
    found = [f"{where}: {name} is missing in one of them" for name in sorted(one.keys() ^ other.keys())]
    return found or ([] if list(one) == list(other) else [f"{where} stand in another order"])


def _far(distance: float, where: str) -> list[str]:
    return [f"{where} lies {distance:.3f} mm off"] if not distance <= NEAR_MM else []


def two_way(one: Chain, other: Chain) -> float:
    """The greatest distance in mm from a point of either line to the other one (n points each, GEOS)."""
    points = [flatten(line, _FLAT_MM, _STEP_MM)[0] for line in (one, other)]
    lines = [shapely.LineString(some) for some in points]
    here, there = (
        shapely.distance(shapely.points(a), b) for a, b in ((points[0], lines[1]), (points[1], lines[0]))
    )
    return float(max(np.max(here), np.max(there)))


def text_of(values: Values) -> str:
    """A drawing as JSON that can be read: a line for each point and each curve."""

    def write(value: Any, deep: int) -> str:
        inner, outer = " " * (deep + 1), " " * deep
        if isinstance(value, dict) and value and not _flat(value):
            rows = [f"{inner}{json.dumps(key)}: {write(one, deep + 1)}" for key, one in value.items()]
            return "{\n" + ",\n".join(rows) + f"\n{outer}}}"
        if isinstance(value, list) and value and not _flat(value):
            return "[\n" + ",\n".join(inner + write(one, deep + 1) for one in value) + f"\n{outer}]"
        return json.dumps(value, ensure_ascii=False)

    return write(values, 0) + "\n"


def _flat(value: Any) -> bool:
    """Whether a value stands on one line: a point, a cubic, or a few points."""
    inner = list(value.values()) if isinstance(value, dict) else value
    if all(not isinstance(one, dict | list) for one in inner):
        return True
    return isinstance(value, dict | list) and len(json.dumps(value)) < 100


def main(words: list[str]) -> int:
    by_name = {golden.name: golden for golden in GOLDENS}
    act, *names = words or [""]
    folder = Path(names.pop(0)) if act == "look" and names else None
    unknown = [name for name in names if name not in by_name]
    if act == "changed" and not names:
        print(*(name for name, golden in by_name.items() if differences(kept(golden), drawn(golden))), sep="\n")
        return 0
    if act not in ("look", "remake") or unknown or (act == "remake" and not names) or (act == "look" and not folder):
        print(__doc__, *(f"There is no drawing “{name}”." for name in unknown), sep="\n")
        return 2
    for name in names or by_name:
        golden = by_name[name]
        if folder is not None:
            from tests.golden_pictures import picture

            folder.mkdir(parents=True, exist_ok=True)
            (folder / f"{name}.svg").write_text(picture(golden), encoding="utf-8")
            continue
        now = drawn(golden)
        moved = differences(kept(golden), now) if path_of(name).exists() else ["a new drawing"]
        print(name, *(f"   {line}" for line in moved or ["as it was"]), sep="\n")
        FOLDER.mkdir(exist_ok=True)
        path_of(name).write_text(text_of(now), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
