"""Layers of a PDF: what belongs to each kind of line, to each size and to the pages, to be shown or hidden in a viewer.

Optional content groups as ISO 32000-1, 8.11 describes them, in marked content; all are shown at first. The canvas
knows nothing of them, so the document's own objects are made here.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

#: Headings under which layers are listed.
OF_PIECES, OF_SIZES, OF_PAGES = "pieces", "other sizes", "pages"
JOINS, PAGE_NAMES = "joins and frame", "page names"
_PROPERTIES = "layers"


class Layers:
    """The layers of one file; ``inside`` is drawn into, ``finish`` comes before the file is closed."""

    def __init__(self, canvas: Any) -> None:
        from reportlab.pdfbase.pdfdoc import PDFDictionary

        self._canvas = canvas
        self._known: dict[tuple[str, str], str] = {}
        self._groups: dict[str, Any] = {}
        self._named = PDFDictionary({})
        self._properties = canvas._doc.Reference(self._named, _PROPERTIES)

    @contextmanager
    def inside(self, layer: str, heading: str) -> Iterator[None]:
        """What is drawn meanwhile belongs to the layer; state that is saved inside must be restored inside."""
        self._canvas.addLiteral(f"/OC /{self._key(layer, heading)} BDC")
        yield
        self._canvas.addLiteral("EMC")

    def resources(self, objects: Any = None) -> Any:
        """The resources of a page or a form: typefaces, layers, and form ``objects`` that it shows."""
        from reportlab.pdfbase.pdfdoc import PDFResourceDictionary

        found = PDFResourceDictionary(Properties=self._properties, XObject=objects or {})
        found.basicFonts()
        return found

    def finish(self) -> None:
        """Every page knows the layers; the catalog lists them under their headings, in the order first drawn.

        A file without layers lists none.
        """
        from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFString

        document = self._canvas._doc
        for page in document.Pages.pages:
            page.Resources = self.resources(page.XObjects)
        if not self._known:
            return
        order: list[Any] = []
        for heading in (OF_PIECES, OF_SIZES, OF_PAGES):
            under = [self._groups[key] for (_, of), key in self._known.items() if of == heading]
            if under:
                order.append(PDFArray([PDFString(heading), *under]))
        shown = PDFDictionary({"Name": PDFString("all"), "BaseState": PDFName("ON"), "Order": PDFArray(order)})
        catalog = document.Catalog
        catalog.OCProperties = PDFDictionary({"OCGs": PDFArray(list(self._groups.values())), "D": shown})
        catalog.__NoDefault__ = [*type(catalog).__NoDefault__, "OCProperties"]

    def _key(self, layer: str, heading: str) -> str:
        """The name by which content refers to a layer, made when it is first drawn into."""
        from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFName, PDFString

        key = self._known.setdefault((layer, heading), f"layer{len(self._known) + 1}")
        if key not in self._groups:
            group = PDFDictionary({"Type": PDFName("OCG"), "Name": PDFString(layer)})
            self._groups[key] = self._named.dict[key] = self._canvas._doc.Reference(group, key)
        return key
