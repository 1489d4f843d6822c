"""The square on the cards, read back from the PDF: what it opens, and that it is large enough to be read."""

from __future__ import annotations

import re
from pathlib import Path

import pikepdf
import pytest
import zxingcpp
from PIL import Image, ImageDraw

from mobicard import scheme
from mobicard.facts.words import Level
from mobicard.paper.bedside.card import BedsideBatch, bedside_html
from mobicard.paper.door.card import DoorBatch, door_face
from mobicard.paper.pdf import write_pdf
from mobicard.paper.shapes import INKS, QUIET
from mobicard.paper.sheet_sizes import SIZES, Sheet
from mobicard.rules.policy import Policy
from mobicard.ward.clerk.order import Order
from mobicard.ward.clerk.printing import write_cards
from mobicard.ward.station.settings import Settings
from tests.paper.beds import NOW, POLICY, at_level, emptiest, seen

HOUSE = scheme.load()
ADDRESS = "https://ward.example/cards/"
OWN = Policy(door={"address": ADDRESS})
SQUARE = re.compile(rb"q ([\d.]+) 0 0 [\d.]+ [\d.]+ [\d.]+ cm 0 0 0 rg ((?:\d+ \d+ \d+ 1 re )+)f Q")


def squares(path: Path) -> list[tuple[str, float]]:
    """What each square drawn in the PDF says to an independent decoder (zxing), and its side, mm."""
    with pikepdf.open(path) as made:
        content = b"\n".join(page.Contents.read_bytes() for page in made.pages)
    return [_read(float(module), runs) for module, runs in SQUARE.findall(content)]


def _read(module: float, drawn: bytes) -> tuple[str, float]:
    runs = [[int(number) for number in run] for run in re.findall(rb"(\d+) (\d+) (\d+) 1 re", drawn)]
    modules = max(left + long for left, _, long in runs) + QUIET
    image = Image.new("L", (modules * 8, modules * 8), 255)
    for left, top, long in runs:
        ImageDraw.Draw(image).rectangle([left * 8, top * 8, (left + long) * 8 - 1, top * 8 + 7], fill=0)
    [found] = zxingcpp.read_barcodes(image)
    return found.text, modules * module


@pytest.mark.parametrize("address", ["", ADDRESS])
def test_both_cards_open_the_facility_s_own_page(address: str, tmp_path: Path) -> None:
    """The door's square had the address before the code and the bedside card's had not."""
    card, policy = at_level(Level.LINK), Policy(door={"address": address})
    sheet = Sheet.named(paper="a5")
    write_pdf([DoorBatch([card], sheet, HOUSE, policy, NOW, "Door")], tmp_path / "door.pdf")
    bedside = BedsideBatch([card], HOUSE, NOW, "a4", "colour", None, "Bedside", address=address)
    write_pdf([bedside], tmp_path / "bedside.pdf")
    assert [text for text, _ in squares(tmp_path / "door.pdf")] == [
        address + door_face(card, HOUSE, policy, NOW).code
    ]
    assert [text for text, _ in squares(tmp_path / "bedside.pdf")] == [address + card.plan.code]


@pytest.mark.parametrize("briefs", [False, True])
def test_the_bedside_cards_of_the_print_desk_have_the_policy_s_address(briefs: bool, tmp_path: Path) -> None:
    """As the clerk prints them, with and without briefs behind them; the page says the same."""
    (tmp_path / "policy.toml").write_text(f'[door]\naddress = "{ADDRESS}"\n')
    settings, card = Settings.found(config_dir=tmp_path), at_level(Level.LINK)
    order = Order(kinds=("bedside",), formats=("html",), out=tmp_path, briefs=briefs)
    write_cards([card], order, settings, NOW)
    assert (tmp_path / "bedside-cards.html").read_text() == bedside_html(
        [card], HOUSE, NOW, address=ADDRESS, phrases=settings.phrases, paper=order.sheet.page
    )


@pytest.mark.parametrize("name", list(SIZES))
@pytest.mark.parametrize("ink", INKS)
def test_the_door_s_square_is_at_least_ten_millimetres(name: str, ink: str, tmp_path: Path) -> None:
    """29 modules with their quiet zone, each of four dots at 300 dots an inch (9.8 mm): from memory,
    what the symbol's maker advises. Half-letter and the ink saver had 5.9 to 9.0 mm."""
    sheet = Sheet.named(name, paper=name, ink=ink)
    write_pdf(
        [DoorBatch([seen("1"), emptiest()], sheet, HOUSE, POLICY, NOW, "Doors")], tmp_path / "doors.pdf"
    )
    sides = [side for _, side in squares(tmp_path / "doors.pdf")]
    assert len(sides) == 2
    assert min(sides) >= 10.0
