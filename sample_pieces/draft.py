"""Drafts every sample garment. ``python -m sample_pieces.draft`` writes the sample files anew, byte for byte."""

from __future__ import annotations

from pathlib import Path

from geometry.garments import Garment
from geometry.notes import Note
from sample_pieces.drafting.actors import ACTORS, sheet
from sample_pieces.drafting.funnel_neck import funnel_neck
from sample_pieces.drafting.skirt import skirt
from sample_pieces.drafting.tabard import tabard
from sample_pieces.drafting.tracings import tracing_dxf, tracing_svg
from sample_pieces.drafting.trousers import trousers
from sample_pieces.drafting.undershirt import undershirt
from sample_pieces.drafting.variants import demo_notes, front_only_notes, traced_two_mm_off
from sample_pieces.drafting.waistcoat import waistcoat

__all__ = [
    "demo_notes",
    "everything",
    "front_only_notes",
    "funnel_neck",
    "sample_files",
    "skirt",
    "tabard",
    "traced_two_mm_off",
    "trousers",
    "undershirt",
    "waistcoat",
]


def everything() -> dict[str, tuple[Garment, tuple[Note, ...]]]:
    """Every sample by the name of its file: the garment as drafted or traced, and its notes."""
    shirt = undershirt()
    return {
        "undershirt": (shirt, demo_notes()),
        "waistcoat": (waistcoat(), ()),
        "funnel-neck": (funnel_neck(), ()),
        "skirt": (skirt(), ()),
        "trousers": (trousers(), ()),
        "tabard": (tabard(), ()),
        "traced-pair": (traced_two_mm_off(), ()),
        "front-only": (shirt, front_only_notes()),
    }


def sample_files() -> dict[str, bytes]:
    """The content of every sample file by its path inside this folder; nobody has redrawn them yet."""
    from app.documents import Document
    from app.files.garment_file import ENDING, to_bytes

    found = {f"{name}{ENDING}": to_bytes(Document(garment, notes)) for name, (garment, notes) in everything().items()}
    shirt = undershirt()
    for actor in ACTORS:
        found[f"actors/{actor.name}{ENDING}"] = to_bytes(Document(*actor.drafted_for()))
        found[f"actors/{actor.name}.md"] = sheet(actor).encode("utf-8")
    found["tracings/undershirt-front-back.svg"] = tracing_svg(shirt)
    found["tracings/undershirt-front-back.dxf"] = tracing_dxf(shirt)
    return found


def main() -> None:
    """Write every sample file beside this module."""
    folder = Path(__file__).resolve().parent
    for name, data in sample_files().items():
        path = folder / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(data)
        print(f"wrote {name}, {len(data)} bytes")


if __name__ == "__main__":
    main()
