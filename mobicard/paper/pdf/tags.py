"""Completes a page's tags: running heads are no content, row headers head rows, other languages are named.

Source: PDF/UA-1 (ISO 14289-1:2014), 7.1 (content is tagged or an artifact), 7.2 (language) and 7.5 (header
cells); ISO 32000-1:2008, 14.6 (marked content) and 14.8.2.2 (artifacts).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any


def tidy(pdf: Any, document: Any) -> None:
    """Complete the structure of ``pdf``, whose pages ``document`` laid out.

    Heads and feet of pages become artifacts, header cells of table bodies get the row scope, and block quotes
    the language their page names for them.
    """
    objects: list[Any] = pdf.objects
    named = {item.reference: item for item in objects if hasattr(item, "items")}
    tags: list[Any] = [item for item in named.values() if item.get("Type") == "/StructElem"]
    _row_scopes(tags, named)
    _languages(tags, document)
    reached = _reached(pdf, named)
    for item in tags:
        if item.reference not in reached:
            _as_artifact(pdf, item)


def _row_scopes(tags: Iterable[Any], named: Mapping[bytes, Any]) -> None:
    import pydyf  # type: ignore[import-untyped]

    for cell in tags:
        if cell["S"] == "/TH" and named[named[cell["P"]]["P"]]["S"] == "/TBody":
            cell.setdefault("A", pydyf.Dictionary({"O": "/Table"}))["Scope"] = "/Row"


def _languages(tags: Iterable[Any], document: Any) -> None:
    """Text in the patient's own language is a block quote; both lists come in reading order."""
    import pydyf

    quotes = [item for item in tags if item["S"] == "/BlockQuote"]
    if not quotes:
        return
    from weasyprint.formatting_structure.boxes import BlockBox

    boxes = (box for page in document.pages for box in page._page_box.descendants())
    blocks = (box for box in boxes if box.element_tag == "blockquote" and isinstance(box, BlockBox))
    named = [block.element.get("lang") for block in blocks]
    for item, language in zip(quotes, named, strict=True):
        if language:
            item["Lang"] = pydyf.String(language)


def _reached(pdf: Any, named: Mapping[bytes, Any]) -> set[bytes]:
    """Everything a reader comes to from the root of the structure."""
    waiting = [pdf.catalog["StructTreeRoot"]]
    seen: set[bytes] = set()
    while waiting:
        reference = waiting.pop()
        if reference not in seen:
            seen.add(reference)
            waiting.extend(
                kid for kid in named[reference].get("K", ()) if isinstance(kid, bytes) and kid in named
            )
    return seen


def _as_artifact(pdf: Any, item: Any) -> None:
    """Turn the marked content of an element nobody comes to into an artifact, and forget the element."""
    page = next((obj for obj in pdf.objects if obj.reference == item.get("Pg")), None)
    numbers = [kid for kid in item.get("K", ()) if isinstance(kid, int)]
    if page is not None and numbers:
        tree = pdf.objects[_number(pdf.objects[_number(pdf.catalog["StructTreeRoot"])]["ParentTree"])]
        nums = tree["Nums"]
        owners = nums[nums.index(page["StructParents"]) + 1]
        stream = pdf.objects[_number(page["Contents"])].stream
        for number in numbers:
            _unmark(stream, number)
            owners[number] = "null"
    item.clear()


def _unmark(stream: list[Any], number: int) -> None:
    for at, part in enumerate(stream):
        if isinstance(part, dict) and part.get("MCID") == number:
            stream[at - 1 : at + 2] = ["/Artifact", b"BMC"]
            return


def _number(reference: bytes) -> int:
    return int(reference.split()[0])
