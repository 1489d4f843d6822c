"""Joins PDFs made in batches into one, keeping the tags: pages, structure tree and parent tree renumbered.

Merging tools keep the pages and drop the structure, which a screen reader needs. Source of the structures:
ISO 32000-1:2008, 14.7 (logical structure) and 14.7.4.4 (parent tree).
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any

from mobicard.paper.pdf.tags import tidy

_REFERENCE = re.compile(rb"\((?:\\.|[^\\()])*\)|<[0-9A-Fa-f]*>|(?<![\d.])(\d+) 0 R\b")
_PAGE_KEY = re.compile(rb"/StructParents (\d+)")
_ANNOTATION_KEY = re.compile(rb"/StructParent (\d+)")
_HEADER_ID = re.compile(rb"\((\d+-\d+-\d+)\)")
_BETWEEN = b"\n\xff\xfe\xff\n"
PAGES, CATALOG = 1, 2
PACK = 200
LATER = 1_000_000  # annotations are numbered after every page, however many come


PartObject = tuple[int, bytes, bytes | None]
"""Its number, its head, and its body where it is a stream."""


@dataclass(frozen=True, slots=True)
class Part:
    """One batch as finished PDF objects, and what joining needs to know of them."""

    objects: tuple[PartObject, ...]
    pages: tuple[int, ...]
    structure: int
    kids: tuple[bytes, ...]
    page_tags: tuple[bytes, ...]
    annotation_tags: tuple[bytes, ...]
    catalog: tuple[tuple[str, bytes], ...]
    info: bytes


def alone(document: Any, variant: str) -> bytes:
    """The laid-out document as a PDF of its own, its tags completed."""
    data: bytes = document.write_pdf(pdf_variant=variant, finisher=lambda laid, pdf: complete_tags(pdf, laid))
    return data


def part_of(document: Any, variant: str) -> Part:
    """The laid-out document as a Part to be joined with others, its tags completed."""
    kept: list[Part] = []

    def finish(laid: Any, pdf: Any) -> None:
        complete_tags(pdf, laid)
        kept.append(taken(pdf))
        pdf.objects.clear()
        pdf.write = lambda *_: None

    document.write_pdf(pdf_variant=variant, finisher=finish)
    return kept[0]


def joined(parts: Iterable[Part]) -> bytes:
    """All parts, in order, as one tagged PDF."""
    growing = Joined()
    for part in parts:
        growing.add(part)
    return growing.write()


class Joined:
    """A PDF growing part by part."""

    def __init__(self) -> None:
        import pydyf  # type: ignore[import-untyped]

        self.pydyf = pydyf
        self.pdf = pydyf.PDF()
        self.tree = pydyf.Dictionary({"Nums": pydyf.Array()})
        self.root = pydyf.Dictionary({"Type": "/StructTreeRoot"})
        self.body = pydyf.Dictionary({"Type": "/StructElem", "S": "/Document", "K": pydyf.Array()})
        for added in (self.tree, self.root, self.body):
            self.pdf.add_object(added)
        self.root.update(ParentTree=self.tree.reference, K=pydyf.Array([self.body.reference]))
        self.body["P"] = self.root.reference
        self.pdf.catalog["StructTreeRoot"] = self.root.reference
        self.pages = 0
        self.annotations: list[bytes] = []
        self.info = b""
        self.parts = 0
        self.streams: dict[tuple[bytes, bytes], int] = {}

    def add(self, part: Part) -> None:
        """Append one part's objects under new numbers."""
        new, places = self._numbered(part)
        page_numbers = set(part.pages)
        self.parts += 1
        heads = _renumbered([head for _, head, _ in new], places)
        for (number, _, body), head in zip(new, heads, strict=True):
            raw = _raw(self.pydyf, self._owned(head, len(part.pages)), body)
            self.pdf.add_object(raw)
            if number in page_numbers:
                self.pdf.pages["Kids"].extend([raw.number, 0, "R"])
        nums = _renumbered([*part.page_tags, *part.kids, *part.annotation_tags], places)
        count = len(part.pages)
        for page, tags in enumerate(nums[:count], start=self.pages):
            self.tree["Nums"].extend([page, tags])
        self.body["K"].extend(nums[count : count + len(part.kids)])
        self.annotations.extend(nums[count + len(part.kids) :])
        self.pages += count
        self.pdf.pages["Count"] = self.pages
        if not self.info:
            self.info = part.info
            values = _renumbered([value for _, value in part.catalog], places)
            self.pdf.catalog.update(zip((key for key, _ in part.catalog), values, strict=True))

    def _numbered(self, part: Part) -> tuple[list[PartObject], dict[int, int]]:
        """The objects to add and every object's new number; a stream already there (a font) is shared."""
        places = {PAGES: PAGES, CATALOG: CATALOG, part.structure: self.body.number}
        new: list[PartObject] = []
        for item in part.objects:
            number, head, body = item
            at = len(self.pdf.objects) + len(new)
            if body is not None and b" 0 R" not in head:
                at = self.streams.setdefault((head, body), at)
            places[number] = at
            if at == len(self.pdf.objects) + len(new):
                new.append(item)
        return new, places

    def _owned(self, head: bytes, pages: int) -> bytes:
        """The head with its keys into the parent tree moved to where its part comes, ids its own."""
        if b"/TH" in head or b"/Headers" in head:
            return _HEADER_ID.sub(lambda key: b"(%d-%s)" % (self.parts, key[1]), head)
        if b"/StructParent" not in head:
            return head
        head = _PAGE_KEY.sub(lambda key: b"/StructParents %d" % (int(key[1]) + self.pages), head)
        taken = len(self.annotations) - pages
        return _ANNOTATION_KEY.sub(lambda key: b"/StructParent %d" % (LATER + int(key[1]) + taken), head)

    def write(self) -> bytes:
        """The finished file."""
        for at, element in enumerate(self.annotations, start=LATER):
            self.tree["Nums"].extend([at, element])
        info = _raw(self.pydyf, self.info, None)
        self.pdf.add_object(info)
        return written(self.pdf.objects, self.pdf.catalog.reference, info.reference)


def written(objects: list[Any], root: bytes, info: bytes) -> bytes:
    """The objects as a PDF file, small ones in packs: one large pack would cost ever more to compress.

    Source: ISO 32000-1:2008, 7.5.7 (object streams) and 7.5.8 (cross-reference streams).
    """
    out = bytearray(b"%PDF-1.7\n%\xf0\x9f\x96\xa4\n")
    entries = {0: (0, 0, 65535)}
    packed = [item for item in objects[1:] if item.compressible]
    for item in objects[1:]:
        if not item.compressible:
            entries[item.number] = (1, len(out), 0)
            out += item.indirect + b"\n"
    count = len(objects)
    for start in range(0, len(packed), PACK):
        pack = packed[start : start + PACK]
        entries |= {item.number: (2, count, place) for place, item in enumerate(pack)}
        entries[count] = (1, len(out), 0)
        out += _pack(count, [(item.number, item.data) for item in pack])
        count += 1
    entries[count] = (1, len(out), 0)
    rows = b"".join(bytes([kind]) + at.to_bytes(4, "big") + place.to_bytes(2, "big")
                    for _, (kind, at, place) in sorted(entries.items()))  # fmt: skip
    head = b"/Type /XRef/W [1 4 2]/Size %d/Root %s/Info %s" % (count + 1, root, info)
    start_of_table = len(out)
    out += _stream(count, head, rows) + b"startxref\n%d\n%%%%EOF\n" % start_of_table
    return bytes(out)


def _pack(number: int, items: list[tuple[int, bytes]]) -> bytes:
    places, at = [], 0
    for owner, data in items:
        places.append(b"%d %d" % (owner, at))
        at += len(data) + 1
    index = b" ".join(places) + b"\n"
    head = b"/Type /ObjStm/N %d/First %d" % (len(items), len(index))
    return _stream(number, head, index + b"\n".join(data for _, data in items))


def _stream(number: int, head: bytes, body: bytes) -> bytes:
    data = zlib.compress(body, 6)
    return b"%d 0 obj\n<<%s/Filter /FlateDecode/Length %d>>\nstream\n%s\nendstream\nendobj\n" % (
        number, head, len(data), data
    )  # fmt: skip


def _renumbered(heads: list[bytes], places: dict[int, int]) -> list[bytes]:
    def place(match: re.Match[bytes]) -> bytes:
        return b"%d 0 R" % places[int(match[1])] if match[1] else match[0]

    return _REFERENCE.sub(place, _BETWEEN.join(heads)).split(_BETWEEN) if heads else []


@cache
def _raw_class(pydyf: Any) -> Any:
    class Raw(pydyf.Object):  # type: ignore[misc]
        """An object that is written as it stands."""

        def __init__(self, head: bytes, body: bytes | None) -> None:
            super().__init__()
            self.head, self.body = head, body

        @property
        def data(self) -> bytes:
            return self.head if self.body is None else self.head + self.body

        @property
        def compressible(self) -> bool:
            return self.body is None

    return Raw


def _raw(pydyf: Any, head: bytes, body: bytes | None) -> Any:
    return _raw_class(pydyf)(head, body)


def taken(pdf: Any) -> Part:
    """A finished PDF's objects as a Part."""
    import pydyf

    by_reference = {item.reference: item for item in pdf.objects}
    root = by_reference[pdf.catalog["StructTreeRoot"]]
    tree = by_reference[root["ParentTree"]]
    body = by_reference[root["K"][0]]
    pages = tuple(pdf.pages["Kids"][::3])
    left_out = {0, PAGES, CATALOG, root.number, tree.number, body.number}
    objects = []
    for item in pdf.objects:
        if item.number in left_out:
            continue
        head, body_bytes = _split(item) if isinstance(item, pydyf.Stream) else (item.data, None)
        objects.append((item.number, head, body_bytes))
    values = tree["Nums"][1::2]
    catalog = ("ViewerPreferences", "MarkInfo", "Lang", "Metadata")
    return Part(
        objects=tuple(objects),
        pages=pages,
        structure=body.number,
        kids=tuple(body["K"]),
        page_tags=tuple(value.data for value in values[: len(pages)]),
        annotation_tags=tuple(values[len(pages) :]),
        catalog=tuple((key, _bytes(pdf.catalog[key])) for key in catalog if key in pdf.catalog),
        info=pdf.info.data,
    )


def _bytes(value: Any) -> bytes:
    data = value if isinstance(value, bytes) else getattr(value, "data", None)
    return data if isinstance(data, bytes) else str(value).encode("ascii")


def _split(stream: Any) -> tuple[bytes, bytes]:
    data: bytes = stream.data
    at = data.index(b"\nstream\n")
    return data[:at], data[at:]


def complete_tags(pdf: Any, document: Any) -> None:
    """Give header cells their scope, and let headings begin at the first level (PDF/UA-1, 7.4.2 and 7.5)."""
    import pydyf

    tidy(pdf, document)
    elements = [item for item in pdf.objects if isinstance(item, dict) and item.get("Type") == "/StructElem"]
    headings = [item for item in elements if re.fullmatch("/H[1-6]", str(item["S"]))]
    shift = min((int(item["S"][2]) for item in headings), default=1) - 1
    for item in headings:
        item["S"] = f"/H{int(item['S'][2]) - shift}"
    for item in elements:
        if item["S"] == "/TH":
            item.setdefault("A", pydyf.Dictionary({"O": "/Table"})).setdefault("Scope", "/Column")
