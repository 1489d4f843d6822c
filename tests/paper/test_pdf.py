"""The PDF itself: tagged, the same every time, its letters as tall as they must be, its batches one file."""

from __future__ import annotations

import gc
import io
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pdfminer.high_level import extract_pages
from pdfminer.layout import LAParams, LTChar, LTPage, LTTextContainer, LTTextLine

from mobicard import scheme
from mobicard.derive.model import OverrideShown
from mobicard.facts.words import Level
from mobicard.paper.door.card import DoorBatch, door_batches, door_html
from mobicard.paper.door.layout import layout_for
from mobicard.paper.door.says import door_face
from mobicard.paper.pdf import layout as press
from mobicard.paper.pdf import write as pdf
from mobicard.paper.shapes import INKS
from mobicard.paper.sheet_sizes import CAP_HEIGHT, SIZES, Sheet
from tests.paper.beds import NOW, PLAIN, POLICY, at_level, emptiest, expired, longest, seven_levels

HOUSE = scheme.load()
MM = 72 / 25.4
A5 = Sheet.named("a5", paper="a5")
EXTREMES = [longest(), longest(override=False), expired(), emptiest()]
DRAWABLE = [longest(hostile=PLAIN), longest(override=False, hostile=PLAIN), expired(), emptiest()]
WAYS = ("drawn", "laid out")


def html(cards: list[Any], sheet: Sheet = A5) -> str:
    return door_html(cards, sheet, HOUSE, POLICY, NOW)


def letters(page: LTPage) -> Iterator[LTChar]:
    for line in lines(page):
        yield from (item for item in line if isinstance(item, LTChar) and item.get_text().strip())


def lines(page: LTPage) -> Iterator[LTTextLine]:
    for block in page:
        if isinstance(block, LTTextContainer):
            yield from (line for line in block if isinstance(line, LTTextLine) and line.get_text().strip())


def batches(cards: list[Any], sheet: Sheet = A5) -> list[DoorBatch]:
    return list(door_batches(cards, sheet, HOUSE, POLICY, NOW))


def texts(cards: list[Any], sheet: Sheet = A5) -> list[str]:
    return [batch.html() for batch in batches(cards, sheet)]


def printed(cards: list[Any], sheet: Sheet, path: Path, way: str) -> list[LTPage]:
    """The cards printed either way, as a reader of the PDF finds them."""
    made = batches(cards, sheet)
    assert way == "laid out" or all(batch.drawn() for batch in made)
    pdf.write_pdf(made if way == "drawn" else html(cards, sheet), path)
    return list(extract_pages(path, laparams=LAParams(char_margin=1.0)))


# Letter heights, from the PDF's own glyphs. Source: ADA 2010 Standards 703.5.5.


@pytest.mark.parametrize("name", list(SIZES))
@pytest.mark.parametrize("way", WAYS)
def test_the_level_word_is_tall_enough_and_inside_the_card(name: str, way: str, tmp_path: Path) -> None:
    """Every word, the widest included, at the height its reading distance asks, on each size."""
    card = SIZES[name]
    pages = printed(seven_levels(), Sheet.named(name, paper=name), tmp_path / "door.pdf", way)
    layout = layout_for(Sheet.named(name, paper=name))
    shape = layout.places["shape"][0] * MM
    for level, page in zip(Level, pages, strict=True):
        large = [letter for letter in letters(page) if "Barlow" in letter.fontname]
        word = [one for one in large if round(one.size * CAP_HEIGHT / MM, 1) == card.word_cap]
        assert "".join(letter.get_text() for letter in word) == level.value
        assert max(letter.x1 for letter in word) < shape - card.word_cap / 2 * MM + 0.1


@pytest.mark.parametrize("name", list(SIZES))
@pytest.mark.parametrize("ink", INKS)
@pytest.mark.parametrize("way", WAYS)
def test_no_text_runs_over_other_text_or_out_of_the_card(
    name: str, ink: str, way: str, tmp_path: Path
) -> None:
    """With the longest record, no line of text overlaps another, or leaves the panel."""
    sheet = Sheet.named(name, paper=name, ink=ink)
    layout = layout_for(sheet)
    left, top, width, height = (side * MM for side in layout.panel)
    cards = DRAWABLE if way == "drawn" else EXTREMES
    for page in printed(cards, sheet, tmp_path / "door.pdf", way):
        found = [core(run) for line in lines(page) for run in of_one_size(line)]
        for index, (x0, y0, x1, y1) in enumerate(found):
            assert left - 0.5 <= x0
            assert x1 <= left + width + 0.5
            assert page.height - top - height - 0.5 <= y0
            assert y1 <= page.height - top + 0.5
            for other in found[index + 1 :]:
                assert not overlap((x0, y0, x1, y1), other)


def of_one_size(line: LTTextLine) -> Iterator[list[LTChar]]:
    """The letters of each size in the line: what stands beside a large hour is a text of its own."""
    letters = [letter for letter in line if isinstance(letter, LTChar) and letter.get_text().strip()]
    for size in sorted({round(letter.size, 1) for letter in letters}):
        yield [letter for letter in letters if round(letter.size, 1) == size]


def core(run: list[LTChar]) -> tuple[float, float, float, float]:
    """The letters' ink: a font's box is taller than its letters, so the em is narrowed to its middle."""
    size = max(letter.size for letter in run)
    middle = (min(letter.y0 for letter in run) + max(letter.y1 for letter in run)) / 2
    left, right = min(letter.x0 for letter in run), max(letter.x1 for letter in run)
    return left, middle - size * 0.36, right, middle + size * 0.36


def overlap(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return (
        min(one[2], other[2]) - max(one[0], other[0]) > 0.5
        and min(one[3], other[3]) - max(one[1], other[1]) > 0.5
    )


@pytest.mark.parametrize(
    ("size", "up", "paper"), [("a5", 2, "a4"), ("a6", 4, "a4"), ("quarter-letter", 4, "letter")]
)
def test_a_sheet_is_one_page_of_its_paper(size: str, up: int, paper: str, tmp_path: Path) -> None:
    sheet = Sheet.named(size, up, paper)
    pdf.write_pdf(html(seven_levels(), sheet), tmp_path / "door.pdf")
    with pikepdf.open(tmp_path / "door.pdf") as made:
        assert len(made.pages) == -(-7 // up)
        for page in made.pages:
            box = [float(side) for side in page.mediabox]
            assert box[2:] == pytest.approx([sheet.width * MM, sheet.height * MM], abs=0.5)


@pytest.mark.parametrize("name", list(SIZES))
@pytest.mark.parametrize("ink", ["colour", "saver"])
def test_what_is_drawn_and_what_is_laid_out_from_the_page_are_the_same(
    name: str, ink: str, tmp_path: Path
) -> None:
    """Every letter at the same place and size, to half a point, so neither can change without the other."""
    sheet = Sheet.named(name, paper=name, ink=ink)
    override = OverrideShown(Level.LINK, "stood with me", "JN", NOW, True, NOW)
    cards = [*seven_levels(), expired(), at_level(Level.LINK, override=override, derived_level=Level.HOIST)]
    ways = [printed(cards, sheet, tmp_path / f"{way}.pdf", way) for way in WAYS]
    for drawn, laid_out in zip(*ways, strict=True):
        theirs = placed(laid_out)
        assert sum(len(places) for places in theirs.values()) > 100
        for letter, places in placed(drawn).items():
            for place in places:
                near = [other for other in theirs[letter] if place == pytest.approx(other, abs=0.5)]
                assert near, f"{letter} at {place}"
                theirs[letter].remove(near[0])
        assert not any(theirs.values())


def placed(page: LTPage) -> dict[str, list[tuple[float, float, float]]]:
    """For each letter, where it stands (points from the left and the foot) and how large it is."""
    found: dict[str, list[tuple[float, float, float]]] = {}
    for item in letters(page):
        found.setdefault(item.get_text(), []).append((item.x0, item.y0, item.size))
    return found


# The same bytes.


def test_two_runs_and_any_number_of_processes_give_the_same_bytes() -> None:
    pages = texts(seven_levels() * 2)
    assert len(pages) == 2
    one = pdf.write_pdf(pages, None, processes=1)
    assert pdf.write_pdf(pages, None, processes=1) == one
    assert pdf.write_pdf(iter(pages), None, processes=2) == one


def test_drawn_cards_have_the_same_bytes_in_two_runs() -> None:
    assert pdf.write_pdf(batches(seven_levels() * 3), None) == pdf.write_pdf(
        batches(seven_levels() * 3), None
    )


def test_cards_the_fonts_cannot_write_are_laid_out_in_their_place(tmp_path: Path) -> None:
    """A letter the carried fonts lack, in the second of two batches: order kept, nothing lost."""
    cards = [*seven_levels(), *seven_levels()]
    cards[9] = at_level(Level.LINK, bed="Ж-12")
    made = batches(cards)
    assert [batch.drawn() is None for batch in made] == [False, True]
    data = pdf.write_pdf(made, tmp_path / "door.pdf")
    assert data == pdf.write_pdf(batches(cards), None)
    read = [page_text(page) for page in extract_pages(tmp_path / "door.pdf")]
    assert [next(level.value for level in Level if level.value in text) for text in read] == [
        *list(Level), *list(Level)[:2], "LINK", *list(Level)[3:]
    ]  # fmt: skip
    assert "Ж-12" in read[9]
    with pikepdf.open(tmp_path / "door.pdf") as mixed:
        assert [int(page.obj.StructParents) for page in mixed.pages] == list(range(14))
        assert [str(tag.S) for tag in elements(body(mixed)) if str(tag.S) == "/H1"] == ["/H1"] * 14


def page_text(page: LTPage) -> str:
    return "".join(line.get_text() for line in lines(page))


def test_another_process_with_another_hash_seed_gives_the_same_bytes(tmp_path: Path) -> None:
    page = html([at_level(Level.TEAM), expired()])
    (tmp_path / "page.html").write_text(page, encoding="utf-8")
    code = (
        "import sys; from pathlib import Path; from mobicard.paper import pdf;"
        "pdf.write_pdf(Path(sys.argv[1]).read_text(encoding='utf-8'), sys.argv[2])"
    )
    subprocess.run(
        [sys.executable, "-c", code, str(tmp_path / "page.html"), str(tmp_path / "other.pdf")],
        check=True,
        env={**os.environ, "PYTHONHASHSEED": "4711"},
    )
    assert (tmp_path / "other.pdf").read_bytes() == pdf.write_pdf(page, None)


# Tags. Source: ISO 14289-1 (PDF/UA-1), clauses named beside each.


@pytest.fixture(scope="module")
def joined(tmp_path_factory: pytest.TempPathFactory) -> Iterator[pikepdf.Pdf]:
    """Fourteen beds in two batches joined into one file."""
    path = tmp_path_factory.mktemp("joined") / "door.pdf"
    pdf.write_pdf(texts(seven_levels() * 2), path, processes=1)
    with pikepdf.open(path) as made:
        yield made


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> Iterator[pikepdf.Pdf]:
    """The same fourteen beds drawn, in two batches."""
    path = tmp_path_factory.mktemp("drawn") / "door.pdf"
    pdf.write_pdf(batches(seven_levels() * 2), path)
    with pikepdf.open(path) as made:
        yield made


@pytest.fixture(scope="module")
def single(tmp_path_factory: pytest.TempPathFactory) -> Iterator[pikepdf.Pdf]:
    path = tmp_path_factory.mktemp("single") / "door.pdf"
    pdf.write_pdf(html(seven_levels() * 2), path)
    with pikepdf.open(path) as made:
        yield made


def elements(node: Any) -> Iterator[Any]:
    """Every structure element under this one, in reading order."""
    for kid in node.get("/K", []):
        if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
            yield kid
            yield from elements(kid)


def body(made: pikepdf.Pdf) -> Any:
    return made.Root.StructTreeRoot.K[0]


@pytest.mark.parametrize("which", ["single", "joined", "drawn"])
def test_the_file_says_it_is_tagged_and_how_to_show_it(which: str, request: pytest.FixtureRequest) -> None:
    """7.1 (marked, title shown), 7.2 (language), 5 (the identifier in the metadata)."""
    made = request.getfixturevalue(which)
    assert made.Root.MarkInfo.Marked
    assert made.Root.ViewerPreferences.DisplayDocTitle
    assert str(made.Root.Lang) == "en"
    assert str(made.docinfo.Title) == "Door cards, 14 beds, printed 08:00, Mon 2 Mar 2026"
    with made.open_metadata() as metadata:
        assert metadata["pdfuaid:part"] == "1"
        assert metadata["dc:title"] == "Door cards, 14 beds, printed 08:00, Mon 2 Mar 2026"


@pytest.mark.parametrize("which", ["single", "joined", "drawn"])
def test_every_page_finds_its_tags(which: str, request: pytest.FixtureRequest) -> None:
    """ISO 32000-1, 14.7.4.4: each page's key leads to the element of each marked content there."""
    made = request.getfixturevalue(which)
    nums = list(made.Root.StructTreeRoot.ParentTree.Nums)
    tree = {int(key): value for key, value in zip(nums[::2], nums[1::2], strict=True)}
    keys = [int(page.obj.StructParents) for page in made.pages]
    assert keys == list(range(14))
    for page, key in zip(made.pages, keys, strict=True):
        marked = [
            instruction.operands[1].MCID
            for instruction in pikepdf.parse_content_stream(page)
            if str(instruction.operator) == "BDC" and "/MCID" in instruction.operands[1]
        ]
        assert sorted(int(mark) for mark in marked) == list(range(len(tree[key])))
        assert all(element.Pg.objgen == page.obj.objgen for element in tree[key])


@pytest.mark.parametrize("which", ["single", "joined", "drawn"])
def test_headings_begin_at_the_first_level_and_say_the_level_word(
    which: str, request: pytest.FixtureRequest
) -> None:
    """7.4.2: no level is skipped."""
    made = request.getfixturevalue(which)
    headings = [str(element.S) for element in elements(body(made)) if str(element.S).startswith("/H")]
    assert headings == ["/H1"] * 14


@pytest.mark.parametrize("which", ["single", "joined", "drawn"])
def test_every_picture_has_its_words(which: str, request: pytest.FixtureRequest) -> None:
    """7.3: figures carry an alternative; here the level's mark and the QR, twice seven."""
    made = request.getfixturevalue(which)
    said = [str(element.Alt) for element in elements(body(made)) if str(element.S) == "/Figure"]
    assert said[0] == "SELF mark"
    assert said[1].removeprefix("QR of code ") == door_face(seven_levels()[0], HOUSE, POLICY, NOW).code
    assert len(said) == 28


@pytest.mark.parametrize("which", ["single", "joined", "drawn"])
def test_all_content_is_tagged_or_an_artifact(which: str, request: pytest.FixtureRequest) -> None:
    """7.1: nothing is drawn outside marked content."""
    made = request.getfixturevalue(which)
    for page in made.pages:
        depth = 0
        for instruction in pikepdf.parse_content_stream(page):
            operator = str(instruction.operator)
            depth += {"BDC": 1, "BMC": 1, "EMC": -1}.get(operator, 0)
            if operator in {"Tj", "TJ", "Do", "f", "f*", "S", "B"}:
                assert depth > 0


@pytest.mark.parametrize("which", ["single", "joined", "drawn"])
def test_fonts_are_carried_and_can_be_read_as_text(which: str, request: pytest.FixtureRequest) -> None:
    """7.21.4.1 (embedded), 7.21.7 (Unicode)."""
    made = request.getfixturevalue(which)
    fonts = {name: font for page in made.pages for name, font in page.obj.Resources.Font.items()}
    assert fonts
    for font in fonts.values():
        assert "/ToUnicode" in font
        descriptor = font.DescendantFonts[0].FontDescriptor
        assert any(key in descriptor for key in ("/FontFile2", "/FontFile3"))


def test_joined_batches_read_like_one_document(single: pikepdf.Pdf, joined: pikepdf.Pdf) -> None:
    assert [str(element.S) for element in elements(body(joined))] == [
        str(element.S) for element in elements(body(single))
    ]
    assert joined.check_pdf_syntax() == []


def test_drawn_cards_are_read_in_the_order_of_the_page(drawn: pikepdf.Pdf, single: pikepdf.Pdf) -> None:
    """Headings, paragraphs, list items and pictures come one after the other as in the laid-out file."""
    told = ("/Figure", "/H1", "/P", "/LBody")
    orders = [[str(tag.S) for tag in elements(body(made)) if str(tag.S) in told] for made in (drawn, single)]
    assert orders[0] == orders[1]
    assert drawn.check_pdf_syntax() == []


def test_an_outside_checker_finds_nothing_in_drawn_cards(tmp_path: Path) -> None:
    """A published subset of the PDF/UA-1 machine checks (PyPI: pdfua); it is no full validator."""
    pdfua = pytest.importorskip("pdfua", reason="pdfua is missing: pip install pdfua")
    path = tmp_path / "door.pdf"
    pdf.write_pdf(batches(seven_levels() * 2), path)
    assert [str(finding) for finding in pdfua.validate(path).findings] == []


def test_drawn_batches_share_one_copy_of_each_font(drawn: pikepdf.Pdf) -> None:
    files = [item for item in drawn.objects if isinstance(item, pikepdf.Stream) and "/Length1" in item]
    assert len(files) == 3


def test_headers_of_joined_tables_stay_apart() -> None:
    """A cell's header ids lead to its own table, whichever batch it came from."""
    table = (
        "<!doctype html><html lang='en'><head><title>t</title></head><body><table>"
        "<thead><tr><th>bed</th></tr></thead><tr><td>{}</td></tr></table></body></html>"
    )
    data = pdf.write_pdf([table.format(1), table.format(2)], None, processes=1)
    with pikepdf.open(io.BytesIO(data)) as made:
        heads = [element for element in elements(body(made)) if str(element.S) == "/TH"]
        cells = [element for element in elements(body(made)) if str(element.S) == "/TD"]
        assert [str(head.A.Scope) for head in heads] == ["/Column", "/Column"]
        assert len({bytes(head.ID) for head in heads}) == 2
        assert [bytes(cell.A.Headers[0]) for cell in cells] == [bytes(head.ID) for head in heads]


# What cannot go wrong.


def test_a_page_reads_nothing_from_outside_itself(tmp_path: Path) -> None:
    secret = tmp_path / "secret.svg"
    secret.write_text('<svg xmlns="http://www.w3.org/2000/svg"><text>secret</text></svg>', encoding="utf-8")
    plain = "<!doctype html><html lang='en'><head><title>t</title></head><body><p>x</p>{}</body></html>"
    data = pdf.write_pdf(plain.format(f"<img alt='' src='{secret.as_uri()}'>"), None)
    with pikepdf.open(io.BytesIO(data)) as made:
        assert "/XObject" not in made.pages[0].obj.Resources or not made.pages[0].obj.Resources.XObject


@pytest.mark.parametrize("was_on", [True, False])
@pytest.mark.parametrize("fails", [True, False])
def test_the_collector_is_left_as_it_was(was_on: bool, fails: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[bool] = []

    def document(_press: press.Layouter, _html: str) -> Any:
        seen.append(gc.isenabled())
        raise RuntimeError("no paper")

    if fails:
        monkeypatch.setattr(press.Layouter, "document", document)
    (gc.enable if was_on else gc.disable)()
    try:
        if fails:
            with pytest.raises(RuntimeError, match="no paper"):
                pdf.write_pdf("<html>", None)
            assert seen == [False]
        else:
            pdf.write_pdf("<!doctype html><html lang='en'><title>t</title><p>x", None)
        assert gc.isenabled() is was_on
    finally:
        gc.enable()


def test_a_failed_print_leaves_the_old_file_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "door.pdf"
    path.write_bytes(b"yesterday's card")

    def full(_self: Path, _target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OSError, match="No space left"):
        pdf.write_pdf(html([expired()]), path)
    monkeypatch.undo()
    assert path.read_bytes() == b"yesterday's card"
    assert list(tmp_path.iterdir()) == [path]


def test_a_printed_file_is_its_owners_alone(tmp_path: Path) -> None:
    pdf.write_pdf(html([expired()]), tmp_path / "door.pdf")
    assert (tmp_path / "door.pdf").stat().st_mode & 0o777 == 0o600


def test_without_the_libraries_one_line_says_what_to_install_and_html_still_works(tmp_path: Path) -> None:
    """A failed import raises OSError after a banner on standard output, which must not reach the terminal.

    Door cards are drawn without those libraries all the same.
    """
    (tmp_path / "weasyprint").mkdir()
    (tmp_path / "weasyprint" / "__init__.py").write_text(
        "print('\\n-----\\nbanner\\n-----')\nraise OSError('cannot load library libpangoft2-1.0-0')\n"
    )
    code = """
from datetime import datetime
from mobicard import scheme
from mobicard.paper import pdf
from mobicard.paper.door.card import door_batches, door_html
from mobicard.paper.sheet_sizes import Sheet
from mobicard.rules.policy import Policy
from tests.paper.beds import NOW, PLAIN, POLICY, expired
page = door_html([expired()], Sheet.named(), scheme.load(), POLICY, NOW)
for pages in (page, [page, page]):
    try:
        pdf.write_pdf(pages, None)
    except pdf.PdfUnavailable as missing:
        print(missing.says)
print(len(pdf.write_pdf(door_batches([expired()], Sheet.named(), scheme.load(), POLICY, NOW), None)) > 1000)
"""
    run = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": f"{tmp_path}{os.pathsep}{Path(__file__).parents[2]}"},
    )
    line = "apt-get install -y --no-install-recommends libpangoft2-1.0-0 libharfbuzz-subset0"
    assert run.stdout.count(line) == 2
    assert "banner" not in run.stdout
    assert "Traceback" not in run.stdout + run.stderr
    assert run.stdout.strip().endswith("True")


@pytest.mark.parametrize(
    ("cards", "size"), [(0, 1), (1, 1), (10, 10), (11, 6), (30, 15), (59, 30), (60, 30), (600, 30)]
)
def test_batches_grow_with_the_count_and_stay_bounded(cards: int, size: int) -> None:
    assert pdf.batch_size(cards) == size


def test_making_a_page_does_not_load_the_pdf_library() -> None:
    code = (
        "import sys; import mobicard.paper.door.card, mobicard.paper.pdf.write;"
        "print([name for name in ('weasyprint', 'pydyf', 'segno', 'multiprocessing') if name in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
