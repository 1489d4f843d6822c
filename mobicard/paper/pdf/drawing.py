"""Draws a tagged PDF directly: carried fonts, marked content, its structure tree; no layout engine.

For pages whose every place is known beforehand, which is a hundred times faster than laying them out.
Source of the structures: ISO 32000-1:2008, 9.7 (composite fonts), 14.6 to 14.8 (marked content, tags).
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import cache
from typing import Any
from xml.sax.saxutils import escape

from mobicard.paper import templates, text_fit

MM = 72 / 25.4
_XMP = """<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/"><pdfuaid:part>1</pdfuaid:part></rdf:Description>
<rdf:Description rdf:about="" xmlns:pdf="http://ns.adobe.com/pdf/1.3/" pdf:Producer="mobicard"/>
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/">
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title></rdf:Description>
</rdf:RDF></x:xmpmeta>
<?xpacket end="r"?>"""


@cache
def faces() -> Mapping[str, Mapping[str, Any]]:
    """Metrics (thousandths of an em) and glyph numbers of the carried fonts; tests hold them to the fonts."""
    data: dict[str, dict[str, Any]] = json.loads(
        (templates.folder() / "fonts" / "glyphs.json").read_text(encoding="utf-8")
    )
    return data


def can_write(text: str, face: str) -> bool:
    """Whether the carried font has every letter of the text."""
    return not set(text).difference(faces()[face]["glyphs"])


def baseline(size: float, line: float, face: str) -> float:
    """How far below a line's top its baseline stands, as CSS places it: half the leading above the ascent."""
    metrics = faces()[face]
    ascent, descent = float(metrics["ascent"]) * size / 1000, -float(metrics["descent"]) * size / 1000
    return (line - ascent - descent) / 2 + ascent


class Drawing:
    """A tagged PDF growing page by page; places in mm from the page's top left corner."""

    def __init__(self, title: str) -> None:
        import pydyf  # type: ignore[import-untyped]

        self._pydyf = pydyf
        self.pdf = pydyf.PDF()
        self._used: dict[str, set[str]] = {}
        self._tree = self._added({"Nums": pydyf.Array()})
        self._root = self._added({"Type": "/StructTreeRoot", "ParentTree": self._tree.reference})
        self.body = self._added({"Type": "/StructElem", "S": "/Document", "K": pydyf.Array()})
        self.body["P"] = self._root.reference
        self._root["K"] = pydyf.Array([self.body.reference])
        self._fonts = self._added({})
        self._resources = self._added({"Font": self._fonts.reference})
        self._describe(title)

    def _added(self, values: Mapping[str, Any]) -> Any:
        item = self._pydyf.Dictionary(values)
        self.pdf.add_object(item)
        return item

    def _describe(self, title: str) -> None:
        pydyf, catalog = self._pydyf, self.pdf.catalog
        metadata = pydyf.Stream(
            [_XMP.format(title=escape(title)).encode()],
            {"Type": "/Metadata", "Subtype": "/XML"},
            compress=False,
        )
        self.pdf.add_object(metadata)
        catalog["StructTreeRoot"] = self._root.reference
        catalog["ViewerPreferences"] = pydyf.Dictionary({"DisplayDocTitle": "true"})
        catalog["MarkInfo"] = pydyf.Dictionary({"Marked": "true"})
        catalog["Lang"] = pydyf.String("en")
        catalog["Metadata"] = metadata.reference
        self.pdf.info["Title"] = pydyf.String(title)
        self.pdf.info["Producer"] = pydyf.String("mobicard")

    def page(self, width: float, height: float) -> Leaf:
        """A new page of this size, mm."""
        return Leaf(self, width, height)

    def element(self, tag: str, parent: Any, alt: str | None = None) -> Any:
        """A structure element under its parent, in reading order; ``alt`` is what a picture says."""
        element = self._added(
            {"Type": "/StructElem", "S": f"/{tag}", "P": parent.reference, "K": self._pydyf.Array()}
        )
        if alt is not None:
            element["Alt"] = self._pydyf.String(alt)
        parent["K"].append(element.reference)
        return element

    def string(self, text: str) -> Any:
        """A text as a PDF value."""
        return self._pydyf.String(text)

    def attributes(self, owner: str, **values: str) -> Any:
        """What an element has besides its place in the tree, such as the scope of a header cell."""
        return self._pydyf.Dictionary({"O": owner, **values})

    def finish(self) -> Any:
        """The PDF's objects, its fonts added. To be written, or joined with other parts."""
        for face, letters in sorted(self._used.items()):
            self._fonts[_name(face)] = self._font(face, sorted(letters))
        return self.pdf

    def used(self, face: str, text: str) -> None:
        """Note the letters written, whose widths the file must tell."""
        self._used.setdefault(face, set()).update(text)

    def place_page(self, page: Any, content: bytes, owners: list[bytes]) -> None:
        """Add a finished page with its content and the owners of its marked content."""
        pydyf = self._pydyf
        stream = pydyf.Stream([content], compress=True)
        self.pdf.add_object(stream)
        page.update(
            Type="/Page", Parent=self.pdf.pages.reference, Contents=stream.reference,
            Resources=self._resources.reference, Tabs="/S", StructParents=len(self._tree["Nums"]) // 2,
        )  # fmt: skip
        self._tree["Nums"].extend([page["StructParents"], pydyf.Array(owners)])

    def _font(self, face: str, letters: list[str]) -> bytes:
        """A composite font with the whole carried file, so every part and every file holds the same one."""
        pydyf, metrics = self._pydyf, faces()[face]
        data, length = _font_file(face)
        file = pydyf.Stream([data], {"Filter": "/FlateDecode", "Length1": length})
        self.pdf.add_object(file)
        descriptor = self._added(
            {
                "Type": "/FontDescriptor", "FontName": f"/{face}", "Flags": 4, "ItalicAngle": 0, "StemV": 120,
                "FontBBox": pydyf.Array(metrics["bbox"]), "Ascent": metrics["ascent"],
                "Descent": metrics["descent"], "CapHeight": metrics["cap"], "FontFile2": file.reference,
            }
        )  # fmt: skip
        pairs = sorted({(metrics["glyphs"][letter], letter) for letter in letters})
        widths = [part for glyph, letter in pairs for part in (glyph, f"[{_width(face, letter)}]")]
        system = pydyf.Dictionary({"Registry": "(Adobe)", "Ordering": "(Identity)", "Supplement": 0})
        descendant = self._added(
            {
                "Type": "/Font", "Subtype": "/CIDFontType2", "BaseFont": f"/{face}", "CIDSystemInfo": system,
                "FontDescriptor": descriptor.reference, "CIDToGIDMap": "/Identity", "W": pydyf.Array(widths),
            }
        )  # fmt: skip
        meaning = pydyf.Stream([_to_unicode(pairs)], compress=True)
        self.pdf.add_object(meaning)
        font: bytes = self._added(
            {
                "Type": "/Font", "Subtype": "/Type0", "BaseFont": f"/{face}", "Encoding": "/Identity-H",
                "DescendantFonts": pydyf.Array([descendant.reference]), "ToUnicode": meaning.reference,
            }
        ).reference  # fmt: skip
        return font


class Leaf:
    """One page being drawn."""

    def __init__(self, drawing: Drawing, width: float, height: float) -> None:
        self.drawing, self.height = drawing, height
        self._page = drawing._pydyf.Dictionary(
            {"MediaBox": drawing._pydyf.Array([0, 0, width * MM, height * MM])}
        )
        drawing.pdf.add_page(self._page)
        self._written: list[str] = [f"{MM:.5f} 0 0 {-MM:.5f} 0 {height * MM:.3f} cm"]
        self._owners: list[bytes] = []

    @contextmanager
    def marked(self, element: Any) -> Iterator[None]:
        """What is drawn inside belongs to this structure element."""
        element["Pg"] = self._page.reference
        element["K"].append(len(self._owners))
        self._written.append(f"{element['S']} <</MCID {len(self._owners)}>> BDC")
        self._owners.append(element.reference)
        yield
        self._written.append("EMC")

    @contextmanager
    def artifact(self) -> Iterator[None]:
        """What is drawn inside is there for the eye only, like a cut mark."""
        self._written.append("/Artifact BMC")
        yield
        self._written.append("EMC")

    def bounds(self, element: Any, box: tuple[float, float, float, float]) -> None:
        """Where a picture lies, for readers that need its place."""
        pydyf, (left, top, width, height) = self.drawing._pydyf, box
        corners = [
            left * MM,
            (self.height - top - height) * MM,
            (left + width) * MM,
            (self.height - top) * MM,
        ]
        element["A"] = pydyf.Dictionary({"O": "/Layout", "Placement": "/Block", "BBox": pydyf.Array(corners)})

    def draw(self, operators: str) -> None:
        """Path and paint operators, in mm, y down."""
        self._written.append(operators)

    def text(
        self, text: str, at: tuple[float, float], size: float, face: str, colour: str = "#000000"
    ) -> None:
        """One line of text with its baseline at this place, mm."""
        self.drawing.used(face, text)
        codes = text.translate(_codes(face))
        matrix = f"{size:.4f} 0 0 {-size:.4f} {at[0]:.3f} {at[1]:.3f} Tm"
        self._written.append(f"{rgb(colour)} rg BT /{_name(face)} 1 Tf {matrix} <{codes}> Tj ET")

    def finish(self) -> None:
        """Close the page."""
        self.drawing.place_page(self._page, "\n".join(self._written).encode("ascii"), self._owners)


@cache
def _codes(face: str) -> dict[int, str]:
    """Each letter's glyph, as a PDF string has it."""
    return {ord(letter): f"{glyph:04X}" for letter, glyph in faces()[face]["glyphs"].items()}


@cache
def rgb(colour: str) -> str:
    """``#RRGGBB`` as three PDF numbers."""
    return " ".join(f"{int(colour[at : at + 2], 16) / 255:.4f}" for at in (1, 3, 5))


@cache
def _font_file(face: str) -> tuple[bytes, int]:
    """The carried font, compressed, and its length before."""
    data = (templates.folder() / "fonts" / f"{face}.ttf").read_bytes()
    return zlib.compress(data, 6), len(data)


def _name(face: str) -> str:
    return {text_fit.REGULAR: "R", text_fit.BOLD: "B", text_fit.WORD: "W"}[face]


def _width(face: str, letter: str) -> int:
    return round(text_fit.width_mm(letter, 1000.0, face))


def _to_unicode(pairs: list[tuple[int, str]]) -> bytes:
    """The map from glyphs back to letters, so text can be read aloud and searched. ISO 32000-1, 9.10.3."""
    lines = [f"<{glyph:04X}> <{letter.encode('utf-16-be').hex().upper()}>" for glyph, letter in pairs]
    blocks = [lines[at : at + 100] for at in range(0, len(lines), 100)]
    body = "\n".join(f"{len(block)} beginbfchar\n" + "\n".join(block) + "\nendbfchar" for block in blocks)
    return (
        "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n"
        "/CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def\n"
        "/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n"
        f"1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n{body}\n"
        "endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend"
    ).encode("ascii")
