"""The Record by keyboard: one key an answer, the card alive beside it, what the ledger holds afterwards."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest

from mobicard.facts import Record
from mobicard.facts.words import Alertness, Balance, Level, Precaution, Task, WeightBearing
from mobicard.terminal.board.screen import Board
from mobicard.terminal.record.clash import Clash
from mobicard.terminal.record.screen import RecordForm
from mobicard.terminal.widgets.plan_card import PlanCard
from mobicard.ward import Clock


async def open_bed(nurse, bed: str) -> RecordForm:
    """From the Board to a bed's form by its number."""
    await nurse.type(bed)
    await nurse.press("enter")
    form = nurse.app.screen
    assert isinstance(form, RecordForm)
    return form


async def admit(nurse, bed: str) -> RecordForm:
    """A new stay, its form open."""
    await nurse.press("n")
    await nurse.type(bed)
    await nurse.press("enter", "enter")
    form = nurse.app.screen
    assert isinstance(form, RecordForm)
    return form


async def test_one_key_answers_and_moves_on(opened, empty_ward):
    """A letter beside an answer gives it; the next question is marked at once."""
    async with opened(over=empty_ward) as nurse:
        form = await admit(nurse, "1")
        await nurse.press("c")
        assert form.answers.get("alertness") == "new_confusion"
        assert form.current == "directions"


async def test_the_card_follows_every_answer(opened):
    """The derived card beside the form changes with the answer, before anything is saved."""
    async with opened(size=(140, 45)) as nurse:
        form = await open_bed(nurse, "01")
        assert "SELF" in form.query_one(PlanCard).text.splitlines()[0]
        await nurse.press("u")
        assert "REMAIN" in form.query_one(PlanCard).text.splitlines()[0]
        assert nurse.bed("5N-01").record.alertness is Alertness.ALERT


async def test_every_line_opens_its_reasons_with_source(opened):
    """Enter on a card line shows the rules behind it, each with its source."""
    async with opened(size=(140, 60)) as nurse:
        form = await open_bed(nurse, "03")
        await nurse.press("right", "enter")
        for reason in form.plan.headline.reasons[:2]:
            assert f"[{reason.rule}]" in nurse.screen


async def test_one_changed_fact_takes_five_keys_at_most(opened):
    """Jump to the section, step to the question, answer, save, confirm: five keys after opening."""
    async with opened() as nurse:
        await open_bed(nurse, "01")
        before = nurse.pressed
        await nurse.press("B", "down", "u", "ctrl+s", "enter")
        assert nurse.pressed - before <= 5
        assert isinstance(nurse.app.screen, Board)
        saved = nurse.bed("5N-01").record
        assert saved.standing is Balance.UNABLE
        assert saved.assessed_by == "JN"
        assert saved.assessed_at == nurse.ward.now


async def test_changes_alone_keep_the_time_of_the_last_look(opened):
    """Who has not seen the rest again saves only the change; the assessment still counts from before."""
    async with opened() as nurse:
        before = nurse.bed("5N-01").record
        await open_bed(nurse, "01")
        await nurse.press("B", "u", "ctrl+s", "k")
        after = nurse.bed("5N-01").record
        assert after.sitting is Balance.UNABLE
        assert after.assessed_at == before.assessed_at


async def test_deciding_facts_from_last_time_are_marked_until_seen(opened):
    """A deciding answer as last recorded carries a question mark; F5 says its section was seen again."""
    async with opened() as nurse:
        form = await open_bed(nurse, "01")
        assert "alert  last ?" in nurse.screen
        await nurse.press("f5")
        assert {"alertness", "directions", "behavior"} <= form.answers.seen
        assert "alert  same, seen" in nurse.screen


async def test_first_assessment_needs_fewer_than_sixty_keys(opened, empty_ward):
    """A whole first record, vital signs and fall risk included, and its save: under sixty keys."""
    async with opened(over=empty_ward) as nurse:
        await admit(nurse, "1")
        before = nurse.pressed
        await nurse.type("arcsspb" + "bcmmn")
        await nurse.press("W")
        await nurse.type("82k")
        await nurse.press("L")
        await nurse.type("p50%w")
        await nurse.press("P")
        await nurse.type("s")
        await nurse.press("T")
        await nurse.type("cl")
        await nurse.press("O", "enter")
        await nurse.type("bf")
        await nurse.press("V")
        await nurse.type("1287680")
        await nurse.press("enter")
        await nurse.type("1047098")
        await nurse.press("F")
        await nurse.type("nywyin")
        await nurse.press("ctrl+s")
        assert nurse.pressed - before < 60
        saved = empty_ward.board()[0].record
        assert saved.weight_kg == 82
        assert saved.weight_bearing["left_leg"].percent == 50
        assert saved.weight_bearing["right_leg"].status is WeightBearing.WBAT
        assert saved.precautions == (Precaution.SPINAL,)
        assert saved.lines[0].kind == "chest tube"
        assert saved.lines[0].side == "left"
        assert saved.vitals.lying.sbp == 128
        assert saved.vitals.standing_1min.hr == 98
        assert saved.fall_risk.answers["secondary_diagnosis"] is True
        assert len(saved.fall_risk.answers) == 6
        assert len(saved.help) == 5


async def test_weight_in_pounds_is_kept_in_kilograms_and_shown_in_both(opened, empty_ward):
    """181 lb is 82.1 kg (NIST SP 811, appendix B.8); a figure without its unit is asked about."""
    async with opened(over=empty_ward) as nurse:
        form = await admit(nurse, "1")
        await nurse.press("W")
        await nurse.type("181")
        await nurse.press("enter")
        assert "which unit" in nurse.screen
        await nurse.press("l")
        assert form.answers.get("weight_kg") == 82.1
        assert "82.1 kg (181 lb)" in nurse.screen


async def test_height_in_feet_and_inches(opened, empty_ward):
    """5 ft 9 in is 175.3 cm (NIST SP 811, appendix B.8)."""
    async with opened(over=empty_ward) as nurse:
        form = await admit(nurse, "1")
        await nurse.press("W", "down")
        await nurse.type("5f9i")
        assert form.answers.get("height_cm") == 175.3


async def test_partial_weight_bearing_needs_its_figure(opened, empty_ward):
    """p alone is no order: Enter says that the figure is missing and nothing is kept."""
    async with opened(over=empty_ward) as nurse:
        form = await admit(nurse, "1")
        await nurse.press("L", "p", "enter")
        assert "needs its figure" in nurse.screen
        assert form.answers.get("weight_bearing") is None
        await nurse.type("44l")
        assert form.answers.get("weight_bearing.left_leg") == {"status": "PWB", "kg": 19.96}


async def test_an_impossible_figure_is_refused_at_its_question(opened, empty_ward):
    """A weight of 900 kg is said to be too large, at the question; the answer before stays."""
    async with opened(over=empty_ward) as nurse:
        form = await admit(nurse, "1")
        await nurse.press("W")
        await nurse.type("900k")
        assert "too large to be true" in nurse.screen
        assert form.answers.get("weight_kg") is None
        assert form.current == "weight_kg"


async def test_help_with_the_number_of_helpers(opened, empty_ward):
    """A figure before the letter says how many helped."""
    async with opened(over=empty_ward) as nurse:
        form = await admit(nurse, "1")
        await nurse.press("H", "down", "down", "down")
        assert form.current == "help.chair"
        await nurse.type("2m")
        assert form.answers.record.help[Task.CHAIR] == "minimal"
        assert form.answers.record.helpers_used[Task.CHAIR] == 2


async def test_undo_takes_back_step_by_step(opened):
    """Each undo takes back one answer and marks its question; the card follows."""
    async with opened() as nurse:
        form = await open_bed(nurse, "01")
        await nurse.press("u", "u")
        await nurse.press("ctrl+z")
        assert form.answers.get("directions") == "reliable"
        assert form.current == "directions"
        await nurse.press("ctrl+z")
        assert form.answers.get("alertness") == "alert"
        assert form.plan.level is Level.SELF
        assert not form.unsaved


async def test_blanking_makes_a_fact_not_assessed(opened):
    """Backspace takes an answer away; a missing deciding fact is never taken as fine."""
    async with opened() as nurse:
        form = await open_bed(nurse, "01")
        await nurse.press("backspace")
        assert form.answers.get("alertness") is None
        assert "not assessed  (was alert)" in nurse.screen
        assert form.plan.level is Level.REMAIN


async def test_a_conflict_shows_where_it_arises(opened):
    """Crutches with an arm that bears no weight: the sentence stands under the aids."""
    async with opened(size=(140, 60)) as nurse:
        form = await open_bed(nurse, "02")
        await nurse.press("L", "down", "down", "n", "O", "enter", "k")
        conflict = next(c for c in form.plan.conflicts if any("aids" in field for field in c.fields))
        assert f"! {conflict.says[:40]}" in nurse.screen


async def test_leaving_with_unsaved_answers_asks(opened):
    """Esc with unsaved answers asks, and once more; thrown away, ledger and drafts hold nothing of them."""
    async with opened() as nurse:
        await open_bed(nurse, "01")
        version = nurse.bed("5N-01").version
        await nurse.press("u", "escape")
        assert "Not saved: " in nurse.screen
        await nurse.press("d", "y")
        assert isinstance(nurse.app.screen, Board)
        assert nurse.bed("5N-01").version == version
        assert nurse.ward.drafts.all() == []


async def test_typing_on_never_throws_answers_away(opened):
    """Whoever types more answers into the question about leaving, or about a draft, still has them all."""
    async with opened() as nurse:
        await open_bed(nurse, "01")
        await nurse.press("u", "escape", "t", "d", "d", "m", "t", "escape")
        await nurse.press("escape", "k")
    async with opened() as nurse:
        await nurse.press("0", "1", "enter", "d", "d", "m", "escape", "escape")
        assert isinstance(nurse.app.screen, Board)
        await nurse.press("0", "1", "enter", "t")
        form = nurse.app.screen
        assert form.answers.get("alertness") == "unresponsive"


async def test_kept_answers_are_offered_again(opened):
    """Answers kept unsaved are offered when the bed is next opened, and taken up as they were."""
    async with opened() as nurse:
        await open_bed(nurse, "01")
        await nurse.press("u", "escape", "k")
    async with opened() as nurse:
        assert "never saved" in nurse.screen
        await nurse.press("0", "1", "enter")
        assert "was never saved" in nurse.screen
        await nurse.press("t")
        form = nurse.app.screen
        assert form.answers.get("alertness") == "unresponsive"
        assert form.plan.level is Level.REMAIN


async def test_every_answer_is_on_disk_before_it_is_saved(opened):
    """The draft file holds the answer, readable by its owner alone."""
    async with opened() as nurse:
        await open_bed(nurse, "01")
        await nurse.press("u")
        [path] = list(nurse.ward.drafts.folder.glob("*.json"))
        assert json.loads(path.read_text())["facts"]["facts"]["alertness"] == "unresponsive"
        assert path.stat().st_mode & 0o777 == 0o600
        assert path.parent.stat().st_mode & 0o777 == 0o700


async def test_a_saved_form_leaves_no_draft(opened):
    """Once the record is in the ledger, nothing of it waits in the drafts."""
    async with opened() as nurse:
        await open_bed(nurse, "01")
        await nurse.press("B", "u", "ctrl+s", "enter")
        assert nurse.ward.drafts.all() == []


def saved_elsewhere(ward, bed: str, **facts) -> Record:
    """Another station records the bed meanwhile."""
    view = ward.find(bed)
    ward.call_me("PK")
    record = ward.assessed_now(view.record.changed(**facts))
    ward.save(view.stay, record, view.version)
    ward.call_me("JN")
    return record


async def test_somebody_saved_first_is_told_field_by_field(opened):
    """A save over somebody's newer record is refused with each fact both saw; taking theirs drops mine."""
    async with opened() as nurse:
        form = await open_bed(nurse, "01")
        await nurse.press("B", "u")
        theirs = saved_elsewhere(nurse.ward, "5N-01", sitting="supported", weight_kg=91)
        await nurse.press("ctrl+s", "enter")
        assert "PK saved 5N-01" in nurse.screen
        assert "sitting: was steady; you unable; PK supported" in nurse.screen
        await nurse.press("t")
        assert nurse.app.screen is form
        assert form.answers.record.sitting is Balance.SUPPORTED
        assert nurse.bed("5N-01").record.weight_kg == theirs.weight_kg
        assert nurse.ward.drafts.all() == []


async def test_merging_keeps_their_sole_change_and_mine(opened):
    """Put together: their weight stands, my answer stands where both changed, and it is saved over theirs."""
    async with opened() as nurse:
        await open_bed(nurse, "01")
        await nurse.press("B", "u")
        saved_elsewhere(nurse.ward, "5N-01", sitting="supported", weight_kg=91)
        await nurse.press("ctrl+s", "enter", "m", "ctrl+s")
        if not isinstance(nurse.app.screen, Board):
            await nurse.press("enter")
        record = nurse.bed("5N-01").record
        assert record.sitting is Balance.UNABLE
        assert record.weight_kg == 91


async def test_a_note_to_a_line_and_pasted_text_lose_their_control_signs(opened, empty_ward):
    """A note typed to a drain is kept with it; direction-changing characters are gone."""
    async with opened(over=empty_ward) as nurse:
        form = await admit(nurse, "1")
        await nurse.press("T", "c", "l", "colon")
        await nurse.type("keep low")
        await nurse.press("enter")
        assert form.answers.get("lines") == [{"kind": "chest tube", "side": "left", "note": "keep low"}]


async def test_capital_letters_and_tab_go_by_section(opened):
    """V goes to the vital signs, Tab on to the next section, Shift+Tab back."""
    async with opened() as nurse:
        form = await open_bed(nurse, "01")
        await nurse.press("V")
        assert form.current == "vitals.lying"
        await nurse.press("tab")
        assert form.question.section.key == "F"
        await nurse.press("shift+tab")
        assert form.question.section.key == "V"


async def test_new_vital_signs_are_never_mixed_with_old_ones(opened):
    """The first new figure drops those of another time, and carries its own time."""
    async with opened() as nurse:
        measured = next(v for v in nurse.ward.board() if v.record.vitals and v.record.vitals.standing_1min)
        form = await open_bed(nurse, measured.bed[-2:])
        await nurse.press("V")
        await nurse.type("1207060")
        assert form.answers.get("vitals.standing_1min") is None
        assert form.answers.record.vitals.at == nurse.ward.now


async def test_a_fallen_patient_cannot_be_confirmed_in_one_go(opened):
    """After a fall the form asks for each deciding fact: there is no blanket same as before."""
    async with opened() as nurse:
        fallen = next(view for view in nurse.ward.board() if view.fall_at)
        await open_bed(nurse, fallen.bed[-2:])
        await nurse.press("W")
        await nurse.type("80k")
        await nurse.press("ctrl+s")
        assert "one by one" in nurse.screen
        assert "I have seen these again" not in nurse.screen


async def test_opening_a_bed_is_noted_in_the_ledger(opened, ward):
    """Outside the demo the ledger keeps who looked at which bed."""
    ward.demo = False
    async with opened() as nurse:
        await open_bed(nurse, "01")
        stay = nurse.bed("5N-01").stay
        looks = [entry for entry in ward.ledger.entries(kinds=["seen"]) if entry.stay == stay]
        assert [entry.by for entry in looks] == ["JN"]


async def test_the_side_of_a_line_is_asked_with_its_keys(opened, empty_ward):
    """After the kind of a line its sides are shown; Enter leaves the side open and stays for another line."""
    async with opened(over=empty_ward) as nurse:
        form = await admit(nurse, "1")
        await nurse.press("T", "u")
        assert "on which side?" in nurse.screen
        await nurse.press("enter", "i", "r")
        assert form.answers.get("lines") == [
            {"kind": "urinary catheter"},
            {"kind": "IV line", "side": "right"},
        ]
        assert form.current == "lines"


async def test_a_language_that_is_no_code_is_refused_in_words(opened, empty_ward):
    """A language written out is asked for as its code; the code is kept."""
    async with opened(over=empty_ward) as nurse:
        form = await admit(nurse, "1")
        await nurse.press("C", "x")
        await nurse.type("Portuguese")
        await nurse.press("enter")
        assert "two or three letters" in nurse.screen
        await nurse.press(*["backspace"] * 10)
        await nurse.type("pt")
        await nurse.press("enter")
        assert form.answers.get("communication.language") == "pt"


async def test_a_failing_disk_is_said_and_the_answer_stays(opened, monkeypatch):
    """When the draft cannot be written the nurse is told; the answer is on the form all the same."""

    def full(self, draft):
        raise OSError(28, "No space left on device")

    async with opened() as nurse:
        form = await open_bed(nurse, "01")
        monkeypatch.setattr(type(nurse.ward.drafts), "keep", full)
        await nurse.press("u")
        assert "No space left" in nurse.screen
        assert form.answers.get("alertness") == "unresponsive"


async def test_a_ledger_that_cannot_save_keeps_the_answers(opened, monkeypatch):
    """A refused save says why; the answers stay on the form and on disk."""
    from mobicard.ledger import LedgerFull

    def refuse(self, *entries, **more):
        raise LedgerFull("No room is left on the disk. Nothing was saved.")

    async with opened() as nurse:
        form = await open_bed(nurse, "01")
        await nurse.press("B", "u")
        monkeypatch.setattr(type(nurse.ward.ledger), "append", refuse)
        await nurse.press("ctrl+s", "enter")
        assert "No room is left" in nurse.screen
        assert nurse.app.screen is form
        assert form.answers.get("sitting") == "unable"
        assert nurse.ward.drafts.offered(form.view.stay) is not None


async def test_keys_in_quick_succession_answer_the_question_they_were_meant_for(opened):
    """Keys faster than the screen is painted are taken in their order, commands and letters alike."""
    async with opened() as nurse:
        form = await open_bed(nurse, "04")
        await nurse.burst("B", "down", "u", "up", "up", "h", "ctrl+z", "tab", "t")
        assert form.answers.get("standing") == "unable"
        assert form.answers.get("sitting") == "steady"
        assert form.answers.get("help.turn") == "total"
        assert form.answers.seen == {"standing", "help.turn"}


async def test_a_key_for_a_question_that_just_opened_is_no_answer_of_the_form(opened):
    """Save and k at once: k answers the question about the rest, it is not taken as an answer on the form."""
    async with opened() as nurse:
        await open_bed(nurse, "01")
        before = nurse.bed("5N-01").record
        await nurse.burst("A", "down", "down", "f", "A", "down", "down", "ctrl+s", "k")
        after = nurse.bed("5N-01").record
        assert after.behavior == "fearful"
        assert after.assessed_at == before.assessed_at


async def test_a_save_while_the_ledger_is_away_is_not_called_saved(opened, monkeypatch):
    """Held on the station's own disk: said so, and the answers are no longer a draft."""
    from mobicard.ledger import LedgerUnreachable

    def away(self, *entries, **more):
        raise LedgerUnreachable("The ledger does not answer.")

    async with opened() as nurse:
        form = await open_bed(nurse, "01")
        await nurse.press("B", "u")
        for name in ("append", "latest", "beds", "standing"):
            monkeypatch.setattr(type(nurse.ward.ledger), name, away)
        await nurse.press("ctrl+s", "enter")
        assert nurse.app.screen is not form
        told = [note.message for note in nurse.app._notifications]
        assert any("held on this station, not yet in the ledger" in says for says in told)
        assert not any(says.startswith("Saved") for says in told)
        assert nurse.ward.offline.outbox.held()


async def test_a_judgement_made_from_the_form_does_not_clash_with_its_own_person(opened):
    """An answer, then F6 HOIST, then Save: both are in the ledger, and undo takes back only the answer."""
    async with opened() as nurse:
        form = await open_bed(nurse, "03")
        await nurse.press("c", "f6", "h", "enter")
        assert nurse.app.screen is form
        assert form.answers.get("alertness") == "new_confusion"
        await nurse.press("ctrl+s", "k")
        assert isinstance(nurse.app.screen, Board)
        saved = nurse.bed("5N-03").record
        assert saved.alertness is Alertness.NEW_CONFUSION
        assert saved.override.level is Level.HOIST


@pytest.mark.parametrize(("key", "level", "by"), [("n", Level.TEAM, None), ("y", Level.LINK, "JN")])
async def test_a_judgement_ends_with_the_assessment_unless_judged_again(opened, key, level, by):
    """5N-23 was lowered by MO: who looks again is asked whether that is still so, and answers by name."""
    async with opened() as nurse:
        nurse.ward.clock = Clock.fixed(nurse.ward.now + timedelta(hours=1))
        await open_bed(nurse, "23")
        await nurse.press("B", "h", "ctrl+s", "enter")
        assert "Judged LINK by MO" in nurse.screen
        await nurse.press(key)
        assert isinstance(nurse.app.screen, Board)
        saved = nurse.bed("5N-23")
        assert saved.plan.level is level
        assert (saved.record.override.by if saved.record.override else None) == by


async def test_undo_after_a_judgement_keeps_the_judgement(opened):
    """Back to the record as it is now: judged, and nothing left unsaved."""
    async with opened() as nurse:
        form = await open_bed(nurse, "03")
        await nurse.press("c", "f6", "h", "enter", "ctrl+z")
        assert form.answers.get("override")["level"] == "HOIST"
        assert not form.unsaved


async def test_what_another_station_saved_beside_a_judgement_still_clashes(opened, ward):
    """AB changes standing while JN's form is open; JN's judgement does not carry JN's answers over that."""
    async with opened() as nurse:
        form = await open_bed(nurse, "03")
        await nurse.press("c")
        view = nurse.bed("5N-03")
        ward.call_me("AB")
        ward.save(view.stay, view.record.changed(standing="unable"), view.version)
        ward.call_me("JN")
        await nurse.press("f6", "h", "enter")
        assert nurse.app.screen is form
        await nurse.press("ctrl+s", "k")
        assert isinstance(nurse.app.screen, Clash)
        assert nurse.bed("5N-03").record.standing is Balance.UNABLE


async def test_orders_nobody_was_asked_for_are_not_shown_as_none(opened, empty_ward):
    """Limb orders, precautions and lines say that nobody asked; a given order leaves the others so."""
    async with opened(size=(140, 60), over=empty_ward) as nurse:
        await admit(nurse, "1")
        await nurse.press("L", "f")
        lines = [line.split("│")[0] for line in nurse.screen.splitlines()]
        for asks in ("Right leg", "Left arm", "Right arm", "Precautions", "Lines and drains"):
            said = [line for line in lines if asks in line and "not asked" in line]
            assert len(said) == 1, asks
        assert not [line for line in lines if "Left leg" in line and "not asked" in line]


async def test_how_to_take_an_answer_back_is_said_after_the_first(opened):
    """The banner names the key once, with the first answer."""
    async with opened() as nurse:
        await open_bed(nurse, "01")
        await nurse.press("c")
        assert "1 answered, not saved; Ctrl+Z undoes" in nurse.screen.splitlines()[0]
        await nurse.press("r")
        assert "Ctrl+Z undoes" not in nurse.screen.splitlines()[0]
