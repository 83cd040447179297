"""Prints the sample garments, puts the pages together by their own marks and takes pictures of them on a table.

``QT_QPA_PLATFORM=offscreen python docs/pictures/taped.py FOLDER`` writes one picture a garment there, and every page;
without a folder it takes the pictures of the documents anew.
"""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent.parent))

import numpy as np  # noqa: E402
from PIL import Image  # noqa: E402

import sample_pieces  # noqa: E402
from app import outputs  # noqa: E402
from app.files.garment_file import open_file  # noqa: E402
from geometry.pipeline import draft  # noqa: E402
from geometry.sheets import SheetSettings  # noqa: E402
from tests.put_together import Picture, Pose, laid, marks, nodes, pictures  # noqa: E402

#: The garments of the documents, and how many dots an inch their pictures have.
SHOWN = ("undershirt", "waistcoat", "trousers")
DPI = 45
TABLE = np.array([198, 207, 196], dtype=float)
SHADE = np.array([150, 158, 148], dtype=float)
RIM_MM = 20.0


def taped(name: str) -> tuple[Image.Image, list[Image.Image]]:
    """A garment's pages laid as she lays them, and each page by itself (the first page first)."""
    document, _ = open_file(sample_pieces.path(f"{name}.garment.json"))
    drafted, settings = draft(document.garment, document.notes), SheetSettings()
    data, records = outputs.pdf_file(drafted, settings)
    whole = pictures(data, 0)
    printed = [page for page in records["pages"] if page["page"] is not None]
    seen = [marks(picture, halves=False) for picture in whole[1:]]
    poses, miss = laid([nodes(page["row"], page["column"], found) for page, found in zip(printed, seen, strict=True)])
    print(f"{name}: {len(printed)} pages put together, their marks meet within {miss:.3f} mm")
    table = _Table(poses, whole[1:])
    # From the last to the first: a page lies on its neighbours to the right and below, cut along the join there.
    there = {(page["row"], page["column"]) for page in printed}
    for page, pose, picture, found in reversed(list(zip(printed, poses, whole[1:], seen, strict=True))):
        row, column = page["row"], page["column"]
        right = _join(found, "right", 0) if (row, column + 1) in there else None
        below = {(row + 1, column + aside) for aside in (-1, 0, 1)} & there
        table.lay(picture, pose, right, _join(found, "bottom", 1) if below else None)
    return table.image(), [Image.fromarray(255 - one.dark) for one in whole]


def _join(found: dict[str, np.ndarray], side: str, axis: int) -> float:
    """Where the join on a side runs (mm on the page): through the marks at its ends."""
    return float(np.mean([at[axis] for corner, at in found.items() if side in corner]))


class _Table:
    """A table seen from above, mm from its upper left corner, y down."""

    def __init__(self, poses: list[Pose], pages: list[Picture]) -> None:
        corners = np.concatenate([pose.there(_corners(page)) for pose, page in zip(poses, pages, strict=True)])
        self._from = corners.min(axis=0) - RIM_MM
        wide, high = np.ceil((corners.max(axis=0) + RIM_MM - self._from) * DPI / 25.4).astype(int)
        self._dots = np.tile(TABLE, (high, wide, 1))
        x, y = np.meshgrid((np.arange(wide) + 0.5) * 25.4 / DPI, (np.arange(high) + 0.5) * 25.4 / DPI)
        self._at = np.stack([x, y], axis=-1) + self._from

    def lay(self, page: Picture, pose: Pose, right: float | None, below: float | None) -> None:
        """Lay a page, cut off at ``right`` and ``below`` (mm on the page), with a thin edge round it."""
        wide, high = page.size
        on_page = pose.back(self._at.reshape(-1, 2))
        ends = np.array([wide if right is None else right, high if below is None else below])
        inside = ((on_page >= 0) & (on_page <= ends)).all(axis=1)
        edge = inside & ~((on_page >= 0.6) & (on_page <= ends - 0.6)).all(axis=1)
        softened = _softened(page)
        dots = self._dots.reshape(-1, 3)
        dots[inside] = 255.0 * (1.0 - softened.at(on_page[inside])[:, None])
        dots[edge] = np.minimum(dots[edge], SHADE)

    def image(self) -> Image.Image:
        return Image.fromarray(np.uint8(np.clip(self._dots, 0, 255)))


def _corners(page: Picture) -> np.ndarray:
    wide, high = page.size
    return np.array([(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)])


def _softened(page: Picture) -> Picture:
    """The page with as many dots as the table has, each as dark as what it covers; thin lines a little darker."""
    shape = page.dark.shape[::-1]
    size = tuple(max(1, round(count * mm * DPI / 25.4)) for count, mm in zip(shape, page.mm, strict=True))
    grey = Image.fromarray(np.float32(page.dark)).resize(size, Image.Resampling.BOX)
    dark = np.clip(np.asarray(grey, dtype=float) * 1.7, 0.0, 255.0)
    mm = tuple(count * one / new for count, one, new in zip(shape, page.mm, size, strict=True))
    return Picture(dark, (mm[0], mm[1]))


def main() -> None:
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else None
    garments = sorted((HERE.parent.parent / "sample_pieces").glob("*.garment.json"))
    for name in (path.name.partition(".")[0] for path in garments) if folder else SHOWN:
        together, pages = taped(name)
        together.quantize(64).save((folder or HERE) / f"taped-{name}.png", optimize=True)
        for number, page in enumerate(pages, 1) if folder else ():
            page.save(folder / f"{name}-{number:02}.png")


if __name__ == "__main__":
    main()
