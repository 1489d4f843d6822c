"""Can everybody use the pages: axe-core in a real browser, an HTML checker, and the tags inside the PDFs."""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from mobicard import scheme
from mobicard.derive.over_time.handoff import build_handoff
from mobicard.facts.words import Level
from mobicard.paper.bedside.card import bedside_html
from mobicard.paper.brief.page import brief_html
from mobicard.paper.door.card import door_html
from mobicard.paper.door.slip import SlipLine, slip_html
from mobicard.paper.handoff.page import handoff_html
from mobicard.paper.pdf import write_pdf
from mobicard.paper.sheet_sizes import Sheet
from tests.derive.brief.patients_known import brief as brief_of_a_move
from tests.paper.beds import NOW, POLICY, bed_card, emptiest, expired, longest, seven_levels
from tests.paper.browser import axe_findings, browser_dom, browser_print, html_errors
from tests.paper.extremes import fullest, rich
from tests.paper.test_handoff import unit

HOUSE = scheme.load()


def door(ink: str = "colour") -> str:
    cards = [*seven_levels(), emptiest(), expired(), longest()]
    return door_html(cards, Sheet.named("a5", up=2, paper="a4", ink=ink), HOUSE, POLICY, NOW)


def bedside() -> str:
    arabic = bed_card(rich(communication={"language": "ar"}))
    cards = [*seven_levels(), bed_card(rich()), arabic, emptiest(), expired(), bed_card(fullest())]
    return bedside_html(cards, HOUSE, NOW)


def handoff() -> str:
    return handoff_html(build_handoff(unit(), NOW, POLICY), HOUSE, NOW)


def slip() -> str:
    lines = [SlipLine("4W-12A", "7Q4MKD", "K3P9AX", Level.TEAM), SlipLine("4W-13", None, "K3P9AY")]
    return slip_html(lines, HOUSE, NOW)


def brief() -> str:
    return brief_html(brief_of_a_move("chair", weight_bearing={"left_leg": "TTWB"}), HOUSE, NOW)


PAGES = {"door": door, "bedside": bedside, "handoff": handoff, "slip": slip, "brief": brief}


# HTML


@pytest.mark.parametrize("name", list(PAGES))
def test_axe_finds_no_violation_in_a_real_browser(name: str, tmp_path: Path) -> None:
    found = axe_findings(PAGES[name](), tmp_path)
    assert found["violations"] == []
    assert found["passes"] >= 10, "axe really ran its rules"


def test_axe_does_find_what_is_wrong(tmp_path: Path) -> None:
    """The measure itself: a page without a language and an image without words is caught."""
    body = "<main><img src='data:,'></main>"
    page = f"<!doctype html><html><head><title>x</title></head><body>{body}</body></html>"
    found = {violation["id"] for violation in axe_findings(page, tmp_path)["violations"]}
    assert {"html-has-lang", "image-alt"} <= found


def test_the_html_checker_finds_no_error(tmp_path: Path) -> None:
    assert html_errors({name: make() for name, make in PAGES.items()}, tmp_path) == []


def test_the_html_checker_does_find_what_is_wrong(tmp_path: Path) -> None:
    assert html_errors({"bad": "<!doctype html><html lang=en><title>x</title><p><div></p>"}, tmp_path)


# PDF. Source: PDF/UA-1 (ISO 14289-1:2014), clauses named in each test.


@pytest.fixture(scope="module", params=list(PAGES))
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[pikepdf.Pdf]:
    path = tmp_path_factory.mktemp("access") / f"{request.param}.pdf"
    write_pdf(PAGES[request.param](), path)
    with pikepdf.open(path) as pdf:
        yield pdf


def elements(pdf: pikepdf.Pdf) -> list[Any]:
    """Every structure element in reading order."""
    found: list[Any] = []
    waiting = [pdf.Root.StructTreeRoot.K]
    while waiting:
        item = waiting.pop()
        if isinstance(item, pikepdf.Array):
            waiting.extend(reversed(list(item)))
        elif isinstance(item, pikepdf.Dictionary) and "/S" in item:
            found.append(item)
            if "/K" in item:
                waiting.append(item.K)
    return found


def kind(element: Any) -> str:
    return str(element.S)


def test_it_says_its_language_its_title_and_that_it_is_tagged(made: pikepdf.Pdf) -> None:
    """7.1 and 7.2: marked, language, the title shown in the window."""
    assert made.Root.MarkInfo.Marked is True
    assert str(made.Root.Lang) == "en"
    assert made.Root.ViewerPreferences.DisplayDocTitle is True
    with made.open_metadata() as metadata:
        assert metadata["pdfuaid:part"] == "1"
        assert metadata["dc:title"]


def test_every_picture_has_its_words(made: pikepdf.Pdf) -> None:
    """7.3: each figure has an alternative text."""
    figures = [item for item in elements(made) if kind(item) == "/Figure"]
    assert all(str(item.get("/Alt", "")).strip() for item in figures)


def test_headings_start_at_the_first_level_and_skip_none(made: pikepdf.Pdf) -> None:
    """7.4.2: numbered headings, no level left out."""
    levels = [int(kind(item)[2]) for item in elements(made) if kind(item) in ("/H1", "/H2", "/H3", "/H4")]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_table_heads_have_their_scope(made: pikepdf.Pdf) -> None:
    """7.5: columns head columns, the first cell of a row heads the row."""
    for row in (item for item in elements(made) if kind(item) == "/TR"):
        scope = "/Column" if kind(row.P) == "/THead" else "/Row"
        cells = [cell for cell in row.K if kind(cell) == "/TH"]
        assert all(_attribute(cell, "/Scope") == scope for cell in cells)


def _attribute(element: Any, name: str) -> str:
    given = element.get("/A", {})
    for one in given if isinstance(given, pikepdf.Array) else [given]:
        if name in one:
            return str(one[name])
    return ""


def test_all_text_is_reached_from_the_structure_or_is_an_artifact(made: pikepdf.Pdf) -> None:
    """7.1: real content is tagged, everything else is an artifact; running heads are none of the content."""
    reached: dict[Any, set[int]] = {}
    for item in elements(made):
        kids = item.get("/K", [])
        numbers = (
            {int(kid) for kid in kids if isinstance(kid, int)} if isinstance(kids, pikepdf.Array) else set()
        )
        if numbers:
            reached.setdefault(item.Pg.objgen, set()).update(numbers)
    for page in made.pages:
        assert _marked(page) == reached.get(page.objgen, set())


def _marked(page: pikepdf.Page) -> set[int]:
    """The marked content of a page; no letter may be painted outside a mark."""
    depth, found = 0, set()
    for operands, operator in pikepdf.parse_content_stream(page):
        name = str(operator)
        if name in ("BDC", "BMC"):
            depth += 1
            if name == "BDC" and "/MCID" in operands[1]:
                found.add(int(operands[1].MCID))
        elif name == "EMC":
            depth -= 1
        elif name in ("Tj", "TJ"):
            assert depth > 0, "text outside any mark"
    return found


def test_an_outside_checker_finds_nothing(made: pikepdf.Pdf, tmp_path: Path) -> None:
    """A published subset of the PDF/UA-1 machine checks (PyPI: pdfua); it is no full validator."""
    pdfua = pytest.importorskip("pdfua", reason="pdfua is missing: pip install pdfua")
    path = tmp_path / "made.pdf"
    made.save(path)
    report = pdfua.validate(path)
    assert [str(finding) for finding in report.findings] == []


# Reading order


def words(pdf: pikepdf.Pdf) -> str:
    """The figures' words and headings in the order the structure gives them."""
    return " | ".join(f"{kind(item)[1:]} {item.get('/Alt', '')}".strip() for item in elements(pdf))


def test_a_bedside_card_is_read_from_the_bed_to_the_level_to_the_moves_to_the_body(tmp_path: Path) -> None:
    path = tmp_path / "card.pdf"
    write_pdf(bedside_html([bed_card(rich())], HOUSE, NOW), path)
    with pikepdf.open(path) as pdf:
        told = words(pdf)
    order = ["H1", "QR of code", "TEAM mark", "Table", "Body seen from the front", "H2"]
    places = [told.index(step) for step in order]
    assert places == sorted(places)


NARROW = """<!doctype html><html lang="en"><title>x</title>
<iframe id="f" width="360" height="800" scrolling="no"></iframe>
<script>
onload = () => { const f = document.getElementById("f"); f.srcdoc = PAGE; f.onload = () => {
  const d = f.contentDocument, box = e => e.getBoundingClientRect();
  const wide = [...d.querySelectorAll("main *")].filter(e => box(e).right > 361).length;
  const lost = [...d.querySelectorAll(".figure .body")].filter(e => {
    const own = box(e), around = box(e.closest(".figure"));
    return own.top < around.top || own.bottom > around.bottom + 1; }).length;
  document.title = `wide ${d.documentElement.scrollWidth} ${wide} lost ${lost}`; }; };</script></html>"""
"""The page in a frame as wide as a small phone: what stands out of it, which body left its box."""


def test_a_bedside_card_on_a_phone_keeps_its_figure_and_its_width(tmp_path: Path) -> None:
    """The body stood over the page's title."""
    page = json.dumps(bedside_html([bed_card(rich())], HOUSE, NOW)).replace("</", "<\\/")
    told = browser_dom(NARROW.replace("PAGE", page), tmp_path)
    assert "<title>wide 360 0 lost 0</title>" in told


def test_each_patient_s_line_is_in_its_own_language(tmp_path: Path) -> None:
    """7.2: text in another language than the document's says which."""
    spoken = ("ar", "es", "en", "fr")
    cards = [bed_card(rich(f"4W-{name}", communication={"language": name})) for name in spoken]
    path = tmp_path / "cards.pdf"
    write_pdf(bedside_html(cards, HOUSE, NOW), path)
    with pikepdf.open(path) as pdf:
        quotes = [item for item in elements(pdf) if kind(item) == "/BlockQuote"]
        assert [str(item.Lang) for item in quotes] == list(spoken)


def test_a_browser_prints_as_many_pages_as_the_pdf_has(tmp_path: Path) -> None:
    """The HTML file prints the same, without the PDF library."""
    for name in ("bedside", "handoff"):
        page = PAGES[name]()
        write_pdf(page, tmp_path / f"{name}.pdf")
        printed = browser_print(page, tmp_path / name)
        with pikepdf.open(tmp_path / f"{name}.pdf") as ours, pikepdf.open(printed) as theirs:
            assert len(theirs.pages) == len(ours.pages)
