"""A PDF of pages at true size begun and closed: its facts, its layers, its wish not to be scaled."""

from __future__ import annotations

import io
from typing import Any
from xml.sax.saxutils import escape

from app.files.layers import Layers
from app.files.paper_pen import MM, Brush, register_fonts
from app.fonts import PLAIN

PROGRAM = "Tuck & True"
#: The version of PDF that has layers (ISO 32000-1, 8.11).
LAYERS_SINCE = (1, 5)
_FACTS = """<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
 <rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
  <rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:pdf="http://ns.adobe.com/pdf/1.3/"
    xmlns:xmp="http://ns.adobe.com/xap/1.0/">
   <dc:format>application/pdf</dc:format>
   <dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>
   <dc:creator><rdf:Seq><rdf:li>{program}</rdf:li></rdf:Seq></dc:creator>
   <dc:description><rdf:Alt><rdf:li xml:lang="x-default">{subject}</rdf:li></rdf:Alt></dc:description>
   <dc:language><rdf:Bag><rdf:li>en-GB</rdf:li></rdf:Bag></dc:language>
   <pdf:Keywords>{keywords}</pdf:Keywords>
   <xmp:CreatorTool>{program}</xmp:CreatorTool>
  </rdf:Description>
 </rdf:RDF>
</x:xmpmeta>
<?xpacket end="r"?>"""


class PdfFile:
    """One file being written; ``brush`` draws on the page at hand. The same calls give the same bytes."""

    def __init__(
        self, title: str, subject: str, keywords: str = "", page_mm: tuple[float, float] | None = None
    ) -> None:
        from reportlab.pdfgen.canvas import Canvas

        self._stream = io.BytesIO()
        size = {"pagesize": (page_mm[0] * MM, page_mm[1] * MM)} if page_mm else {}
        register_fonts()
        self.canvas = Canvas(
            self._stream, invariant=1, pageCompression=1, pdfVersion=LAYERS_SINCE, initialFontName=PLAIN, **size
        )
        self.layers = Layers(self.canvas)
        self.brush = Brush(self.canvas, self.layers)
        self._say_facts(title or "Pattern pieces", subject, keywords)

    def end_page(self, name: str = "") -> None:
        """The page is done; viewers show ``name`` for it."""
        self.canvas.addPageLabel(self.canvas.getPageNumber() - 1, prefix=name)
        self.canvas.showPage()

    def form(self, name: str, box: tuple[float, float, float, float]) -> None:
        """What is drawn until ``end_form`` is kept once, to be shown by pages; ``box`` in mm holds it."""
        self.canvas.beginForm(name, *(side * MM for side in box))

    def end_form(self) -> None:
        self.canvas.endForm(Resources=self.layers.resources())

    def closed(self) -> bytes:
        """The bytes of the file, when every page is done."""
        self.layers.finish()
        self.canvas.save()
        return self._stream.getvalue()

    def _say_facts(self, title: str, subject: str, keywords: str) -> None:
        from reportlab.pdfbase.pdfdoc import PDFName, PDFStream, PDFString

        canvas: Any = self.canvas
        canvas.setTitle(title)
        canvas.setAuthor(PROGRAM)
        canvas.setCreator(PROGRAM)
        canvas.setSubject(subject)
        canvas.setKeywords(keywords)
        canvas.setViewerPreference("PrintScaling", "None")
        canvas.setViewerPreference("DisplayDocTitle", "true")
        canvas.setCatalogEntry("Lang", PDFString("en-GB"))
        said = {"title": title, "subject": subject, "keywords": keywords, "program": PROGRAM}
        facts = _FACTS.format(**{name: escape(_plain(words)) for name, words in said.items()})
        stream = PDFStream(content=facts.encode())
        stream.dictionary["Type"], stream.dictionary["Subtype"] = PDFName("Metadata"), PDFName("XML")
        canvas.setCatalogEntry("Metadata", stream)


def _plain(words: str) -> str:
    """Without the control characters that XML does not allow."""
    return "".join(sign for sign in words if sign >= " " or sign in "\t\n")
