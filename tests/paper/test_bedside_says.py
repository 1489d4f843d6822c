"""What a bedside card says: every fact and reason, until when, and nothing it does not know."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest

from mobicard import scheme
from mobicard.derive.handing_over.people import people_of
from mobicard.derive.join.cautions import told
from mobicard.derive.model import AfterFall, Conflict, HeadObservations, OverrideShown
from mobicard.facts.words import Equipment, Level, Precaution, Task
from mobicard.paper.bedside.card import bedside_batches, bedside_html
from mobicard.paper.bedside.moves import cautions, rows
from mobicard.paper.clinical_words import PRECAUTION_SAYS, equipment
from mobicard.paper.door.face import BedCard
from mobicard.paper.phrases import Phrases, packaged
from mobicard.paper.sheet_sizes import SheetRefused
from mobicard.rules.by_move.floor import LIFT_FROM_THE_FLOOR
from tests.paper.beds import (
    HOSTILE,
    NOW,
    at_level,
    bed_card,
    emptiest,
    expired,
    seen,
)
from tests.paper.extremes import rich
from tests.paper.reading import Reader
from tests.records import INDEPENDENT

HOUSE = scheme.load()
MM = 72 / 25.4


def html(*cards: BedCard, **how: Any) -> str:
    return bedside_html(cards, HOUSE, NOW, **how)


def said(*cards: BedCard, **how: Any) -> str:
    return Reader(html(*cards, **how)).text


# What it says


def test_it_names_bed_time_code_and_who_looked() -> None:
    card = bed_card(rich())
    text = said(card)
    for words in (
        "Bed 4W-12A",
        "RT",
        "Not valid after Mon 2 Mar 2026 19:30",
        card.plan.code,
        "Looked at Mon 2 Mar 07:10 by JN",
    ):
        assert words in text
    assert f'alt="QR of code {card.plan.code}"' in html(card) or f"QR of code {card.plan.code}" in text


def test_every_move_stands_in_one_row_with_those_done_alike() -> None:
    card = bed_card(rich())
    shown = rows(card.plan, card.record, NOW)
    assert sorted(task for row in shown for task in row.tasks) == sorted(Task)
    for row, text in zip(shown, rows_of(card), strict=True):
        plans = [card.plan.tasks[task] for task in row.tasks]
        assert len({(plan.level, plan.helpers, plan.equipment) for plan in plans}) == 1
        assert f">{HOUSE.looks[plans[0].level].word}<" in text
        people = {None: "not now", 1: "1 person"}.get(plans[0].helpers, f"{plans[0].helpers} people")
        assert f"<p>{people}</p>" in text
    assert len(shown) < len(Task)
    assert len({row.tasks for row in shown}) == len(shown)


def test_a_row_names_only_gear_cleared_for_the_patient_with_its_rating_and_place() -> None:
    """181.4 kg is 400 lb: at 188 kg neither the slide board nor the plain sheet may be taken."""
    usual, heavy = said(bed_card(rich())), said(bed_card(rich(weight_kg=188)))
    board = "Lateral transfer aid (slide board): up to 181.4 kg (400 lb), equipment room"
    assert board in usual
    assert "lide board" not in heavy
    assert "Wide friction-reducing sheet: up to 453.5 kg (1000 lb), equipment room" in heavy
    assert "STOP" not in heavy


def test_where_no_gear_is_cleared_the_row_says_stop() -> None:
    unable = {"standing": "unable", "stepping": "unable"}
    heavy = said(
        seen("1", weight_kg=384, weight_bearing={}, help={**INDEPENDENT, "chair": "total"}, **unable)
    )
    assert "STOP: get one full-body lift rated for 384.0 kg (846 lb) or more." in heavy
    assert "up to 204.1 kg" not in heavy
    unknown = said(seen("1", weight_kg=None, help={**INDEPENDENT, "chair": "total"}, **unable))
    assert "STOP: weigh, or judge the weight by eye and record it Not used before that:" in unknown


def test_a_lifted_patient_s_card_says_nothing_of_standing() -> None:
    unable = {"standing": "unable", "stepping": "unable", "aids": ["gait_belt", "front_wheeled_walker"]}
    lifted = dict.fromkeys(("stand", "chair", "toilet", "walk"), "total")
    card = seen("1", weight_kg=80, help={**INDEPENDENT, **lifted}, **unable)
    assert card.plan.level is Level.HOIST
    first = Reader(html(card).split('<div class="again">')[0]).text
    for words in ("elt", "knees", "legs give way", "a seat within reach", "Fetch:", "walker"):
        assert words not in first


def test_the_load_limit_is_called_an_adaptation_and_no_certificate() -> None:
    """Waters, Am J Nurs 2007;107(8):53-58: 35 lb is the NIOSH equation adapted to patient handling."""
    text = said(bed_card(rich(lines=[])))
    assert "at most 15.8 kg (35 lb)" in text
    assert "adapted to patient handling" in text
    assert "not a certificate of safety" in text


def test_without_a_weight_the_card_says_why_no_share_is_given() -> None:
    text = said(bed_card(rich(weight_kg=None)))
    assert "weight not recorded" in text


def test_lines_are_listed_by_side_and_an_unknown_side_says_so() -> None:
    text = said(bed_card(rich()))
    assert "Left: chest tube (keep below chest)" in text
    assert "Right: peripheral IV" in text
    assert "Middle: urinary catheter" in text
    assert "Side not recorded: wound drain" in text


@pytest.mark.parametrize("precaution", list(Precaution))
def test_every_precaution_has_its_words(precaution: Precaution) -> None:
    text = said(bed_card(rich(precautions=[precaution.value])))
    assert PRECAUTION_SAYS[precaution] in text


def test_every_caution_of_every_move_is_on_the_card() -> None:
    card = bed_card(rich())
    text = said(card)
    assert all(caution in text for task in card.plan.tasks.values() for caution in cautions(card.plan, task))
    left = {one for task in card.plan.tasks.values() for one in told(card.plan, task)}
    left -= {LIFT_FROM_THE_FLOOR} if card.plan.tasks[Task.FLOOR].level is Level.HOIST else set()
    assert all(one in text for one in left), "a caution of standing by hand stands at the moves done so"


@pytest.mark.parametrize("moves", [1, 2, 3, 8, 9])
def test_a_caution_is_said_once_with_its_moves_however_many_it_holds_for(moves: int) -> None:
    card = at_level(Level.LINK)
    plans = dict(card.plan.tasks)
    for task in list(Task)[:moves]:
        plans[task] = replace(plans[task], cautions=("Mind the lamp",))
    text = said(BedCard(replace(card.plan, tasks=plans), card.record))
    shown = rows(replace(card.plan, tasks=plans), card.record, NOW)
    alike = {
        row for row in shown for task in row.tasks if "Mind the lamp" in " ".join(p.text for p in row.says)
    }
    assert text.count("Mind the lamp") == (len(alike) or 1)


def test_every_reason_and_every_caution_has_its_source_overleaf() -> None:
    """What asks for a caution only has its source too."""
    card = bed_card(rich())
    overleaf = Reader(html(card).split('<div class="again">', 1)[1]).text
    for reason in card.plan.headline.reasons:
        assert reason.says in overleaf or reason.rule == "help.someone_near"
        assert all(source in overleaf for source in reason.source.split("; "))
    assert "Urinary catheter: the bag stays below the bladder" in overleaf
    assert "CDC CAUTI guideline 2009" in overleaf


def test_a_hoisted_patient_s_reasons_name_no_lesser_way() -> None:
    card = bed_card(rich(weight_kg=188))
    assert card.plan.level is Level.HOIST
    assert "hands on the gait belt" not in said(card)


def test_a_reason_that_a_stronger_one_of_the_same_look_holds_is_not_said_beside_it() -> None:
    near = "The move took at least someone close by"
    assert near not in said(seen("1", help={**INDEPENDENT, "chair": "minimal"}))
    assert near in said(seen("1", help={**INDEPENDENT, "chair": "standby"}))


def test_what_goes_on_before_up_fall_risk_pressure_and_speech_are_there() -> None:
    text = said(bed_card(rich()))
    for words in (
        "cervical collar",
        "glasses, hearing aids",
        "Morse:",
        "high",
        "24/6",
        "interpreter needed",
        "right ear is the better one",
        "Goal: chair 3 times, walk 2 times",
        "Turn: every 2 h",
    ):
        assert words in text, words


def test_a_fall_score_that_lacks_answers_shows_its_range() -> None:
    """Unanswered items count at their most: Morse history 25 of 125, the rest open."""
    card = bed_card(rich(fall_risk={"instrument": "morse", "answers": {"history": True}}))
    risk = card.plan.fall_risk
    assert risk is not None
    assert risk.lowest < risk.score
    assert f"{risk.lowest} to {risk.score}, taken as {risk.band}; not answered:" in said(card)


def test_what_was_not_assessed_is_listed_and_what_is_missing_said() -> None:
    text = said(bed_card(rich(vitals=None, fall_risk=None)))
    assert "Fall risk: no score recorded, so counted as high" in text
    assert "pressure on standing not recorded" in text
    assert re.search(r"help seen with: [a-z, ]*\bwalk\b", text)


def test_equipment_and_override_are_settled_before_what_only_the_record_disagrees_on() -> None:
    paperwork = Conflict("Walk was seen done, but bed rest is ordered.", ("help.walk", "precautions"))
    rated = Conflict("The full-body lift is rated only to 800 lb.", ("inventory",))
    lowered = Conflict("One helper would bear 77 lb, limit 35 lb.", ("override", "help.chair"))
    text = said(at_level(Level.HOIST, conflicts=(paperwork, lowered, rated)))
    assert f"Open question {rated.says} {lowered.says}" in text
    assert f"To put right in the record {paperwork.says}" in text


def test_conflicts_are_to_be_settled_first() -> None:
    card = at_level(Level.TEAM, conflicts=(Conflict("The walker needs both arms.", ("aids",)),))
    assert "Open question The walker needs both arms." in said(card)


def test_an_override_shows_its_name_its_reason_and_what_the_rules_say() -> None:
    over = OverrideShown(
        Level.LINK, "walked with the therapist", "KM", NOW, True, NOW.replace(hour=19, minute=30)
    )
    text = said(at_level(Level.LINK, derived_level=Level.TEAM, override=over))
    for words in (
        "lowered to LINK by KM",
        "walked with the therapist",
        "the rules say TEAM",
        "Lapses Mon 2 Mar 19:30",
    ):
        assert words in text


def test_after_a_fall_the_steps_stand_under_the_level() -> None:
    fall = AfterFall(
        "do_not_move", "Do not move: not cleared after the fall", ("Call for help.", "Stay."), ()
    )
    text = said(at_level(Level.REMAIN, after_fall=fall))
    assert "AFTER A FALL Do not move: not cleared after the fall Call for help. Stay." in text
    assert HOUSE.remain.after_fall in text


def test_head_observations_stand_on_the_card_without_their_hours() -> None:
    """Since when, and that only a name stops them; the hours would be old with each one noted."""
    since, due = datetime(2026, 3, 2, 7, 40), datetime(2026, 3, 2, 8, 30)
    runs = HeadObservations(since, due, False, (due,), "then 09:00", since, "NICE", 0, "", "08:30")
    text = said(at_level(Level.SELF, head_observations=runs))
    assert "HEAD OBSERVATIONS Since Mon 2 Mar 07:40, until stopped by name." in text
    assert "08:30" not in text


def rows_of(card: BedCard) -> list[str]:
    return re.findall(r"<tr><th scope=\"row\">.*?</tr>", html(card))


def test_do_not_move_is_said_only_after_a_fall_or_of_one_not_awake() -> None:
    kept = at_level(Level.REMAIN)
    assert any("<p>not now</p>" in row for row in rows_of(kept))
    assert not any("do not move" in row for row in rows_of(kept))
    fall = AfterFall("do_not_move", "Do not move: not cleared after the fall", (), ())
    assert any("<p>do not move</p>" in row for row in rows_of(at_level(Level.REMAIN, after_fall=fall)))
    asleep = replace(kept, record=kept.record.changed(alertness="unresponsive"))
    assert any("<p>do not move</p>" in row for row in rows_of(asleep))


def test_an_assessment_dated_ahead_is_not_called_out_of_date() -> None:
    text = said(bed_card(rich(assessed_at="2026-03-05T07:10")))
    assert "NOT VALID The assessment is dated ahead, Thu 5 Mar 07:10" in text
    assert "Dated ahead: look again before moving" in text
    assert "Not valid: ask who has looked" in text
    assert "OUT OF DATE" not in text
    assert "Nobody has looked since" not in text


def test_one_of_the_aids_for_sliding_across_is_asked_for_not_all() -> None:
    """OSHA 3182 (2009), Fig. 2: a lateral aid, a friction-reducing sheet or an air device."""
    across = (Equipment.LATERAL_TRANSFER_AID, Equipment.FRICTION_REDUCING_SHEET)
    assert equipment(across) == "lateral transfer aid (slide board) or friction-reducing sheet"
    assert equipment((Equipment.FULL_BODY_LIFT, Equipment.SUPINE_SLING)) == "full-body lift, supine sling"


def test_the_load_note_stands_only_where_a_load_does() -> None:
    assert "NIOSH lifting equation" in said(bed_card(rich()))
    alone = seen("1")
    assert all(task.share_kg is None for task in alone.plan.tasks.values())
    assert "NIOSH lifting equation" not in said(alone)
    assert "NIOSH lifting equation" not in said(expired())


def test_a_limb_s_figure_is_never_above_its_order() -> None:
    """41.66 kg is 91.84 lb: never 41.7 kg, never 92 lb."""
    card = bed_card(rich(weight_bearing={"left_leg": {"status": "PWB", "kg": 41.66}}))
    assert "41.6 kg (91 lb)" in said(card)
    assert "41.7 kg" not in said(card)


def test_picture_signs_are_named_and_a_name_of_signs_stays_readable() -> None:
    card = bed_card(rich(on_before_up=["brace 🦿"], label="😀" * 12, bed="A🛏️B"))
    page = html(card)
    assert "brace [mechanical leg]" in Reader(page).text
    assert "[sign]" * 12 in page
    assert "Bed A[bed]B" in page
    assert not re.search("[\U0001f000-\U0001faff]", page)
    [size] = re.findall(r'class="label" style="font-size: ([\d.]+)mm"', page)
    assert float(size) >= 2.0


def test_an_out_of_date_card_shows_no_level_but_remain_and_since_when_nobody_looked() -> None:
    card = expired()
    text = said(card)
    assert "OUT OF DATE Nobody has looked since Sun 1 Mar 07:02" in text
    assert "Ended Sun 1 Mar 2026 19:30" in text
    words = {look.word for level, look in HOUSE.looks.items() if level is not Level.REMAIN}
    assert not words & set(re.findall(r"[A-Z]{4,}", text))
    assert "Why so" not in text
    assert re.search(r"\d (person|people)", text) is None


def test_a_bed_nobody_assessed_waits_for_a_look() -> None:
    text = said(emptiest())
    assert "NOT ASSESSED Nobody has recorded a look at this patient" in text
    assert "No move until somebody has looked: you, or ask who has." in text


def test_the_facility_s_own_words_are_used() -> None:
    own = scheme.scheme.read('[levels.TEAM]\nword = "CREW"\n')
    text = Reader(bedside_html([at_level(Level.TEAM)], own, NOW)).text
    assert "CREW" in text
    assert "TEAM" not in text


def test_it_calls_itself_decision_support() -> None:
    told = said(emptiest())
    for words in (
        "Decision support only",
        "Licensed judgement",
        "local codes come first",
    ):
        assert words in told


# Text is text


def test_hostile_text_adds_no_element_and_loses_no_letter() -> None:
    """Beside the same text with letters for its signs: as long, so the page turns at the same place."""

    def card(text: str, by: str, label: str) -> BedCard:
        spoken = {"note": text, "language": "es"}
        worn = {"lines": [{"kind": text[:60], "note": text}], "on_before_up": [text[:60]]}
        return bed_card(rich(**worn, communication=spoken, assessed_by=by, label=label))

    nasty = (HOSTILE, "</p><script>", "<b>&amp;\"'")
    tame = Reader(html(card(*(re.sub("[<>&;/\"']", "x", text) for text in nasty))))
    wild = Reader(html(card(*nasty)))
    assert wild.elements == tame.elements
    assert "<script>alert(1)</script> &amp;" in wild.text
    assert "</p><script>" in wild.text


# The patient's line


@pytest.mark.parametrize("language", sorted(packaged()))
@pytest.mark.parametrize("level", list(Level))
def test_each_language_has_a_line_for_each_level_marked_for_checking(language: str, level: Level) -> None:
    card = at_level(level)
    card = replace(card, record=card.record.changed(communication={"language": f"{language}-US"}))
    reader = Reader(html(card))
    [(_, attributes)] = [
        (tag, a) for tag, a in reader.attributes if a.get("lang") == language and tag == "blockquote"
    ]
    assert attributes["dir"] == ("rtl" if language == "ar" else "ltr")
    checked = "translation to be checked by the facility" in reader.text
    assert checked is (language != "en")


def test_a_language_without_lines_leaves_the_place_empty() -> None:
    card = bed_card(rich(communication={"language": "vi"}))
    assert "For the patient" not in said(card)
    assert "Language: Vietnamese" in said(card)


def test_the_line_can_be_left_out() -> None:
    assert "For the patient" not in said(bed_card(rich()), patient_lines=False)


def test_a_facility_s_own_checked_lines_go_first_and_name_who_checked() -> None:
    lines = "\n".join(f'{key} = "Línea {key}"' for key in (*Level, "after_fall"))
    head = 'language = "es"\nname = "Español"\ndirection = "ltr"\nchecked_by = "Ward interpreter"'
    own = Phrases.from_toml(f"{head}\n[lines]\n{lines}")
    text = said(bed_card(rich()), phrases={"es": own})
    assert "Línea TEAM" in text
    assert "translation checked: Ward interpreter" in text


def test_a_patient_on_the_floor_is_asked_to_stay_there() -> None:
    fall = AfterFall("do_not_move", "Do not move", (), ())
    card = at_level(Level.REMAIN, after_fall=fall)
    card = replace(card, record=card.record.changed(communication={"language": "en"}))
    assert "Please stay where you are." in said(card)


# Sheets and batches


def test_names_choose_paper_and_ink() -> None:
    made = html(at_level(Level.LINK), paper="letter", ink="grey")
    assert "size: 215.9mm 279.4mm" in made
    assert HOUSE.looks[Level.LINK].colour not in made, "grey means grey"


@pytest.mark.parametrize("how", [{"paper": "a3"}, {"ink": "gold"}])
def test_unknown_paper_or_ink_is_refused_naming_the_known(how: dict[str, str]) -> None:
    with pytest.raises(SheetRefused, match=r"a4|colour"):
        html(emptiest(), **how)


def test_batches_hold_every_bed_once_and_share_one_title() -> None:
    cards = [at_level(level) for level in Level] * 10
    pages = [batch.html() for batch in bedside_batches(cards, HOUSE, NOW)]
    assert sum(page.count('<article class="bed"') for page in pages) == 70
    assert {re.search("<title>(.*?)</title>", page)[1] for page in pages} == {  # type: ignore[index]
        "Bedside cards, 70 beds, printed 08:00, Mon 2 Mar 2026"
    }


def test_an_operation_nobody_has_looked_after_stands_with_its_hour() -> None:
    card = seen("1", operation={"at": "2026-03-02T07:50", "what": "hip nailing"})
    assert "hip nailing on 02 Mar 07:50: nobody has looked since" in said(card)


def test_asked_and_none_is_said_by_whom_and_when() -> None:
    text = said(seen("1", lines=[], precautions=[]))
    assert "asked 02 Mar 07:10 by JN, none: precautions, lines" in text
    assert "none: " not in said(seen("1"))


# Said once, and of one thing


FALLEN = {"at": "2026-03-02T07:40", "witnessed": False}


def first_side(card: BedCard) -> str:
    return Reader(html(card).split('<div class="again">')[0]).text


def test_a_move_nobody_makes_shows_no_people_and_no_gear_but_what_clears_it() -> None:
    """After a fall every number on the card was of a move that is forbidden."""
    fallen = seen("1", fall_event=FALLEN, fall_risk={"instrument": "morse", "answers": {"history": True}})
    text = said(fallen)
    assert "Cleared by: an examination after the fall that says clear, by name; then a look." in text
    assert "Not to be moved until cleared by name" in text
    assert "Until cleared by name: no move; then a new card" in text
    assert "Not valid after" not in text, "it may be moved after that hour, one would read"
    assert not re.search(r"arm.s reach|two or more|\b[2-46-9] people|with two|by [2-9]\b|two people", text)
    resting = seen("1", precautions=["bed_rest"], help={**INDEPENDENT, "up_in_chair": "setup"})
    [row] = [row for row in rows_of(resting) if "not now" in row]
    assert "Cleared by:</b> whoever ends the order, by name." in row
    assert "wheels" not in row


def test_one_who_vomits_is_turned_by_one_number_of_people() -> None:
    fallen = seen("1", fall_event=FALLEN, precautions=["spinal"])
    told = "log roll at once, 5 people, one of them at the head; fewer there: turn anyway."
    assert told in first_side(fallen)
    assert re.findall(r"by (\d)|(\d) people", first_side(fallen)) == [("", "5")]


def test_an_unknown_weight_says_the_same_to_do_everywhere() -> None:
    lifted = {"standing": "unable", "stepping": "unable", "help": {**INDEPENDENT, "chair": "total"}}
    text = said(seen("1", weight_kg=None, **lifted))
    assert "STOP: weigh, or judge the weight by eye and record it Not used before that:" in text
    assert "counted as the heaviest: weigh, or judge the weight by eye and record it" in text
    assert "Nothing is cleared" not in text
    assert "weigh first" not in text


def test_what_is_worn_stands_apart_from_what_is_fetched() -> None:
    aids = ["glasses", "front_wheeled_walker"]
    text = first_side(seen("1", standing="supported", aids=aids, on_before_up=["knee brace"]))
    assert "Put on: knee brace, glasses Fetch: front-wheeled walker" in text


def test_an_order_for_a_limb_is_named_an_order_and_gear_and_helpers_bear_nothing() -> None:
    text = said(bed_card(rich()))
    assert "Left leg, order: part weight" in text
    assert not re.search(r"\bbears?\b", text)


def test_a_fall_risk_nobody_scored_is_said_one_way() -> None:
    """The reason said “high by the unit's instrument”, the block beside it “no score recorded”."""
    text = said(seen("1", weight_kg=80, fall_risk=None))
    assert "High fall risk by the unit's instrument, or not scored" in text
    assert "Fall risk: no score recorded, so counted as high" in text


@pytest.mark.parametrize(("weak", "strong", "turn"), [("right", "left", "RIGHT"), ("left", "right", "LEFT")])
def test_the_side_a_pivot_goes_to_is_the_patients_and_the_brief_says_the_same(
    weak: str, strong: str, turn: str
) -> None:
    """Sitting down on the left, the body turns right: both are said, and of what."""
    card = seen("1", standing="supported", stepping="pivots", weak_side=weak)
    text = said(card)
    assert f"tand and pivot towards the patient's {strong} (stronger) side" in text
    assert f"Chair at patient's {strong}, 45°" in text
    assert f"Turn {turn} 45°: legs feel chair" in text


def test_who_gives_way_is_eased_down_and_not_caught_on_both_sides() -> None:
    text = said(seen("1", standing="supported", stepping="pivots"))
    assert text.lower().count("do not catch or lift") == 1
    assert text.count("no catching; ease down") == 1
    assert "slide down against you" not in text
    assert "No catching" not in text


def test_nobody_is_asked_to_push_with_legs_whose_orders_nobody_asked_for() -> None:
    unasked, asked = (seen("1", standing="supported", **known) for known in ({}, {"weight_bearing": {}}))
    assert "Push up with both legs" in said(asked)
    assert "Push up with" not in said(unasked)
    assert "Weight bearing: nobody has asked whether it is limited" in said(unasked)
    assert "Weight bearing: no limit ordered" in said(asked)


def test_only_what_raises_the_plan_is_called_taken_as_the_worst() -> None:
    text = said(seen("1", standing=None, weight_kg=80, fall_risk=None))
    assert "Taken as the worst: standing, fall risk" in text
    assert re.search("Not on record, so ask: [a-z, ]*precautions, lines", text)


def test_no_seat_is_right_behind_where_the_chair_stands_beside() -> None:
    text = said(seen("1", standing="supported", stepping="pivots"))
    assert "Legs may give way: a seat within reach at all times" in text
    assert "behind" not in text


def test_the_end_is_said_with_its_year_and_no_sign_is_without_words() -> None:
    card = at_level(Level.TEAM)
    assert "Not valid after Mon 2 Mar 2026 19:30" in said(card)
    assert "on the scale of help" not in html(card)


def test_a_row_of_a_lift_has_no_caution_of_sliding_or_of_a_leg_s_limit() -> None:
    card = bed_card(rich(weight_kg=188))
    hoisted = [row for row in rows(card.plan, card.record, NOW) if row.level == Level.HOIST]
    assert hoisted
    told_there = " ".join(point.plain for row in hoisted for point in row.says)
    assert "else full-body lift" not in told_there
    assert "leg: at most" not in told_there


def test_the_banner_has_both_numbers_as_the_door() -> None:
    """“Out of bed: 3” above a row that takes 4 in bed was read as 3 for all."""
    card = bed_card(rich(standing="unable", stepping="unable", help={**INDEPENDENT, "chair": "total"}))
    people = people_of(card.plan)
    assert people.out_of_bed
    assert people.in_bed
    assert f"{people.out_of_bed} people out of bed, {people.in_bed} in bed, you included" in said(card)
    stays = bed_card(rich(precautions=["bed_rest"]))
    assert f"Not out of bed in bed: {people_of(stays.plan).in_bed} p" in said(stays)


def test_a_lift_to_a_seat_names_its_sling_and_not_the_floor_s_two_or_more() -> None:
    lifted = {"standing": "unable", "stepping": "unable", "help": {**INDEPENDENT, "chair": "total"}}
    whole = seen("1", weight_bearing={}, **lifted)
    chair = next(row for row in rows(whole.plan, whole.record, NOW) if Task.CHAIR in row.tasks)
    assert any(point.strong == "Sling of the lift's maker:" for point in chair.says)
    absent = seen("1", weight_bearing={"left_leg": {"status": "absent_limb"}}, **lifted)
    assert "Amputee sling, never split-leg: right size, limit on its label" in said(absent)
    assert "Any doubt on the floor" not in said(whole)


def test_in_the_chair_again_is_called_as_the_trade_does_and_not_almost_as_to_the_chair() -> None:
    text = said(seen("1", standing="supported", help={}))
    assert "eposition in chair" in text
    assert "p in chair" not in text


def test_a_sling_goes_under_with_the_people_a_turn_takes() -> None:
    """Three to the chair by lift, four to turn: and the sling goes under by turning."""
    confused = {"directions": "unable", "alertness": "voice", "standing": "unable", "stepping": "unable"}
    card = seen("1", weight_kg=83, help=dict.fromkeys(INDEPENDENT, "maximal"), **confused)
    turn, chair = (card.plan.tasks[task].helpers for task in (Task.TURN, Task.CHAIR))
    assert turn is not None
    assert chair is not None
    assert turn > chair
    assert f"right size, limit on its label; rolled under by {turn} people, as a turn." in said(card)


def test_gear_at_the_bed_is_not_sent_for_and_a_walker_does_not_invite_to_walk() -> None:
    card = seen("1", standing="supported", stepping="unable", aids=["gait_belt", "front_wheeled_walker"])
    assert card.plan.tasks[Task.WALK].helpers is None
    assert "Gait belt: at the bed" in said(card)
    assert "Fetch: front-wheeled walker (to stand with; no walking now)" in said(card)
