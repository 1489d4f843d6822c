"""``mobicard brief``: text, JSON, pages; statures; every refusal a sentence with its exit code."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from pypdf import PdfReader

from mobicard.cli import run

EXAMPLES = Path(__file__).parents[2] / "examples"
TWO = str(EXAMPLES / "05-two-to-pivot.json")
FILE = ["--now", "2026-03-02T08:00", "brief", "5N-04", "chair", "--file", TWO]


@pytest.fixture(scope="module")
def ledger(tmp_path_factory: pytest.TempPathFactory) -> str:
    out = tmp_path_factory.mktemp("demo") / "out"
    assert run(["demo", "--out", str(out), "--now", "2026-03-02T08:00"]) == 0
    return str(out / "demo.sqlite")


def test_the_text_fits_a_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    """One screen of 80 columns and 24 lines, the prompt's line included."""
    assert run([*FILE, "--helpers", "JN=165,AB=180"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) <= 23
    assert max(map(len, lines)) <= 80
    assert lines[0].startswith("5N-04  Bed to chair and back: ")
    assert "2 people, you included" in lines[0]


def test_json_has_every_line_with_its_why(capsys: pytest.CaptureFixture[str]) -> None:
    """Each with rule and source, and whether it has room; the scene with everybody in it."""
    assert run([*FILE, "--json", "--helpers", "JN=165"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {"bed", "move", "level", "helpers", "people", "lines", "asked", "scene"} <= set(told)
    assert all(line["rule"] and line["source"] for line in told["lines"])
    assert {"ready.height_up", "stop.falling"} <= {line["rule"] for line in told["lines"] if line["shown"]}
    assert [one["name"] for one in told["scene"]["helpers"]] == ["JN", "A"]
    assert told["scene"]["turn_degrees"] == 45
    assert told["notes"] == ["2 people needed, 1 named: fetch 1 more first"]


def test_why_says_rule_source_and_facts_of_every_line(capsys: pytest.CaptureFixture[str]) -> None:
    """An ask names the recorded facts it stands on."""
    assert run([*FILE, "--why"]) == 0
    out = capsys.readouterr().out
    assert "make ready: Chair at patient's right, 45°" in out
    assert "ready.chair; BCcampus" in out
    asked = out[out.index("say: “Lean forward") :].splitlines()[1]
    assert "sitting: steady" in asked
    assert "alertness: alert" in asked


def test_the_page_is_one_side_of_a5(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run([*FILE, "--out", str(tmp_path)]) == 0
    made = [Path(line) for line in capsys.readouterr().out.split()]
    assert [path.name for path in made] == ["brief-5N-04-chair.html", "brief-5N-04-chair.pdf"]
    (page,) = PdfReader(made[1]).pages
    assert [round(float(side) / 72 * 25.4) for side in page.mediabox[2:]] == [210, 148]
    assert "guards weaker knee" in page.extract_text()


@pytest.mark.parametrize(
    ("helpers", "low"),
    [("JN=165,AB=180", 93), ("JN=5ft5in,AB=5 ft 11 in", 93), ("JN=150,AB=180", 90), ("JN=170", 88)],
)
def test_statures_in_either_unit(helpers: str, low: int, capsys: pytest.CaptureFixture[str]) -> None:
    """180 cm is 5 ft 11 in; hip of the taller, or the shorter one's waist where they share no height."""
    words = ["--now", "2026-03-02T08:00", "brief", "5N-04", "turn", "--file", TWO, "--json"]
    assert run([*words, "--helpers", helpers]) == 0
    assert json.loads(capsys.readouterr().out)["bed_height"]["low_cm"] == low


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["5N-04", "dance"], 2, "“dance” is no move; the moves are boost, turn, sit_up"),
        (["5N-04", "turn", "--helpers", "JN=17"], 2, "17 cm is not a grown person's height"),
        (["5N-04", "turn", "--helpers", "JN=tall"], 2, "is not a height with its unit"),
        (["5N-04", "turn", "--helpers", "=165"], 2, "names nobody"),
        (["5N-04", "turn", "--helpers", "JN,JN"], 2, "JN is named twice"),
        (["5N-99", "turn"], 1, "5N-99 is not occupied"),
        (["5N-04"], 2, "Missing argument 'MOVE'"),
    ],
)
def test_refusals_in_words(
    words: list[str], code: int, says: str, ledger: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["--ledger", ledger, "--now", "2026-03-02T08:00", "brief", *words]) == code
    assert says in capsys.readouterr().err


def test_a_bed_of_the_unit(ledger: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--ledger", ledger, "--now", "2026-03-02T08:00", "brief", "5n-04", "sit up"]) == 0
    assert "Sit up to edge of bed" in capsys.readouterr().out


def test_a_move_that_waits_says_why_and_no_more(capsys: pytest.CaptureFixture[str]) -> None:
    """After a fall nobody is moved before the examination: no steps, no picture."""
    fallen = str(EXAMPLES / "14-after-a-fall.json")
    assert run(["--now", "2026-03-02T08:00", "brief", "x", "chair", "--file", fallen]) == 0
    out = capsys.readouterr().out
    assert "Do not move: " in out
    assert "DO " not in out


def test_statures_come_from_the_duty_list_where_it_has_them(
    ledger: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """JN 165 cm and AB 5 ft 11 in of the example's list; a stature given by hand wins."""
    (tmp_path / "staff.toml").write_bytes((EXAMPLES / "hands" / "staff.toml").read_bytes())
    words = ["--ledger", ledger, "--config", str(tmp_path), "--now", "2026-03-02T08:00"]
    for helpers, low in (("JN,AB", 93), ("JN=150,AB", 90)):
        assert run([*words, "brief", "5N-04", "turn", "--json", "--helpers", helpers]) == 0
        assert json.loads(capsys.readouterr().out)["bed_height"]["low_cm"] == low
