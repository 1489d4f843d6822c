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
from mobicard.paper import in_words, text_fit
from mobicard.paper.door.card import door_batches, door_face, door_html
from mobicard.paper.door.face import BedCard
from mobicard.paper.door.layout import layout_for
from mobicard.paper.shapes import INKS
from mobicard.paper.sheet_sizes import SIZES, Sheet
from mobicard.paper.sub_line import sub_line
from mobicard.rules.policy import Policy
from tests.paper.beds import HOSTILE, NOW, POLICY, at_level, emptiest, expired, longest, seen, seven_levels
from tests.records import INDEPENDENT

HOUSE = scheme.load()
A5 = Sheet.named("a5", paper="a5")


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
    ("level", "words"),
    [
        (Level.SELF, "No helper needed"),
        (Level.NEARBY, "1 helper"),
        (Level.HOIST, "2 helpers"),
        (Level.REMAIN, "Ask the nurse before any move"),
    ],
)
def test_helpers_are_said_in_words_beside_the_rail(level: Level, words: str) -> None:
    assert face(at_level(level)).helpers == words


def test_equipment_is_named() -> None:
    assert "Use: full-body lift, repositioning sling" in face(at_level(Level.HOIST)).items


def test_limb_limits_come_first_in_kg_and_lb_and_each_once() -> None:
    limits = (
        LimbLimit(Limb.LEFT_LEG, WeightBearing.PWB, 41.0, 90.4, ""),
        LimbLimit(Limb.RIGHT_LEG, WeightBearing.WBAT, None, None, ""),
        LimbLimit(Limb.LEFT_ARM, WeightBearing.NWB, 0.0, 0.0, ""),
        LimbLimit(Limb.RIGHT_ARM, WeightBearing.NWB, 0.0, 0.0, ""),
    )
    items = face(at_level(Level.LINK, weight_bearing=limits)).items
    assert items[0] == "Left arm, right arm: no weight"
    assert (
        items[1].replace("\xa0", " ") == "Left leg: partial weight, at most 41 kg / 90.3 lb"
    )  # 90.389, down
    assert not any("Right leg" in item for item in items)


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
    assert ("Bed 4W-12A RT" in text) is shown
    assert ("Bed 4W-12A" in text) is not shown


def test_until_when_it_holds_is_on_the_card() -> None:
    text = page(seen("4W-12A")).text
    at = text.index("Holds until")
    assert text[at + 1 : at + 3] == ["19:30", "Mon 2 Mar 2026"]


def test_an_override_shows_its_name_and_what_the_rules_say_but_never_the_words_of_its_reason() -> None:
    shown = OverrideShown(Level.LINK, "stood with me after lunch", "JN", NOW, True, NOW + timedelta(hours=8))
    card = at_level(Level.LINK, override=shown, derived_level=Level.HOIST)
    said = face(card)
    assert said.band == "OVERRIDE by JN; the rules say HOIST"
    assert not any("lunch" in item for item in said.items)


def test_a_lowered_level_holds_no_longer_than_the_override_that_lowers_it() -> None:
    lapses = datetime(2026, 3, 2, 19, 0)
    shown = OverrideShown(Level.LINK, "stood with me", "JN", NOW, True, lapses)
    card = at_level(Level.LINK, override=shown, derived_level=Level.HOIST)
    assert face(card).until == ("19:00", "Mon 2 Mar 2026")
    raised = at_level(Level.HOIST, override=replace(shown, level=Level.HOIST, lowers=False))
    assert face(raised).until == ("19:30", "Mon 2 Mar 2026")


def test_equipment_that_cannot_carry_the_patient_is_said_right_under_what_to_use() -> None:
    rated = Conflict("The lift is rated only to 800 lb: ask for a bariatric one.", ("weight_kg", "inventory"))
    paper = Conflict("Walk was seen done, but bed rest is ordered.", ("help.walk", "precautions"))
    walker = Conflict(
        "Both hands press on a walker: the right arm is NWB.", ("aids", "weight_bearing.right_arm")
    )
    items = face(at_level(Level.HOIST, conflicts=(paper, walker, rated))).items
    at = items.index("Use: full-body lift, repositioning sling")
    assert items[at + 1] == rated.says
    assert f"Check: {walker.says}" in items
    assert items[-1] == "The record contradicts itself (1): see the bedside card"


@pytest.mark.parametrize("status", [WeightBearing.NWB, WeightBearing.ABSENT_LIMB])
def test_team_never_says_bears_weight_of_legs_that_may_not(status: WeightBearing) -> None:
    legs = tuple(LimbLimit(limb, status, 0.0, 0.0, "") for limb in Limb if limb.is_leg)
    assert (
        face(at_level(Level.TEAM, weight_bearing=legs)).sub_line == "2 or more helpers, no weight on the legs"
    )
    one = face(at_level(Level.TEAM, weight_bearing=legs[:1]))
    assert one.sub_line == "2 or more helpers, patient bears weight"


def test_team_never_says_bears_weight_of_a_patient_moved_seated_over_a_board() -> None:
    """Whatever the reason: who slides over seated puts no weight on the legs, and is not to be stood."""
    card = seen("1", stepping="unable", help={**INDEPENDENT, "chair": "moderate", "stand": "moderate"})
    chair = replace(card.plan.headline, level=Level.TEAM, equipment=(Equipment.SEATED_TRANSFER_AID,))
    plan = replace(card.plan, level=Level.TEAM, tasks={**card.plan.tasks, Task.CHAIR: chair})
    assert face(replace(card, plan=plan)).sub_line == HOUSE.seated
    stood = replace(chair, equipment=(Equipment.GAIT_BELT,))
    plan = replace(plan, tasks={**plan.tasks, Task.CHAIR: stood})
    assert face(replace(card, plan=plan)).sub_line == HOUSE.looks[Level.TEAM].sub_line


def test_equipment_that_cannot_carry_the_patient_stands_under_what_to_use_the_headline_s_first() -> None:
    sheet = Conflict("The friction-reducing sheet on the unit is rated only to 1000 lb.", ("inventory",))
    lift = Conflict("The full-body lift on the unit is rated only to 800 lb.", ("inventory",))
    seen_done = Conflict("Walk was seen done, but bed rest is ordered.", ("help.walk", "precautions"))
    items = face(at_level(Level.HOIST, conflicts=(seen_done, sheet, lift), cautions=("Mind the lamp",))).items
    assert items[:4] == ("Use: full-body lift, repositioning sling", lift.says, sheet.says, "Mind the lamp")
    assert not any("seen done" in item for item in items)


@pytest.mark.parametrize("state", ["may_be_helped_up", "reassess"])
def test_a_patient_on_the_floor_or_just_up_is_never_told_to_stay_in_bed(state: str) -> None:
    fall = AfterFall(state, "Up after a fall: assess again before any move", (), ())
    said = face(at_level(Level.REMAIN, after_fall=fall))
    assert said.sub_line == "up after a fall: assess again before any move"


@pytest.mark.parametrize(
    ("figure", "shown"), [(41.0, "41"), (41.66, "41.6"), (0.99, "0.9"), (90.4, "90.4"), (10.0, "10")]
)
def test_a_limit_is_never_rounded_up(figure: float, shown: str) -> None:
    assert in_words.at_most(figure) == shown


def test_after_a_fall_the_line_says_do_not_move() -> None:
    fall = AfterFall("do_not_move", "Do not move: not cleared after the fall", (), ())
    said = face(at_level(Level.REMAIN, after_fall=fall))
    assert said.sub_line == "after a fall: do not move"
    assert said.items[0] == "Do not move: not cleared after the fall"


def test_an_unassessed_patient_is_not_to_be_moved_before_asking() -> None:
    said = face(emptiest())
    assert said.look.level is Level.REMAIN
    assert said.sub_line == "not assessed: ask the nurse before moving"
    assert said.band == "NOT ASSESSED: nobody has recorded a look at this patient"
    assert said.until == ("Not assessed", "ask the nurse")


def test_an_order_is_said_before_what_nobody_assessed() -> None:
    """On a bad night “not assessed” over a patient on bed rest sends somebody to try."""
    record = read_record({"bed": "5N-01", "precautions": ["bed_rest"]})
    plan = plan_for(record, Policy(), NOW)
    assert plan.not_assessed
    assert sub_line(plan, HOUSE) == "bed rest ordered"
    assert (
        sub_line(plan_for(read_record({"bed": "5N-01"}), Policy(), NOW), HOUSE) == HOUSE.remain.not_assessed
    )


def test_missing_facts_of_the_headline_move_are_named() -> None:
    card = at_level(Level.REMAIN, not_assessed=("standing", "help.chair", "help.floor", "weight_kg"))
    assert "Not assessed: standing, help to the chair" in face(card).items


def test_other_missing_facts_do_not_claim_the_move_is_unassessed() -> None:
    card = at_level(Level.REMAIN, not_assessed=("help.floor", "weight_kg"))
    assert face(card).sub_line == "stay in bed until cleared"


@pytest.mark.parametrize("level", [level for level in Level if level is not Level.REMAIN])
def test_an_expired_card_never_shows_the_level_nobody_stands_behind(level: Level) -> None:
    stale = at_level(
        level,
        expired=True,
        assessed_at=datetime(2026, 3, 1, 7, 2),
        valid_until=datetime(2026, 3, 1, 19, 30),
    )
    text = page(stale).text
    assert "REMAIN" in text
    assert level.value not in text
    assert "EXPIRED: nobody has looked since 07:02, Sun 1 Mar 2026" in text
    assert "Ask the nurse before any move" in text
    assert not any(item.startswith("Use:") or item.endswith(("helper", "helpers")) for item in text)
    assert text[text.index("Ended") + 1] == "19:30"


def test_an_expired_record_keeps_its_limb_orders_and_cautions() -> None:
    limits = (LimbLimit(Limb.LEFT_LEG, WeightBearing.NWB, 0.0, 0.0, ""),)
    slack = "Give tubes and lines slack first"
    stale = at_level(Level.LINK, expired=True, weight_bearing=limits, cautions=(slack,))
    assert face(stale).items == ("Left leg: no weight", slack)


def test_an_assessment_dated_ahead_is_not_said_to_be_a_look() -> None:
    ahead = at_level(
        Level.LINK, expired=True, assessed_at=NOW + timedelta(days=1), valid_until=NOW + timedelta(days=2)
    )
    said = face(ahead)
    assert said.band == "NOT VALID: the assessment is dated ahead, 08:00, Tue 3 Mar 2026"
    assert said.until == ("Not assessed", "ask the nurse")


def test_no_bare_digit_names_a_level() -> None:
    """The rail is named in words; a lone digit would be read as a scale running the other way."""
    for card in seven_levels():
        assert not any(re.fullmatch(r"\d", text) for text in page(card).text)


# Moves that take more than the large number.


def harder(card: BedCard) -> list[str]:
    return [item for item in face(card).items if re.search(r": (\d helpers?|no helper)", item)]


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


def test_moves_that_take_more_helpers_than_the_headline_are_on_the_card_by_their_number() -> None:
    card = more(at_level(Level.LINK), turn=TWO, boost=THREE, sit_up=TWO, walk=(Level.REMAIN, None, ()))
    assert harder(card) == ["Boost: 3 helpers; turn, sit up: 2 helpers"]
    assert harder(more(at_level(Level.TEAM), turn=TWO, floor=THREE)) == []


def test_a_lift_the_headline_does_without_is_named_and_one_it_has_is_not() -> None:
    assert harder(more(at_level(Level.TEAM), toilet=LIFT, stretcher=THREE)) == [
        "Stretcher: 3 helpers; toilet: 2 helpers, full-body lift"
    ]
    assert harder(more(at_level(Level.HOIST), boost=LIFT)) == []


def test_a_standing_aid_is_no_full_body_lift() -> None:
    """Each is named where the headline move does with the other, or with neither."""
    stood = (Level.POWER, 2, (Equipment.POWERED_STANDING_AID,))
    assert harder(more(at_level(Level.TEAM), toilet=stood)) == ["Toilet: 2 helpers, powered standing aid"]
    assert harder(more(at_level(Level.POWER), toilet=stood)) == []
    assert harder(more(at_level(Level.POWER), boost=LIFT)) == ["Boost: 2 helpers, full-body lift"]
    assert harder(more(at_level(Level.HOIST), toilet=stood)) == ["Toilet: 2 helpers, powered standing aid"]


def test_hands_on_is_said_where_the_card_says_hands_off() -> None:
    by_hand = (Level.LINK, 1, ())
    assert harder(more(at_level(Level.NEARBY), sit_up=by_hand)) == ["Sit up: 1 helper, hands on"]
    assert harder(more(at_level(Level.LINK), sit_up=by_hand)) == []


def test_a_card_without_a_number_gives_the_moves_in_bed_unless_the_patient_fell() -> None:
    card = more(at_level(Level.REMAIN), boost=TWO, turn=TWO, stretcher=THREE)
    assert harder(card) == ["Boost, turn: 2 helpers"]
    fall = AfterFall("may_be_helped_up", "On the floor: examined, may be helped up", (), ())
    assert harder(replace(card, plan=replace(card.plan, after_fall=fall))) == []


def test_an_expired_card_gives_no_number_of_helpers_for_any_move() -> None:
    card = more(at_level(Level.LINK, expired=True), boost=THREE)
    assert harder(card) == []


@pytest.mark.parametrize("name", list(SIZES))
def test_cautions_never_take_the_room_of_the_moves_that_take_more(name: str) -> None:
    cautions = tuple(f"Caution {index} " + "x" * 60 for index in range(12))
    card = more(at_level(Level.LINK, cautions=cautions), turn=TWO)
    read = page(card, sheet=Sheet.named(name, paper=name))
    assert read.says("Turn: 2 helpers")
    assert any("more on the bedside card" in text for text in read.text)


def test_what_a_patient_s_other_moves_take_changes_the_code_with_the_card() -> None:
    """The door that hangs must be known for an old one when only the line of other moves is new."""
    before, after = seen("1"), seen("1", helpers_used={"turn": 2}, help={**INDEPENDENT, "turn": "minimal"})
    assert before.plan.headline == after.plan.headline
    turn = after.plan.tasks[Task.TURN].helpers
    assert (harder(before), harder(after)) == (
        ["Stretcher: 2 helpers"],
        [f"Turn: {turn} helpers; stretcher: 2 helpers"],
    )
    assert before.plan.code != after.plan.code


KNEES, EDGE = "Knees may give way: chair close behind", "Never alone at the edge of the bed"
IN_A_LIFT = {"sitting": "supported", "standing": "supported", "stepping": "unable", "arms": "neither"}


def test_with_a_lift_the_card_leaves_off_what_only_a_patient_on_the_feet_or_the_edge_needs() -> None:
    card = seen("1", **IN_A_LIFT, help=dict.fromkeys(INDEPENDENT, "total"), behavior="unpredictable")
    assert card.plan.level is Level.HOIST
    assert {KNEES, EDGE} <= set(card.plan.headline.cautions), "they stay in the plan, for the bedside card"
    items = face(card).items
    assert not {KNEES, EDGE} & set(items)
    assert "May move suddenly: stop and step back if so" in items


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
    assert "<title>POWER mark, 5 of 7 on the scale of help</title>" in html


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
    assert 'Bed 4W"><b>' in read.text
    assert not re.search("[\u202a-\u202e\u2066-\u2069]", html)


def test_the_qr_holds_the_code_and_nothing_else() -> None:
    """Read back by an independent decoder (zxing)."""
    html = door_html([at_level(Level.LINK, code="7Q4MKD")], A5, HOUSE, POLICY, NOW)
    data = re.search(r'src="data:image/png;base64,([^"]+)"', html)
    assert data is not None
    image = Image.open(io.BytesIO(base64.b64decode(data[1]))).convert("L")
    enlarged = image.resize((image.width * 8, image.height * 8), Image.Resampling.NEAREST)
    assert [found.text for found in zxingcpp.read_barcodes(enlarged)] == ["7Q4MKD"]
    assert "7Q4MKD" in Page(html).text


@pytest.mark.parametrize("name", list(SIZES))
@pytest.mark.parametrize("ink", INKS)
def test_what_has_no_room_is_counted_on_the_card(name: str, ink: str) -> None:
    """Kept lines and left-out lines together are all of them, on every size and in every ink."""
    sheet = Sheet.named(name, paper=name, ink=ink)
    card = longest()
    items = face(card).items
    html = door_html([card], sheet, HOUSE, POLICY, NOW)
    kept = [item for item in items if Page(html).says(item)]
    more = re.search(r"(\d+) more on the bedside card", html)
    assert more is not None
    assert len(kept) + int(more[1]) == len(items)
    assert kept[0] == "Left leg, right leg, left arm, right arm: no weight"


def test_a_card_with_room_leaves_nothing_out() -> None:
    assert "more on the bedside card" not in door_html(seven_levels(), A5, HOUSE, POLICY, NOW)


@pytest.mark.parametrize("name", list(SIZES))
@pytest.mark.parametrize("ink", INKS)
@pytest.mark.parametrize("banded", [False, True])
def test_no_box_lies_over_another(name: str, ink: str, banded: bool) -> None:
    """Text boxes, the QR, the shape, the rail and the texture keep apart; all stay inside the panel."""
    layout = layout_for(Sheet.named(name, paper=name, ink=ink))
    boxes = dict(layout.boxes(), shape=layout.shape, rail=layout.rail, texture=layout.texture)
    if banded:
        boxes |= {part.replace("_", "-"): layout.shifted(part) for part in layout.under_the_band}
    else:
        boxes.pop("band")
    left, top, width, height = layout.panel
    for box in boxes.values():
        assert min(box[2], box[3]) > 1
        assert left - 0.01 <= box[0]
        assert box[0] + box[2] <= left + width + 0.01
        assert top - 0.01 <= box[1]
        assert box[1] + box[3] <= top + height + 0.01
    named = sorted(boxes.items())
    for index, (one, a) in enumerate(named):
        for other, b in named[index + 1 :]:
            apart = a[0] + a[2] <= b[0] + 0.01 or b[0] + b[2] <= a[0] + 0.01
            above = a[1] + a[3] <= b[1] + 0.01 or b[1] + b[3] <= a[1] + 0.01
            assert apart or above, f"{one} over {other}"


@pytest.mark.parametrize("name", list(SIZES))
def test_shape_and_word_stand_half_a_letter_apart(name: str) -> None:
    """Source: the house scheme: at least half a letter height, or REMAIN's slab reads as a dash."""
    layout = layout_for(Sheet.named(name, paper=name))
    assert layout.word[0] - (layout.shape[0] + layout.shape[2]) >= SIZES[name].word_cap / 2 - 0.01


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
