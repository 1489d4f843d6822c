"""The handoff page: three pages for 24 beds, the gravest first, whole rows, its end on every page."""

from __future__ import annotations

import re
from collections import Counter
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pdfminer.high_level import extract_pages
from pdfminer.layout import LAParams, LTChar, LTPage

from mobicard import scheme
from mobicard.demo.unit import record_of
from mobicard.demo.unit import unit as demo
from mobicard.derive import plan_for
from mobicard.derive.handing_over.people import people_of
from mobicard.derive.over_time.handoff import build_handoff
from mobicard.derive.over_time.handoff_values import BedShift
from mobicard.facts.words import Level, Task
from mobicard.paper.handoff.drawn import DRAWN_FROM, FILES
from mobicard.paper.handoff.fit import SMALLEST_MM
from mobicard.paper.handoff.page import HandoffPage, handoff_html
from mobicard.paper.handoff.people import people_say
from mobicard.paper.pdf import write_pdf
from mobicard.paper.sheet_sizes import PAPERS, SheetRefused
from mobicard.paper.templates import same_files
from tests.paper.beds import HOSTILE, NOW, POLICY
from tests.paper.extremes import fullest, rich
from tests.paper.reading import Reader, letters, lines
from tests.records import INDEPENDENT, assessed

HOUSE = scheme.load()
WORSE = {"behavior": "combative", "directions": "unable", "weight_kg": 210, "lines": []}
WAS = {"standing": "steady", "stepping": "walks", "weight_bearing": {}, "help": INDEPENDENT}


def bed(name: str, **how: Any) -> BedShift:
    """One bed; ``was`` are its facts of the last shift, None for a new bed, absent for an unchanged one."""
    record = how.pop("record", None) or rich(name, label="RT", **how.pop("facts", {}))
    plan = plan_for(record, POLICY, NOW)
    before: Any = plan
    if "was" in how:
        was = how.pop("was")
        before = None if was is None else plan_for(record.changed(**was), POLICY, NOW)
    course = tuple(
        (NOW - timedelta(hours=12 * n), level)
        for n, level in enumerate((Level.TEAM, Level.HOIST, Level.LINK), 1)
    )
    return BedShift(record.bed, f"stay-{record.bed}", record, plan, before, course, **how)


def unit(count: int = 24, changed: int = 8) -> list[BedShift]:
    """A busy unit: a third of it changed, one new, two out of date, some doors to change."""
    beds = []
    for n in range(count):
        name = f"4W-{n // 2 + 1:02d}{'AB'[n % 2]}"
        facts: dict[str, Any] = {"assessed_at": "2026-03-01T07:10"} if n % 11 == 5 else {}
        facts["standing"] = ("supported", "unable", "steady")[n % 3]
        how: dict[str, Any] = {"facts": facts, "door_ok": n % 6 != 0, "assignment": ("JN", "MK", None)[n % 3]}
        if n < changed:
            how["was"] = WAS
        elif n == count - 1:
            how["was"] = None
        beds.append(bed(name, goals_done={Task.CHAIR: n % 4}, **how))
    return beds


def page(beds: list[BedShift], scope: str | None = None, now: datetime = NOW, **how: Any) -> HandoffPage:
    return HandoffPage(build_handoff(beds, now, POLICY, scope), HOUSE, now, **how)


def html(beds: list[BedShift], scope: str | None = None, now: datetime = NOW, **how: Any) -> str:
    return page(beds, scope, now, **how).html()


def said(beds: list[BedShift], **how: Any) -> str:
    return Reader(html(beds, **how)).text


def printed_on(path: Path, beds: list[BedShift], **how: Any) -> list[LTPage]:
    """The pages as they are drawn; none of them may have to be laid out."""
    made = page(beds, **how)
    assert made.drawn() is not None
    write_pdf(made, path)
    return list(extract_pages(path, laparams=LAParams(char_margin=1.0)))


def changed_of(told: str) -> str:
    """What the page says under what changed."""
    return told.split("Changed since")[1].split("Late, open", maxsplit=1)[0]


def text(page: LTPage) -> str:
    return " ".join(" ".join(line.get_text() for line in lines(page)).split())


@pytest.fixture(scope="module", params=list(PAPERS))
def printed(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> list[LTPage]:
    return printed_on(tmp_path_factory.mktemp("handoff") / "handoff.pdf", unit(), paper=request.param)


# The pages


def test_24_beds_take_at_most_three_pages(printed: list[LTPage]) -> None:
    assert 1 < len(printed) <= 3


def test_24_beds_of_which_every_one_changed_still_take_three(tmp_path: Path) -> None:
    assert len(printed_on(tmp_path / "handoff.pdf", unit(changed=24))) <= 3


def test_every_page_says_whose_it_is_until_when_it_holds_and_which_page(printed: list[LTPage]) -> None:
    for number, page in enumerate(printed, 1):
        assert "Good until Mon 2 Mar 19:30" in text(page)
        assert "Handoff, whole unit, Mon 2 Mar 08:00" in text(page)
        assert f"Page {number} of {len(printed)}" in text(page)
        assert "Decision support" in text(page)


def test_table_heads_repeat_on_every_page_the_beds_run_over(printed: list[LTPage]) -> None:
    with_beds = [page for page in printed if "read back" in text(page)]
    assert len(with_beds) > 1
    assert all("Help over the stay" in text(page) for page in with_beds)


def test_no_bed_is_torn_over_two_pages(printed: list[LTPage]) -> None:
    """Each bed's box to tick, which ends its first cell, is on the page where its name begins it."""
    boxes = [text(page).count("read back") for page in printed]
    rows = [_rows(page) for page in printed]
    assert boxes == rows
    assert sum(rows) == 24


def _rows(page: LTPage) -> int:
    """Bed names at the left margin below the last table's head."""
    found = list(lines(page))
    heads = [line.y0 for line in found if "Help over the stay" in line.get_text()]
    if not heads:
        return 0
    below = [line for line in found if line.y1 < min(heads) + 1 and line.x0 < 45]
    return sum(bool(re.match(r"4W-\d\d[AB]", line.get_text())) for line in below)


def test_no_letter_leaves_the_page_and_no_line_runs_over_another(printed: list[LTPage]) -> None:
    for page in printed:
        boxes = [(line.x0, (line.y0 + line.y1) / 2, line.x1, line.get_text().strip()) for line in lines(page)]
        assert min(box[0] for box in boxes) >= 28
        assert max(box[2] for box in boxes) <= page.width - 28
        for at, one in enumerate(boxes):
            for other in boxes[at + 1 :]:
                beside = min(one[2], other[2]) - max(one[0], other[0]) <= 0.5
                assert beside or abs(one[1] - other[1]) > 4, f"{one[3]!r} over {other[3]!r}"


def test_one_assignment_is_shorter_and_names_the_beds_on_nobody_s_round(tmp_path: Path) -> None:
    beds = unit()
    pages = printed_on(tmp_path / "handoff.pdf", beds, scope="JN")
    assert len(pages) <= 2
    told = said(beds, scope="JN")
    assert "Handoff: assignment JN" in told
    assert "Not on any assignment: 4W-02A" in told


@pytest.mark.parametrize("was", [WORSE, None], ids=["changed", "new"])
@pytest.mark.parametrize("paper", list(PAPERS))
def test_the_invented_unit_takes_three_pages_when_every_bed_changed(
    was: Any, paper: str, tmp_path: Path
) -> None:
    at = NOW.replace(hour=7, minute=20)
    records = [record_of(one, "day", at, "JN") for one in demo()["beds"]]
    beds = [bed(record.bed, record=record, was=was, door_ok=False) for record in records]
    assert len(beds) == 24
    assert len(build_handoff(beds, NOW, POLICY).changed) == 24
    pages = printed_on(tmp_path / "handoff.pdf", beds, paper=paper)
    assert len(pages) <= 3
    told = " ".join(text(page) for page in pages)
    assert all(told.count(record.bed) >= 2 for record in records)


# What it says


def test_what_eased_says_what_is_true_now_and_no_reason_that_is_gone() -> None:
    """The reason for the old, harder level beside the new one would contradict it."""
    worse = {"standing": "supported", "help": {**INDEPENDENT, "chair": "moderate", "stand": "moderate"}}
    well = assessed("1", assessed_at="2026-03-02T07:10", assessed_by="JN", weight_kg=70)
    row = changed_of(said([bed("1", record=well, was=worse)]))
    assert "LESS help" in row
    assert "Standing: steady (was supported)" in row
    gone = plan_for(well.changed(**worse), POLICY, NOW).headline.reasons
    assert not any(reason.says in row for reason in gone)


UNSTEADY = {"sitting": "supported", "standing": "supported", "help": INDEPENDENT}
"""TEAM by the table, though no move was seen to take help: a level that may be judged lower."""


def test_a_level_lowered_by_a_person_gives_the_person_s_reason() -> None:
    lowered = {"level": "LINK", "reason": "walked with the therapist", "by": "KM", "at": "2026-03-02T07:30"}
    told = said([bed("1", facts={**UNSTEADY, "override": lowered}, was={"override": None})])
    assert "Judged by KM: walked with the therapist" in changed_of(told)


RESTING = {"precautions": ["bed_rest"], "help": INDEPENDENT, "weight_kg": 300}
"""Seen to walk, but bed rest is ordered; heavier than what the unit's equipment is rated for."""


def test_what_only_the_record_disagrees_on_is_one_line_that_says_what_and_equipment_each_its_own() -> None:
    told = said([bed("1", facts=RESTING)])
    assert told.count("the record disagrees with itself") == 1
    assert "itself. Stand up was seen done, but bed rest is ordered: which is current? (" in told
    assert "more on the bedside card)" in told
    assert "rated only to" in told or "is rated for" in told


def test_beds_that_disagree_are_told_apart() -> None:
    beds = [bed(name, facts=RESTING | {"weight_kg": 70}) for name in ("B1", "B2")]
    told = said(beds)
    assert "itself. B1: Stand up was seen done" in told
    assert "B2: Stand up was seen done" in told


def test_a_unit_too_full_to_say_what_its_records_disagree_on_sends_to_the_bedside_cards(
    tmp_path: Path,
) -> None:
    beds = [bed(f"4W-{n}", facts=RESTING | {"weight_kg": 300 + n % 4}, was=WAS) for n in range(24)]
    told = said(beds)
    assert "the record disagrees with itself: see the bedside card" in told
    assert len(printed_on(tmp_path / "handoff.pdf", beds)) <= 3


def test_a_conflict_is_open_not_late_and_does_not_count_as_late() -> None:
    told = html([bed("1", facts=RESTING)])
    assert '<b class="m-open">OPEN</b></span> <span><b>Conflict:</b>' in told
    assert ">LATE<" not in told
    assert "Nothing late" in told


def test_a_move_that_needs_nobody_needs_no_helper_and_never_0_helpers() -> None:
    alone = assessed("1", assessed_at="2026-03-02T07:10")
    plan, before = (plan_for(one, POLICY, NOW) for one in (alone, alone.changed(standing="supported")))
    told = said([BedShift("1", "stay-1", alone, plan, before)])
    assert "SELF nobody needed" in told
    assert not re.search(r"\b0 helpers?\b", told)


def test_an_assessment_dated_ahead_is_not_called_out_of_date() -> None:
    told = said([bed("1", facts={"assessed_at": "2026-03-05T07:10"})])
    assert "DATED AHEAD" in told
    assert "OUT OF DATE" not in told


def test_head_observations_are_due_by_the_hour_and_stand_at_their_bed() -> None:
    began = "2026-03-02T06:00"
    watch = {"at": began, "seen": "fifteen", "noted_at": "2026-03-02T08:00", "clock_from": began}
    told = said([bed("1", facts={"head_watch": watch})])
    above, beds = told.split("Every bed")
    assert "Head observation 09:00 then 10:00, 11:00, 12:00" in above
    assert "Mon 2 Mar 09:00 Head observations: 1" in above
    assert "09:00 head observation" in beds


def test_a_bed_nobody_moves_is_not_forbidden_to_move_but_after_a_fall() -> None:
    told = said([bed("1", facts={"precautions": ["bed_rest"]})]).split("Every bed")[1]
    assert "out of bed NO / in bed" in told
    assert "do not move" not in told
    fall = {"at": "2026-03-02T07:40", "witnessed": False, "head_strike": "unknown"}
    assert "do not move" in said([bed("1", facts={"fall_event": fall})]).split("Every bed")[1]


def test_the_gravest_come_first_then_changes_then_what_is_due_then_every_bed() -> None:
    page = html(unit())
    assert re.findall(r"<h2[^>]*>(.*?)</h2>", page) == [
        "See first",
        "Changed since Mon 2 Mar 07:00",
        "Late, open, and due by the hour",
        "Every bed",
        "Questions asked, and who takes over",
    ]
    assert page.index('class="ranked"') < page.index("See first")


def test_a_change_says_old_new_and_why() -> None:
    told = changed_of(said([bed("1", was=WAS)]))
    plan = plan_for(rich("1"), POLICY, NOW)
    old = plan_for(rich("1").changed(**WAS), POLICY, NOW)
    was, now = (f"{one.level.value} {people_say(people_of(one))}" for one in (old, plan))
    assert " ".join(f"MORE help {was} {now}".split()) in told
    new = {reason.says for reason in plan.headline.reasons} - {reason.says for reason in old.headline.reasons}
    assert any(reason in told for reason in new)


def test_what_is_cut_says_what_it_is_about() -> None:
    told = changed_of(said([bed(str(n), was=WAS) for n in range(24)]))
    assert re.search(r"See screen: \w+", told)


def test_a_sheet_with_room_cuts_nothing_of_what_hurts() -> None:
    told = said([bed("1", was=None)])
    assert "See bedside card" not in told
    assert "See screen" in told, "the many reasons of a new bed give way first"


def test_a_new_bed_says_how_it_moves() -> None:
    told = said([bed("1", was=None)])
    assert "NEW here" in told
    assert f"Out of bed: {plan_for(rich('1'), POLICY, NOW).headline.method}" in told


def test_nothing_changed_is_said() -> None:
    assert "Nothing changed: every bed as before." in said([bed("1")])
    assert "1 bed as before." in said([bed("1"), bed("2", was=WAS)])


def test_an_out_of_date_bed_is_seen_first_and_shows_no_level_but_that_nobody_has_looked() -> None:
    told = html([bed("1", facts={"assessed_at": "2026-03-01T07:10"})])
    rows = told.split('aria-labelledby="beds"')[1]
    assert "OUT OF DATE 1" in Reader(told).text
    assert "OUT OF DATE ended Sun 1 Mar 19:30" in Reader(told).text
    assert ">UNSEEN</b>" in rows
    assert "out of bed" not in rows
    assert "Nothing here holds: look again first" in told


def test_a_bed_s_row_has_its_limits_its_risk_its_goals_and_its_course() -> None:
    told = said([bed("4W-12A", goals_done={Task.CHAIR: 2})]).split("Every bed")[1]
    for words in (
        "Left leg: partial weight, at most 41.0 kg (90 lb)",
        "Left arm: no weight",
        "chest tube left",
        "morse 85, high",
        "Dizzy, pressure drops: sit, then lie flat",
        "Goal: up to chair 2 of 3 times. Goal: walk 0 of 2 times.",
        "Level over the stay: LINK from",
        "Each bed’s plan is good until Mon 2 Mar 19:30 unless its row says otherwise",
    ):
        assert words in told, words


def test_overrides_falls_and_doors_are_told_of_the_bed() -> None:
    lowered = {"level": "NEARBY", "reason": "seen by the therapist", "by": "KM", "at": "2026-03-02T07:30"}
    told = said([bed("1", facts={**UNSTEADY, "override": lowered}, door_ok=False)])
    assert "Judged by KM, the rules say TEAM seen by the therapist" in told
    assert "Change the door card: 1" in told
    fall = {"at": "2026-03-02T07:40", "witnessed": False, "head_strike": "unknown", "anticoagulated": "yes"}
    told = said([bed("1", facts={"fall_event": fall})])
    assert "FALLEN 1" in told
    fell = "fell Mon 2 Mar 07:40, fall UNWITNESSED, head struck: not known, blood thinner: YES"
    assert fell in told.split("Late, open")[0]
    assert "AFTER A FALL:" in told.split("Every bed")[1]


def test_nearly_all_beds_are_named_by_those_that_are_not_meant() -> None:
    beds = [bed(str(n), facts={"turn_every_h": None if n == 3 else 2}) for n in range(8)]
    assert "Turn: every 2 h, last turn: not noted all 8 beds but 3" in said(beds)


def test_there_is_a_place_for_questions_and_for_both_names() -> None:
    """The Joint Commission, Sentinel Event Alert 58 (2017): transfer and acceptance, with a chance to ask."""
    told = said([bed("1")])
    for words in ("Questions asked", "Handed over by", "Taken over by", "Time"):
        assert words in told


def test_a_quiet_unit_says_so_and_an_empty_one_is_a_page_too(tmp_path: Path) -> None:
    alone = assessed("1", assessed_at="2026-03-02T07:10")
    told = said([bed("1", record=alone)])
    assert "NOBODY NEEDED 1" in told
    assert len(printed_on(tmp_path / "none.pdf", [])) == 1


def test_the_words_are_the_facility_s_own() -> None:
    own = scheme.scheme.read('[levels.TEAM]\nword = "CREW"\n')
    made = build_handoff([bed("1", was=WAS)], NOW, POLICY)
    told = Reader(handoff_html(made, own, NOW)).text
    assert "CREW out of bed" in told
    assert "TEAM" not in told


def test_hostile_text_adds_no_element_not_even_through_the_page_s_head() -> None:
    nasty = rich("4W-1", label="<b>&amp;\"'", lines=[{"kind": HOSTILE[:60]}], on_before_up=[])
    tame = rich("4W-1", label="x", lines=[{"kind": "x"}], on_before_up=[])
    scope = "</style><script>\"'\\"
    wild = html([bed("1", record=nasty, assignment=scope)], scope=scope)
    plain = html([bed("1", record=tame, assignment="JN")], scope="JN")
    assert Reader(wild).elements == Reader(plain).elements
    assert "Handoff: assignment </style><script>\"'\\" in Reader(wild).text


def test_the_fullest_beds_lose_no_row_and_tear_none(tmp_path: Path) -> None:
    names = [f"WWWWWWWWWWWWW{number}" for number in range(10, 22)]
    pages = printed_on(
        tmp_path / "handoff.pdf", [bed(name, record=fullest(name), was=None) for name in names]
    )
    told = [text(page) for page in pages]
    assert all(name in "".join(told).replace(" ", "") for name in names)
    assert "See bedside card:" in " ".join(told)
    ends = [page.count("read back") for page in told]
    starts = [page.count("AFTER A FALL") for page in told]
    assert sum(ends) == 12
    assert starts == ends, "a row's box and its flag are on the same page"


def test_unknown_paper_is_refused_naming_the_known() -> None:
    with pytest.raises(SheetRefused, match="a4, letter"):
        html([], paper="a3")


def test_the_same_handoff_is_the_same_page() -> None:
    assert html(unit()) == html(unit())


# What strangers need


@pytest.fixture(scope="module")
def busy(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, list[LTPage]]:
    made = page(unit())
    path = tmp_path_factory.mktemp("busy") / "handoff.pdf"
    write_pdf(made, path)
    return made.html(), list(extract_pages(path, laparams=LAParams(char_margin=1.0)))


def test_no_letter_is_smaller_than_eight_and_a_half_points(busy: tuple[str, list[LTPage]]) -> None:
    """The page's number is set in 3 mm, 8.5 pt: no letter of the same fonts is lower than its letters."""
    assert "counter(pages); font: 3mm" in busy[0]
    assert SMALLEST_MM / 25.4 * 72 >= 8.5
    for page in busy[1]:
        [foot] = [line for line in lines(page) if re.match(r"Page \d of", line.get_text())]
        lowest = min(letter.size for letter in foot if isinstance(letter, LTChar))
        assert min(letter.size for letter in letters(page)) >= lowest - 0.05


def test_page_and_paper_say_the_same_words(busy: tuple[str, list[LTPage]]) -> None:
    """Every word of the page stands on the paper as often, but for what only a screen can do."""
    page = re.sub(r"<(a|p|fieldset) [^>]*screen-only.*?</\1>|<title>.*?</title>", "", busy[0], flags=re.S)
    on_screen = Counter(re.findall(r"\w+", Reader(page).text))
    on_paper = Counter(re.findall(r"\w+", " ".join(text(one) for one in busy[1])))
    assert {word: n for word, n in on_screen.items() if on_paper[word] < n} == {}


def test_what_is_drawn_and_what_is_laid_out_from_the_page_say_the_same_on_as_many_pages(
    busy: tuple[str, list[LTPage]], tmp_path: Path
) -> None:
    write_pdf(busy[0], tmp_path / "laid_out.pdf")
    pages = list(extract_pages(tmp_path / "laid_out.pdf", laparams=LAParams(char_margin=1.0)))
    words = [Counter(re.findall(r"\w+", " ".join(map(text, some)))) for some in (pages, busy[1])]
    heads = Counter(re.findall(r"\w+", f"{NEXT_HEADS} " * len(pages)))
    assert len(pages) == len(busy[1])
    assert not (words[0] - words[1]) - heads
    assert not (words[1] - words[0]) - heads


NEXT_HEADS = (
    "Bed Level people you included Hurts if moved wrong Next goals done since 07 00 If it goes wrong "
    "Help over the stay More or less It was It is now Also new Why what is true now"
)
"""Column heads, which each way repeats where its own pages end."""


def test_a_page_the_facility_changed_or_a_letter_the_fonts_lack_is_laid_out_instead(
    tmp_path: Path,
) -> None:
    assert same_files(FILES, DRAWN_FROM), "the page or its style changed: draw that too, then its digest"
    for name in FILES:
        (tmp_path / name).write_text("ours", encoding="utf-8")
    assert not same_files(FILES, DRAWN_FROM, tmp_path)
    assert page([bed("1", record=rich("1", label="漢字"))]).drawn() is None


def test_drawn_pages_are_tagged_in_reading_order_with_the_scope_of_every_head(tmp_path: Path) -> None:
    """PDF/UA-1 (ISO 14289-1:2014), 7.5: header cells have a scope; 7.1: content is tagged or an artifact."""
    write_pdf(page(unit()), tmp_path / "handoff.pdf")
    with pikepdf.open(tmp_path / "handoff.pdf") as pdf:
        assert pdf.check_pdf_syntax() == []
        found = list(_tags(pdf.Root.StructTreeRoot.K))
        assert [tag for tag, _ in found if tag in ("/H1", "/H2")] == ["/H1", *["/H2"] * 5]
        scopes = Counter(scope for tag, scope in found if tag == "/TH")
        assert scopes == {"/Column": 12, "/Row": 24 + 9}
        for leaf in pdf.pages:
            told = pikepdf.parse_content_stream(leaf)
            marked = 0
            for operands, operator in told:
                marked += {"BDC": 1, "BMC": 1, "EMC": -1}.get(str(operator), 0)
                assert marked or str(operator) not in ("Tj", "f", "S", "B"), operands


def _tags(element: Any) -> Any:
    for kid in element if isinstance(element, pikepdf.Array) else [element]:
        if isinstance(kid, pikepdf.Dictionary):
            yield str(kid.get("/S", "")), str(kid.A.get("/Scope", "")) if "/A" in kid else ""
            yield from _tags(kid.get("/K", pikepdf.Array()))


def test_six_beds_of_an_assignment_take_one_page(tmp_path: Path) -> None:
    at = NOW.replace(hour=7, minute=20)
    beds = [bed("x", record=record_of(one, "day", at, "JN")) for one in demo()["beds"][18:]]
    assert len(printed_on(tmp_path / "handoff.pdf", beds)) == 1


def test_every_bed_is_linked_from_the_first_line_and_leads_back() -> None:
    page = html(unit())
    first = page.split('class="ranked"')[1].split("</p>")[0]
    targets = re.findall(r'href="#(bed-\d+)"', first)
    assert len(set(targets)) == 24
    assert all(f'<tr id="{target}"' in page for target in targets)
    assert page.count('href="#top"') == 24


def test_less_and_more_help_differ_in_shape_and_word() -> None:
    more = html([bed("1", was=WAS)])
    assert '<b class="m-more">MORE help</b>' in more
    mark = {
        kind: re.search(rf"\.m-{kind} {{ background-image: (.*?); }}", more)[1] for kind in ("more", "less")
    }  # type: ignore[index]
    assert mark["more"] != mark["less"]
