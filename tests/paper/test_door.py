"""What a door card says, that it says it whole, and that nothing typed can break it."""

from __future__ import annotations

import base64
import io
import re
from dataclasses import replace
from datetime import datetime, timedelta
from html.parser import HTMLParser

import pytest
import zxingcpp
from PIL import Image

from mobicard import scheme
from mobicard.derive import plan_for
from mobicard.derive.model import AfterFall, Conflict, FallRisk, LimbLimit, OverrideShown
from mobicard.facts import read_record
from mobicard.facts.words import Equipment, Level, Limb, Task, WeightBearing
from mobicard.paper import text_fit
from mobicard.paper.door.card import _fitted, door_batches, door_html
from mobicard.paper.door.face import BedCard, State
from mobicard.paper.door.layout import BOLD_CAP, FRAME, LATER, STRIP, THEN, layout_for
from mobicard.paper.door.says import FALLEN, door_face
from mobicard.paper.shapes import INKS
from mobicard.paper.sheet_sizes import CAP_HEIGHT, SIZES, Sheet
from mobicard.paper.sub_line import sub_line
from mobicard.rules.policy import Policy
from tests.paper.beds import HOSTILE, NOW, POLICY, at_level, emptiest, expired, longest, seen, seven_levels
from tests.records import INDEPENDENT

HOUSE = scheme.load()
A5 = Sheet.named("a5", paper="a5")
HIGH = {"instrument": "morse", "answers": {"history": True, "secondary_diagnosis": True, "iv": True}}


def face(card: BedCard, policy: Policy = POLICY, now: datetime = NOW):  # type: ignore[no-untyped-def]
    return door_face(card, HOUSE, policy, now)


class Page(HTMLParser):
    """The tags of a page and its visible text, a piece for each block, line breaks read as spaces."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.piece = ""
        self.unseen = False
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self.unseen = tag in {"style", "title"}
        self.piece = self.piece + " " if tag == "br" else ""

    def handle_endtag(self, tag: str) -> None:
        if self.piece.strip() and not self.unseen:
            self.text.append(self.piece.strip())
        self.piece, self.unseen = "", False

    def handle_data(self, data: str) -> None:
        self.piece += data

    def says(self, words: str) -> bool:
        """Whether one piece is these words, wherever its lines break."""
        return words.replace(" ", "") in {piece.replace(" ", "") for piece in self.text}


def page(*cards: BedCard, sheet: Sheet = A5, policy: Policy = POLICY) -> Page:
    return Page(door_html(cards, sheet, HOUSE, policy, NOW))


@pytest.mark.parametrize("level", list(Level))
def test_each_level_shows_its_word_and_its_own_line(level: Level) -> None:
    shown = face(at_level(level))
    assert (shown.look.word, shown.sub_line) == (level.value, HOUSE.looks[level].sub_line)


@pytest.mark.parametrize(
    ("level", "people", "says"),
    [
        (Level.SELF, "0", "out of bed: nobody needed"),
        (Level.NEARBY, "1", "out of bed"),
        (Level.TEAM, "2", "out of bed"),
        (Level.HOIST, "2", "out of bed, by machine"),
        (Level.REMAIN, "–", "out of bed: no"),
    ],
)
def test_two_numbers_say_the_people_needed_out_of_bed_and_in_bed(
    level: Level, people: str, says: str
) -> None:
    up, lying = face(at_level(level)).numbers
    assert (up.people, up.says) == (people, says)
    assert (lying.people, lying.moves) == ("0", "turn, boost, sit up")


def test_the_numbers_are_the_most_of_their_group() -> None:
    """Somebody who reads “1” and finds the toilet takes two has fetched too few."""
    help_ = {**INDEPENDENT, "chair": "contact_guard", "toilet": "minimal", "boost": "minimal"}
    card = seen("1", weight_kg=95, help=help_)
    up, lying = face(card).numbers
    assert (up.people, lying.people) == ("2", "3")
    assert face(card).word == "TEAM"


@pytest.mark.parametrize(("order", "people"), [("spinal", "4"), ("spinal_cervical", "5")])
def test_with_a_spine_not_cleared_the_log_roll_and_its_count_stay_on_the_card(
    order: str, people: str
) -> None:
    """Who vomits must be turned at once, also where nobody has turned them yet. Trauma references: 4, 5."""
    record = read_record({"bed": "1", "precautions": [order], "assessed_at": "2026-03-02T07:10"})
    card = BedCard(plan_for(record, POLICY, NOW), record)
    up, lying = face(card).numbers
    assert (up.people, lying.people, lying.says) == ("–", people, "in bed: log roll only")
    assert face(card).sub_line == "spine not cleared: stays lying"
    told = [caution for caution in card.plan.tasks[Task.TURN].cautions if "Vomiting" in caution]
    assert told == [f"Vomiting: log roll at once, even with fewer than {people}"]


def test_by_machine_out_of_bed_and_by_hand_in_it() -> None:
    """More people in bed than out of it was read as two columns changed about."""
    card = more(at_level(Level.HOIST), turn=TWO, boost=THREE)
    up, lying = face(card).numbers
    assert (up.says, lying.says, lying.people) == ("out of bed, by machine", "in bed, by hand", "3")


def test_moves_in_bed_that_nobody_has_seen_are_not_named_beside_the_number() -> None:
    card = seen("1", help={**INDEPENDENT, "turn": "refused", "sit_up": "refused"})
    assert face(card).numbers[1].moves == "boost"
    barred = more(at_level(Level.LINK), boost=TWO, turn=(Level.REMAIN, None, ()))
    assert (face(barred).numbers[1].people, face(barred).numbers[1].moves) == ("2", "boost, sit up; not turn")


def test_equipment_is_named() -> None:
    assert face(at_level(Level.HOIST)).items[0] == "Full-body lift (machine), repositioning sling"


def test_limb_limits_follow_the_gear_in_kg_and_lb_and_each_once() -> None:
    limits = (
        LimbLimit(Limb.LEFT_LEG, WeightBearing.PWB, 41.0, 90.4, ""),
        LimbLimit(Limb.RIGHT_LEG, WeightBearing.WBAT, None, None, ""),
        LimbLimit(Limb.LEFT_ARM, WeightBearing.NWB, 0.0, 0.0, ""),
        LimbLimit(Limb.RIGHT_ARM, WeightBearing.NWB, 0.0, 0.0, ""),
    )
    items = face(at_level(Level.LINK, weight_bearing=limits)).items
    assert items[:2] == ("Gait belt", "Patient's LEFT ARM, RIGHT ARM: no weight on it")
    assert (
        items[2].replace("\xa0", " ") == "Patient's LEFT LEG: partial weight, at most 41.0 kg (90 lb)"
    )  # 90.389, down
    assert not any("RIGHT LEG" in item for item in items)


@pytest.mark.parametrize("shown", [True, False])
def test_fall_risk_is_at_the_door_only_if_the_policy_says_so(shown: bool) -> None:
    card = at_level(Level.LINK, fall_risk=FallRisk("morse", 75, 75, "high", (), "Morse 1989"))
    policy = Policy(door={"show_fall_risk": shown})
    assert ("Fall risk: high" in face(card, policy).items) is shown


@pytest.mark.parametrize("shown", [True, False])
def test_a_caution_names_fall_risk_only_if_the_policy_shows_it_and_then_once(shown: bool) -> None:
    risk = FallRisk("morse", 75, 75, "high", (), "Morse 1989")
    card = at_level(Level.LINK, fall_risk=risk, cautions=("High fall risk: stay within arm's reach",))
    items = face(card, Policy(door={"show_fall_risk": shown})).items
    assert items[-1] == ("High fall risk: stay within arm's reach" if shown else "Stay within arm's reach")
    assert sum("fall risk" in item.lower() for item in items) == int(shown)


def test_a_limb_whose_limit_stands_on_the_card_is_not_warned_of_twice() -> None:
    limits = (LimbLimit(Limb.LEFT_LEG, WeightBearing.PWB, 41.0, 90.4, ""),)
    warned = ("Left leg: keep to its weight limit", "Right leg: keep to its weight limit")
    items = face(at_level(Level.LINK, weight_bearing=limits, cautions=warned)).items
    assert "Left leg: keep to its weight limit" not in items
    assert "Right leg: keep to its weight limit" in items


@pytest.mark.parametrize("shown", [True, False])
def test_the_label_is_at_the_door_only_if_the_policy_says_so(shown: bool) -> None:
    card = seen("4W-12A", label="RT")
    text = page(card, policy=Policy(door={"show_label": shown})).text
    assert ("4W-12A RT" in text) is shown
    assert ("4W-12A" in text) is not shown


def test_until_when_it_holds_is_on_the_card() -> None:
    text = page(seen("4W-12A")).text
    at = text.index("NOT VALID AFTER")
    assert text[at + 1 : at + 3] == ["Mon 2 Mar", "19:30"]


def test_the_code_names_the_content_and_not_the_hour() -> None:
    """Looked at again and nothing changed: the same card. Without boxes the end is content too."""
    first = seen("4W-12A")
    again = first.record.changed(assessed_at="2026-03-02T19:05", assessed_by="AB")
    later = datetime(2026, 3, 2, 20)
    second = BedCard(plan_for(again, POLICY, later), again)
    assert face(first).code == face(second, now=later).code
    assert face(first).until != face(second, now=later).until
    hourly = Policy(door={"strip": 0})
    assert face(first, hourly).code != face(second, hourly, later).code
    assert face(first).code != face(seen("4W-12A", neglect="left")).code


def test_a_box_for_each_coming_shift_says_its_own_end() -> None:
    """A card lasts as long as its content: seen again and nothing changed, the next box is initialled."""
    ends = ("ENDS Tue 3, 07:30", "ENDS Tue 3, 19:30", "ENDS Wed 4, 07:30", "ENDS Wed 4, 19:30")
    assert face(seen("4W-12A")).boxes == ends
    assert face(seen("4W-12A"), Policy(door={"strip": 0})).boxes == ()
    assert face(seen("4W-12A"), Policy(door={"strip": 1})).boxes == ends[:1]


def test_the_first_end_says_beside_it_that_a_later_one_may_be_signed() -> None:
    """On a card signed on to a later shift readers took the large first end for its end."""
    text = page(seen("4W-12A")).text
    at = text.index("19:30")
    assert text[at + 1 : at + 4] == [
        "unless a later end",
        "below is signed",
        "Past its end: assess first, never fewer people",
    ]
    hourly = page(seen("4W-12A"), policy=Policy(door={"strip": 0})).text
    assert hourly[hourly.index("19:30") + 1 :][:2] == ["Then assess first,", "never fewer people"]
    assert not {"unless a later end", "below is signed"} & set(hourly)


@pytest.mark.parametrize("name", list(SIZES))
@pytest.mark.parametrize("ink", INKS)
def test_what_stands_about_the_end_fits_its_place_and_is_as_large_as_a_line(name: str, ink: str) -> None:
    """Beside the hour half as large again as before: 2.9 mm capitals on a card for 3 m, read at 1 m."""
    layout = layout_for(Sheet.named(name, paper=name, ink=ink))
    beside, above = layout.size(4.2), layout.size(3.35)
    for pair in (LATER, THEN):
        for index, text in enumerate(pair):
            box = layout.places[f"then{index}"]
            assert text_fit.width_mm(text, beside, text_fit.WORD) <= box[2]
            assert beside * text_fit.LINE <= box[3] + 0.01
    strip = layout.places["strip"]
    assert text_fit.width_mm(STRIP, above, text_fit.WORD) <= strip[2]
    assert beside * CAP_HEIGHT >= 2.9 * layout.scale


def test_a_judgement_shows_its_name_and_what_the_rules_say_but_never_the_words_of_its_reason() -> None:
    shown = OverrideShown(Level.LINK, "stood with me after lunch", "JN", NOW, True, NOW + timedelta(hours=8))
    card = at_level(Level.LINK, override=shown, derived_level=Level.HOIST)
    said = face(card)
    assert said.items[0] == "Judged by JN; the rules say HOIST"
    assert not any("lunch" in text for text in page(card).text)


def test_equipment_not_cleared_for_the_patient_is_said_right_under_it_without_a_weight() -> None:
    rated = Conflict("The full-body lift on the unit is rated only to 800 lb.", ("weight_kg", "inventory"))
    paper = Conflict("Walk was seen done, but bed rest is ordered.", ("help.walk", "precautions"))
    items = face(at_level(Level.HOIST, conflicts=(paper, rated), cautions=("Mind the lamp",))).items
    assert items == (
        "Full-body lift (machine), repositioning sling",
        "STOP: nothing here is cleared to bear the patient, get one",
        "Mind the lamp",
    )


def test_gear_of_another_move_stops_nobody() -> None:
    """The board is too weak, the move out of bed takes a lift that bears the patient: no STOP at the door."""
    other = Conflict(
        "The lateral transfer aid on the unit is rated only to 400 lb.", ("weight_kg", "inventory")
    )
    assert not [item for item in face(at_level(Level.HOIST, conflicts=(other,))).items if "STOP" in item]


def test_team_over_a_board_is_said_to_be_seated() -> None:
    legs = tuple(LimbLimit(limb, WeightBearing.NWB, 0.0, 0.0, "") for limb in Limb if limb.is_leg)
    assert face(at_level(Level.TEAM, weight_bearing=legs)).sub_line == "hands on, seated over a board"
    assert face(at_level(Level.TEAM, weight_bearing=legs[:1])).sub_line == "hands on, together"


def test_team_never_says_bears_weight_of_a_patient_moved_seated_over_a_board() -> None:
    """Whatever the reason: who slides over seated puts no weight on the legs, and is not to be stood."""
    card = seen("1", stepping="unable", help={**INDEPENDENT, "chair": "moderate", "stand": "moderate"})
    chair = replace(card.plan.headline, level=Level.TEAM, equipment=(Equipment.SEATED_TRANSFER_AID,))
    plan = replace(card.plan, level=Level.TEAM, tasks={**card.plan.tasks, Task.CHAIR: chair})
    assert face(replace(card, plan=plan)).sub_line == HOUSE.seated
    stood = replace(chair, equipment=(Equipment.GAIT_BELT,))
    plan = replace(plan, tasks={**plan.tasks, Task.CHAIR: stood})
    assert face(replace(card, plan=plan)).sub_line == HOUSE.looks[Level.TEAM].sub_line


@pytest.mark.parametrize("state", ["may_be_helped_up", "reassess"])
def test_a_patient_on_the_floor_or_just_up_is_never_told_to_stay_in_bed(state: str) -> None:
    fall = AfterFall(state, "Up after a fall: assess again before any move", (), ())
    said = face(at_level(Level.REMAIN, after_fall=fall))
    assert said.sub_line == "up after a fall: assess again before any move"


@pytest.mark.parametrize(
    ("ordered", "shown"), [(41.0, "41.0 kg (90 lb)"), (41.66, "41.6 kg (91 lb)"), (0.99, "0.9 kg (1 lb)")]
)
def test_a_limit_is_never_rounded_up(ordered: float, shown: str) -> None:
    legs = {"left_leg": {"status": "PWB", "kg": ordered}}
    says = face(seen("1", weight_bearing=legs)).items
    assert any(shown in item.replace("\u00a0", " ") for item in says)


def test_after_a_fall_the_band_says_do_not_move_and_no_hour_says_until_when() -> None:
    """“Holds until 07:30” was read as: may be moved after 07:30."""
    card = seen("1", fall_event={"at": "2026-03-02T07:40"}, fall_risk=HIGH)
    said = face(card)
    assert (said.state, said.band) == (State.FALLEN, "DO NOT MOVE THE PATIENT")
    assert said.sub_line == "after a fall, 2 Mar 07:40"
    assert (said.until, said.boxes, said.numbers) == ((), (), ())
    assert said.items == FALLEN
    text = " ".join(page(card).text)
    assert not re.search("[Aa]sk|fall risk|NOT VALID", text)


def test_a_patient_nobody_has_looked_at_is_unseen_and_nothing_is_claimed() -> None:
    card = emptiest()
    said = face(card)
    assert (said.state, said.word) == (State.UNSEEN, "UNSEEN")
    assert said.says == (
        "Nobody has assessed this patient yet.",
        "No move until assessed at the bedside: by you, or ask who has.",
    )
    assert (said.items, said.numbers, said.until, said.sub_line) == ((), (), (), "")
    assert "REMAIN" not in page(card).text


def test_an_order_is_said_before_what_nobody_assessed() -> None:
    """On a bad night “not assessed” over a patient on bed rest sends somebody to try."""
    record = read_record({"bed": "5N-01", "precautions": ["bed_rest"]})
    plan = plan_for(record, Policy(), NOW)
    assert plan.not_assessed
    assert sub_line(plan, HOUSE) == "bed rest ordered"
    assert (
        sub_line(plan_for(read_record({"bed": "5N-01"}), Policy(), NOW), HOUSE) == HOUSE.remain.not_assessed
    )


def test_other_missing_facts_do_not_claim_the_move_is_unassessed() -> None:
    card = at_level(Level.REMAIN, not_assessed=("help.floor", "weight_kg"))
    assert (face(card).state, face(card).sub_line) == (State.LEVEL, "stay in bed until cleared")


@pytest.mark.parametrize("level", [level for level in Level if level is not Level.REMAIN])
def test_an_expired_card_never_shows_the_level_nobody_stands_behind(level: Level) -> None:
    stale = at_level(
        level,
        expired=True,
        assessed_at=datetime(2026, 3, 1, 7, 2),
        valid_until=datetime(2026, 3, 1, 19, 30),
    )
    text = page(stale).text
    assert "UNSEEN" in text
    assert level.value not in text
    assert page(stale).says("Nobody has assessed this patient since Sun 1 Mar 07:02.")
    assert face(stale).numbers == ()
    assert face(stale).until == ()


def test_an_expired_record_keeps_its_limb_orders_and_cautions() -> None:
    limits = (LimbLimit(Limb.LEFT_LEG, WeightBearing.NWB, 0.0, 0.0, ""),)
    slack = "Give tubes and lines slack first"
    stale = at_level(Level.LINK, expired=True, weight_bearing=limits, cautions=(slack,))
    assert face(stale).items == ("Patient's LEFT LEG: no weight on it", slack)


def test_an_assessment_dated_ahead_is_not_said_to_be_a_look() -> None:
    ahead = at_level(
        Level.LINK, expired=True, assessed_at=NOW + timedelta(days=1), valid_until=NOW + timedelta(days=2)
    )
    assert face(ahead).says[0] == "Nobody has assessed this patient yet."


def test_a_bare_digit_counts_people_and_says_so() -> None:
    """A lone digit would be read as a scale running the other way."""
    for card in seven_levels():
        text = page(card).text
        digits = [piece for piece in text if re.fullmatch(r"\d", piece)]
        assert digits == [number.people for number in face(card).numbers if number.people.isdigit()]
        assert not digits or "People needed, you included" in text


NASTIEST = {
    "bed": "4W-12A Smith",
    "label": "RT",
    "weight_kg": 188.0,
    "weight_bearing": {"left_leg": "absent_limb", "right_leg": {"status": "PWB", "kg": 20}},
    "pregnancy_weeks": 30,
    "sore_sites": ["sacrum"],
    "neglect": "left",
    "override": {"level": "HOIST", "reason": "father drinks", "by": "JN", "at": "2026-03-02T07:30"},
    "operation": {"at": "2026-03-02T07:40", "what": "hip nailing", "by": "AB"},
    "lines": [{"kind": "chest tube", "note": "tumour side"}],
    "on_before_up": ["ostomy belt"],
}


def test_the_nastiest_record_tells_a_passer_by_nothing_of_the_patient() -> None:
    """HHS HIPAA FAQ 200 and 202: the minimum necessary. Read back from the page."""
    facts = {name: value for name, value in NASTIEST.items() if name != "bed"}
    for at in ("2026-03-02T07:10", "2026-03-01T07:10"):
        record = read_record(
            {**seen("1").record.as_json(), **facts, "bed": NASTIEST["bed"], "assessed_at": at}
        )
        text = " ".join(page(BedCard(plan_for(record, POLICY, NOW), record)).text)
        assert not re.search(
            "Smith|RT|188|414|absent|regnan|acrum|[Mm]isses|drinks|nailing|tumour|ostomy|[Aa]mput", text
        ), text


# Moves that take more than the large number.


def harder(card: BedCard) -> list[str]:
    return [item for item in face(card).items if re.search(r": (\d people|1 person)", item)]


def more(card: BedCard, **tasks: tuple[Level, int | None, tuple[Equipment, ...]]) -> BedCard:
    """The card with these moves as told; its other moves but the headline need nobody."""
    plans = {
        task: replace(plan, level=Level.SELF, helpers=0, equipment=()) if task is not Task.CHAIR else plan
        for task, plan in card.plan.tasks.items()
    }
    for name, (level, helpers, kit) in tasks.items():
        task = Task(name)
        plans[task] = replace(plans[task], level=level, helpers=helpers, equipment=kit)
    return replace(card, plan=replace(card.plan, tasks=plans))


TWO = (Level.TEAM, 2, ())
THREE = (Level.TEAM, 3, ())
LIFT = (Level.HOIST, 2, (Equipment.FULL_BODY_LIFT, Equipment.REPOSITIONING_SLING))


def test_moves_of_neither_number_that_take_more_people_are_on_the_card() -> None:
    card = more(at_level(Level.LINK), walk=TWO, stretcher=THREE, turn=THREE)
    assert harder(card) == ["Onto a stretcher: 3 people; walk: 2 people"]
    assert harder(more(at_level(Level.TEAM), walk=TWO, floor=THREE)) == []


def test_a_lift_the_headline_does_without_is_named_and_one_it_has_is_not() -> None:
    lifted = more(at_level(Level.TEAM), up_in_chair=LIFT, stretcher=THREE)
    assert harder(lifted) == ["Onto a stretcher: 3 people; up in chair: 2 people, full-body lift"]
    assert harder(more(at_level(Level.HOIST), up_in_chair=LIFT)) == []


def test_a_standing_aid_is_no_full_body_lift() -> None:
    """Each is named where the headline move does with the other, or with neither."""
    lifted = more(at_level(Level.POWER), up_in_chair=LIFT)
    assert harder(lifted) == ["Up in chair: 2 people, full-body lift"]


def test_hands_on_is_said_where_the_card_says_hands_off() -> None:
    by_hand = (Level.LINK, 1, ())
    assert harder(more(at_level(Level.NEARBY), walk=by_hand)) == ["Walk: 1 person, hands on"]
    assert harder(more(at_level(Level.LINK), walk=by_hand)) == []


def test_a_patient_kept_in_bed_has_a_number_for_the_moves_there() -> None:
    card = more(at_level(Level.REMAIN), boost=TWO, turn=TWO, stretcher=THREE)
    assert [number.people for number in face(card).numbers] == ["–", "2"]
    fall = AfterFall("may_be_helped_up", "On the floor: examined, may be helped up", (), ())
    assert face(replace(card, plan=replace(card.plan, after_fall=fall))).numbers == ()


def test_an_expired_card_gives_no_number_of_helpers_for_any_move() -> None:
    card = more(at_level(Level.LINK, expired=True), boost=THREE, walk=THREE)
    assert (harder(card), face(card).numbers) == ([], ())


@pytest.mark.parametrize("name", list(SIZES))
def test_cautions_never_take_the_room_of_the_moves_that_take_more(name: str) -> None:
    cautions = tuple(f"Caution {index} " + "x" * 60 for index in range(12))
    card = more(at_level(Level.LINK, cautions=cautions), walk=TWO)
    read = page(card, sheet=Sheet.named(name, paper=name))
    assert read.says("Walk: 2 people")
    assert any("more points: bedside card" in text for text in read.text)


def test_what_a_patient_s_other_moves_take_changes_the_code_with_the_card() -> None:
    """The door that hangs must be known for an old one when only the number in bed is new."""
    before, after = seen("1"), seen("1", help={**INDEPENDENT, "turn": "minimal"})
    assert before.plan.headline == after.plan.headline
    assert [face(card).numbers[1].people for card in (before, after)] == ["0", "3"]
    assert face(before).code != face(after).code


KNEES, EDGE = "Legs may give way: a seat within reach at all times", "Never alone at the edge of the bed"
IN_A_LIFT = {"sitting": "supported", "standing": "supported", "stepping": "unable", "arms": "neither"}


def test_with_a_lift_the_card_leaves_off_what_only_a_patient_on_the_feet_or_the_edge_needs() -> None:
    card = seen("1", **IN_A_LIFT, help=dict.fromkeys(INDEPENDENT, "total"), behavior="unpredictable")
    assert card.plan.level is Level.HOIST
    assert {KNEES, EDGE} <= set(card.plan.headline.cautions), "they stay in the plan, for the bedside card"
    items = face(card).items
    assert not {KNEES, EDGE} & set(items)
    assert "Patient may grab or hit: stop and step back then" in items


def test_who_sits_at_the_edge_by_hand_or_stands_by_hand_keeps_the_caution() -> None:
    by_hand = more(at_level(Level.HOIST, cautions=(KNEES, EDGE)), sit_up=TWO, stand=TWO)
    assert {KNEES, EDGE} <= set(face(by_hand).items)
    standing = at_level(Level.LINK, cautions=(KNEES, EDGE))
    assert {KNEES, EDGE} <= set(face(standing).items)


# The page.


def test_the_page_has_language_title_one_heading_and_one_article_a_bed() -> None:
    read = page(*seven_levels())
    tags = [tag for tag, _ in read.tags]
    assert dict(read.tags)["html"]["lang"] == "en"
    assert tags.count("title") == 1 + 7
    assert tags.count("h1") == 1
    assert tags.count("main") == 1
    labels = [attrs["aria-label"] for tag, attrs in read.tags if tag == "article"]
    assert labels == [f"Bed 4W-1{rank}A" for rank in range(7)]


def test_no_id_is_used_so_none_is_used_twice() -> None:
    assert [
        attrs["id"] for _, attrs in page(*seven_levels(), sheet=Sheet.named("a6", 4)).tags if "id" in attrs
    ] == []


def test_the_drawing_says_its_level_to_a_reader() -> None:
    html = door_html([at_level(Level.POWER)], A5, HOUSE, POLICY, NOW)
    assert "<title>POWER mark</title>" in html


def test_the_page_is_one_file() -> None:
    html = door_html([at_level(Level.POWER), expired()], A5, HOUSE, POLICY, NOW)
    outside = [
        address
        for address in re.findall(r"(?:src|href|url)[=(][\"']?([^\"')]*)", html)
        if not address.startswith("data:")
    ]
    assert outside == []
    assert "<script" not in html
    assert "<link" not in html


def test_everything_typed_is_escaped_and_stays_in_its_line() -> None:
    card = at_level(Level.LINK, cautions=(HOSTILE,), bed='4W"><b>', code="AB2CD3")
    html = door_html([card], A5, HOUSE, POLICY, NOW)
    read = Page(html)
    assert "script" not in [tag for tag, _ in read.tags]
    assert "b" not in [tag for tag, _ in read.tags]
    assert "<script>alert(1)</script> &amp; right to left </li></ul><h1>x [grinning face]" in read.text
    assert '4W"><b>' in read.text
    assert not re.search("[\u202a-\u202e\u2066-\u2069]", html)


@pytest.mark.parametrize("address", ["", "https://ward.example/cards/"])
def test_the_qr_holds_the_code_and_nothing_else(address: str) -> None:
    """Read back by an independent decoder (zxing): the facility's address may stand before the code."""
    card = at_level(Level.LINK)
    policy = POLICY.model_copy(update={"door": POLICY.door.model_copy(update={"address": address})})
    html = door_html([card], A5, HOUSE, policy, NOW)
    data = re.search(r'src="data:image/png;base64,([^"]+)"', html)
    assert data is not None
    image = Image.open(io.BytesIO(base64.b64decode(data[1]))).convert("L")
    enlarged = image.resize((image.width * 8, image.height * 8), Image.Resampling.NEAREST)
    assert [found.text for found in zxingcpp.read_barcodes(enlarged)] == [address + face(card).code]
    assert f"card {face(card).code}" in Page(html).text


@pytest.mark.parametrize("name", list(SIZES))
@pytest.mark.parametrize("ink", INKS)
def test_what_has_no_room_is_counted_on_the_card(name: str, ink: str) -> None:
    """Kept lines and left-out lines together are all of them, on every size and in every ink."""
    sheet = Sheet.named(name, paper=name, ink=ink)
    card = longest()
    said = face(card)
    html = door_html([card], sheet, HOUSE, POLICY, NOW)
    kept = [item for item in said.items if Page(html).says(item)]
    more = re.search(r"(\d+) more points: bedside card", html)
    assert more is not None
    assert len(kept) + int(more[1]) == len(said.items) + said.more
    assert len(kept) <= 4
    assert kept


def test_a_card_with_room_leaves_nothing_out() -> None:
    assert "more points: bedside card" not in door_html(seven_levels(), A5, HOUSE, POLICY, NOW)


@pytest.mark.parametrize("name", list(SIZES))
@pytest.mark.parametrize("ink", INKS)
@pytest.mark.parametrize("state", list(State))
def test_no_box_lies_over_another(name: str, ink: str, state: State) -> None:
    """Text, the QR, the pictures and the shape keep apart in each state; all stay inside the panel
    and its frame."""
    layout = layout_for(Sheet.named(name, paper=name, ink=ink))
    only = {
        State.LEVEL: {"band", "under_band", "bed_under_band", "says"},
        State.UNSEEN: {"band", "under_band", "bed_under_band", "shape", "sub", *NUMBERED},
        State.FALLEN: {"items", "says", "bed", *NUMBERED},
    }[state]
    boxes = {place: box for place, box in layout.places.items() if place not in only}
    frame = layout.size(FRAME) if state is State.UNSEEN else 0.0
    left, top, width, height = layout.panel  # the word's letters begin below the frame, if not its box
    left, width, height = left + frame, width - 2 * frame, height - frame
    for box in boxes.values():
        assert min(box[2], box[3]) > 1
        assert left - 0.01 <= box[0]
        assert box[0] + box[2] <= left + width + 0.01
        assert top - 0.01 <= box[1]
        assert box[1] + box[3] <= top + height + 0.01
    named = sorted(boxes.items())
    for index, (one, a) in enumerate(named):
        for other, b in named[index + 1 :]:
            if {one, other} in MAY_TOUCH:
                continue
            apart = a[0] + a[2] <= b[0] + 0.01 or b[0] + b[2] <= a[0] + 0.01
            above = a[1] + a[3] <= b[1] + 0.01 or b[1] + b[3] <= a[1] + 0.01
            assert apart or above, f"{one} over {other}"


NUMBERED = [
    *(f"{part}{index}" for part in ("number", "picture", "label", "moves") for index in range(2)),
    *(f"box{index}" for index in range(4)), "needed", "until_says", "until_day", "until_clock", "strip",
    "then0", "then1",
]  # fmt: skip
MAY_TOUCH = (
    {"number0", "picture0"}, {"number1", "picture1"},  # one digit or two, then its picture
    {"until_day", "until_clock"}, {"until_says", "until_day"},  # their letters are lower than their boxes
    {"bed", "until_says"}, {"number0", "needed"}, {"number1", "needed"},
    {"number0", "label0"}, {"number1", "label1"},
)  # fmt: skip


@pytest.mark.parametrize("name", list(SIZES))
def test_shape_and_word_stand_half_a_letter_apart(name: str) -> None:
    """Source: the house scheme: at least half a letter height, or REMAIN's slab reads as a dash."""
    layout, cap = layout_for(Sheet.named(name, paper=name)), SIZES[name].word_cap
    for look in HOUSE.looks.values():
        word = text_fit.width_mm(look.word, layout.word_size, text_fit.WORD)
        assert layout.places["shape"][0] - (layout.places["word"][0] + word) >= cap / 2 - 0.01


@pytest.mark.parametrize("name", ["a5", "half-letter"])
def test_letters_are_as_high_as_their_distance_asks(name: str) -> None:
    """People 18 mm or more, end and bed 8, lines 3.5 (capitals, card for 3 m): the issue's own figures."""
    layout = layout_for(Sheet.named(name, paper=name))
    assert layout.number_size * CAP_HEIGHT >= 18
    late = datetime(2026, 11, 26, 8)
    record = seen("4W-12A").record.changed(assessed_at="2026-11-26T07:10")
    card = _fitted(face(BedCard(plan_for(record, POLICY, late), record), now=late), layout)
    assert card.until_size * CAP_HEIGHT >= 8
    assert card.bed_size * CAP_HEIGHT >= 8
    fallen = _fitted(face(seen("1", fall_event={"at": "2026-03-02T07:40"})), layout)
    assert fallen.items_size * BOLD_CAP >= 5
    assert len(fallen.items) == len(FALLEN)
    full = _fitted(face(longest(), now=NOW), layout)
    assert full.items_size * BOLD_CAP >= 3.5


def test_batches_hold_every_card_once_and_in_order() -> None:
    cards = [
        replace(card, plan=replace(card.plan, bed=f"B{index}"))
        for index, card in enumerate(seven_levels() * 9)
    ]
    pages = [batch.html() for batch in door_batches(cards, Sheet.named("a6", 4), HOUSE, POLICY, NOW)]
    assert len(pages) == 2  # 30 a batch, rounded up to whole sheets of four
    beds = [attrs["aria-label"] for html in pages for tag, attrs in Page(html).tags if tag == "article"]
    assert beds == [f"Bed B{index}" for index in range(63)]
    assert {re.search("<title>(.*?)</title>", html)[1] for html in pages} == {  # type: ignore[index]
        "Door cards, 63 beds, printed 08:00, Mon 2 Mar 2026"
    }


def test_lines_wrap_by_the_width_of_the_carried_font() -> None:
    """W is 0.883 em wide in the bold face: nine of them stay on a line of nine ems, eleven do not."""
    assert text_fit.wrapped("W" * 9, 1.0, 9.0, text_fit.BOLD) == ["W" * 9]
    assert text_fit.wrapped("W" * 11, 1.0, 9.0, text_fit.BOLD) == ["W" * 9, "WW"]


def test_wrapping_loses_no_letter_and_breaks_at_spaces_first() -> None:
    text = "Left leg, right leg: no weight " + "x" * 90 + " end"
    lines = text_fit.wrapped(text, 4.0, 60.0, text_fit.BOLD)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert lines[0] == "Left leg, right leg: no weight"
    assert all(text_fit.width_mm(line, 4.0, text_fit.BOLD) <= 60.0 for line in lines)
