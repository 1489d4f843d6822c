"""Every page on a phone, in light and in dark: nothing stands out of 360 px, every letter can be read."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from mobicard.derive import Policy
from mobicard.hands.page import hands_html
from mobicard.paper.leaflet.label import label
from mobicard.paper.leaflet.page import label_html
from tests.hands.test_page import unit as day_plan
from tests.paper.browser import browser_dom
from tests.paper.test_access import PAGES

READ = {name: make for name, make in PAGES.items() if name != "door"} | {
    "day plan": lambda: hands_html(day_plan()[0]),
    "label": lambda: label_html("mobicard", label(Policy())),
}
"""The pages that are read on a screen; a door card is a picture of what hangs at the door."""

NARROW = """<!doctype html><html lang="en"><title>x</title>
<iframe id="f" width="360" height="800" scrolling="no"></iframe>
<script>
const lum = c => { const v = c.match(/[\\d.]+/g).slice(0, 3).map(x => x / 255).map(
  x => x <= 0.04045 ? x / 12.92 : ((x + 0.055) / 1.055) ** 2.4);
  return 0.2126*v[0] + 0.7152*v[1] + 0.0722*v[2]; };
const under = (e, w) => { for (; e; e = e.parentElement) { const c = w.getComputedStyle(e).backgroundColor;
  if (c !== "rgba(0, 0, 0, 0)") return c; } return "rgb(255, 255, 255)"; };
onload = () => { const f = document.getElementById("f"); f.srcdoc = PAGE; f.onload = () => {
  const d = f.contentDocument, w = f.contentWindow, all = [...d.querySelectorAll("body *")].filter(
    e => !e.closest("thead, .aloud, svg *"));
  const wide = all.filter(e => e.getBoundingClientRect().right > 361);
  const dim = all.filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim())
    && e.getClientRects().length && !e.closest("svg")).filter(e => {
    const [a, b] = [lum(w.getComputedStyle(e).color), lum(under(e, w))].sort((x, y) => y - x);
    return (a + 0.05) / (b + 0.05) < 4.5; });
  const dark = lum(under(d.querySelector("main"), w)) < 0.1;
  document.title =
    `wide ${d.documentElement.scrollWidth} ${wide.length} dim ${dim.length} dark ${dark}`; }; };
</script></html>"""
"""The page in a frame as wide as a small phone: what stands out of it, which letters are too dim.

Source of the contrast: WCAG 2.2, SC 1.4.3, 4.5 to 1.
"""

DARK = "--blink-settings=preferredColorScheme=0"


def told(name: str, folder: Path, *flags: str) -> str:
    page = json.dumps(READ[name]()).replace("</", "<\\/")
    found = re.search(r"<title>(.*?)</title>", browser_dom(NARROW.replace("PAGE", page), folder, *flags))
    assert found
    return found[1]


@pytest.mark.parametrize("name", list(READ))
def test_nothing_stands_out_at_360_px_and_every_letter_can_be_read(name: str, tmp_path: Path) -> None:
    assert told(name, tmp_path) == "wide 360 0 dim 0 dark false"


@pytest.mark.parametrize("name", list(READ))
def test_every_letter_can_be_read_by_who_has_set_dark(name: str, tmp_path: Path) -> None:
    """Slip, brief and house had stayed white."""
    assert told(name, tmp_path, DARK) == "wide 360 0 dim 0 dark true"
