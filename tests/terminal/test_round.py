"""The Round by keyboard: two keys an unchanged patient, only what is asked for else, where it stands kept."""

from __future__ import annotations

from datetime import timedelta

from textual import events

from mobicard.facts import FallEvent
from mobicard.facts.words import Balance, Help, Task
from mobicard.terminal.board.screen import Board
from mobicard.terminal.fall.screen import Fall
from mobicard.terminal.print_desk.screen import PrintDesk
from mobicard.terminal.round import state as round_state
from mobicard.terminal.round.form import AskedForm, all_deciding
from mobicard.terminal.round.screen import Round
from mobicard.terminal.round.state import urgency
from mobicard.ward import Door
from tests.terminal.staff import signed_in

MINE = ["5N-01", "5N-02", "5N-03", "5N-04", "5N-05", "5N-06"]


async def go_round(nurse) -> Round:
    """From the Board into the round of whoever is at the station."""
    await nurse.press("r")
    screen = nurse.app.screen
    assert isinstance(screen, Round)
    return screen


async def all_still_so(nurse) -> None:
    """Each order that stood before this shift: somebody was asked, it stands."""
    while "still so" in nurse.screen:
        await nurse.press("s")


async def test_my_beds_one_after_the_other(opened):
    """The round is over the beds assigned to my initials, in the unit's order."""
    async with opened() as nurse:
        round_ = await go_round(nurse)
        beds = {view.stay: view.bed for view in nurse.ward.board()}
        assert [beds[stay] for stay in round_.state.stays] == MINE
        assert "bed 1 of 6" in nurse.screen
        assert "02 Mar 07:05 by JN" in nurse.screen


async def test_an_unchanged_patient_takes_two_keys(opened):
    """S and Enter: recorded with who and when, the next bed on the screen."""
    async with opened() as nurse:
        round_ = await go_round(nurse)
        before = nurse.pressed
        await nurse.press("s", "enter")
        assert nurse.pressed - before == 2
        saved = nurse.bed("5N-01").record
        assert (saved.assessed_by, saved.assessed_at) == ("JN", nurse.ward.now)
        assert nurse.ward.ledger.history(nurse.bed("5N-01").stay)[-1].kind == "same"
        assert round_.view.bed == "5N-02"
        assert "1 of 6 done" in nurse.screen


async def test_another_key_takes_the_question_back(opened):
    """After S any key but Enter records nothing."""
    async with opened() as nurse:
        round_ = await go_round(nurse)
        version = nurse.bed("5N-01").version
        await nurse.press("s")
        assert "same as before?" in nurse.screen
        await nurse.press("x")
        assert "same as before?" not in nurse.screen
        await nurse.press("enter")
        assert nurse.bed("5N-01").version == version
        assert round_.view.bed == "5N-01"


async def test_one_changed_fact_takes_five_keys(opened):
    """C, the fact's letter, its answer, Enter for the rest seen again: recorded, and on to the next bed."""
    async with opened() as nurse:
        round_ = await go_round(nurse)
        before = nurse.pressed
        await nurse.press("c", "k", "m", "enter")
        assert nurse.pressed - before <= 5
        saved = nurse.bed("5N-01")
        assert saved.record.help[Task.CHAIR] is Help.MINIMAL
        assert saved.record.assessed_at == nurse.ward.now
        assert nurse.app.screen is round_
        assert round_.view.bed == "5N-02"
        assert round_.state.done[saved.stay] == round_state.CHANGED


async def test_a_change_alone_leaves_the_bed_on_the_screen(opened):
    """Who has not seen the rest again has not finished the bed: it stays, as done in part."""
    async with opened() as nurse:
        round_ = await go_round(nurse)
        await nurse.press("c", "e", "h", "k")
        assert nurse.bed("5N-01").record.standing is Balance.SUPPORTED
        assert round_.view.bed == "5N-01"
        assert "the rest not seen again" in nurse.screen
        assert "0 of 6 done" in nurse.screen


async def test_same_is_refused_after_a_fall_with_why(opened):
    """In 5N-17 somebody fell: said so, S and Enter record nothing, A goes on with the fall."""
    async with opened() as nurse:
        round_ = await go_round(nurse)
        fallen = nurse.bed("5N-17")
        round_.begin("MO")
        round_.to_bed(fallen.stay)
        await nurse.settle()
        assert "The fall is not over: Do not move: not cleared after the fall" in nurse.screen
        assert round_.asked == ()
        await nurse.press("s", "enter")
        assert nurse.app.screen is round_
        assert nurse.bed("5N-17").version == fallen.version
        for key in ("a", "f"):
            await nurse.press(key)
            assert isinstance(nurse.app.screen, Fall)
            await nurse.press("escape")
            assert nurse.app.screen is round_


async def test_up_after_a_fall_the_round_asks_every_deciding_fact(opened):
    """Once up the look is what is missing: A asks it, as ever."""
    async with opened() as nurse:
        fallen = nurse.bed("5N-17")
        event = {
            **fallen.record.fall_event.model_dump(exclude_none=True),
            "cleared_by": "Dr NN",
            "cleared_at": nurse.ward.now,
            "up_at": nurse.ward.now,
        }
        nurse.ward.fell(fallen.stay, FallEvent.model_validate(event), fallen.version)
        round_ = await go_round(nurse)
        round_.begin("MO")
        round_.to_bed(fallen.stay)
        await nurse.settle()
        await nurse.press("a")
        assert isinstance(nurse.app.screen, AskedForm)
        assert nurse.app.screen.current == "alertness"


async def test_a_head_observation_on_the_round_is_no_look(opened):
    """G, A: noted by name, and the bed stands neither done nor changed."""
    async with opened() as nurse:
        round_ = await go_round(nurse)
        fallen = nurse.bed("5N-17")
        round_.begin("MO")
        round_.to_bed(fallen.stay)
        await nurse.settle()
        await nurse.press("g", "a")
        assert nurse.bed("5N-17").record.head_watch.noted_by == "JN"
        assert fallen.stay not in round_.state.done


async def test_same_is_refused_after_a_move(opened):
    """Another bed, another room: look again."""
    async with opened() as nurse:
        nurse.ward.clock = type(nurse.ward.clock).fixed(nurse.ward.now + timedelta(minutes=1))
        nurse.ward.stays.move(nurse.bed("5N-01"), "5N-30")
        round_ = await go_round(nurse)
        round_.to_bed(nurse.bed("5N-30").stay)
        await nurse.settle()
        assert "moved bed since" in nurse.screen
        assert round_.asked == all_deciding(nurse.bed("5N-30"))


async def test_only_what_is_missing_is_asked(opened):
    """5N-15 lacks some deciding facts: A goes through those alone, the last answer leads to saving."""
    async with opened() as nurse:
        round_ = await go_round(nurse)
        view = nurse.bed("5N-15")
        round_.begin("MO")
        round_.to_bed(view.stay)
        await nurse.settle()
        missing = round_state.missing(view)
        assert missing
        assert round_.asked == missing
        await nurse.press("a")
        await all_still_so(nurse)
        form = nurse.app.screen
        for path in missing:
            assert form.current == path
            await nurse.press(form.question.choices[0].key)
        assert "Still as recorded" in nurse.screen
        await nurse.press("enter")
        assert not round_state.missing(nurse.bed("5N-15"))
        assert round_.view.bed != "5N-15"


async def test_a_round_goes_on_where_it_was_left(opened):
    """Paused, and the terminal closed: opened again it stands at the same bed with the same beds done."""
    async with opened() as nurse:
        await go_round(nurse)
        await nurse.press("s", "enter", "s", "enter", "right", "escape")
        assert isinstance(nurse.app.screen, Board)
    async with opened() as nurse:
        assert "never saved" not in nurse.screen
        round_ = await go_round(nurse)
        assert round_.view.bed == "5N-04"
        assert "2 of 6 done" in nurse.screen
        await nurse.press("left")
        assert "left for later" in nurse.screen


async def test_a_round_of_another_shift_is_not_taken_up(opened, ward):
    """The next shift begins anew."""
    async with opened() as nurse:
        await go_round(nurse)
        await nurse.press("s", "enter", "escape")
    ward.clock = type(ward.clock).fixed(ward.now + timedelta(hours=12))
    async with opened() as nurse:
        await go_round(nurse)
        assert "0 of 6 done" in nurse.screen


async def test_the_end_says_what_changed_and_which_doors_are_old(opened):
    """After the last bed: levels that changed, doors for a new card; P goes to the print desk."""
    async with opened(size=(100, 50)) as nurse:
        nurse.ward.assign([nurse.bed(bed).stay for bed in MINE[3:]], "AB")
        await go_round(nurse)
        await nurse.press("c", "k", "t", "enter")
        await nurse.press("s", "enter", "s")
        await all_still_so(nurse)
        await nurse.press("enter")
        assert "3 of 3 done: 2 same as before, 1 recorded anew" in nurse.screen
        assert "5N-01: SELF ->" in nurse.screen
        assert nurse.bed("5N-01").door is Door.OUT_OF_DATE
        assert "5N-01: old card" in nurse.screen
        await nurse.press("p")
        assert isinstance(nurse.app.screen, PrintDesk)
        assert nurse.ward.drafts.all() == []


async def test_whose_beds_can_be_chosen(opened):
    """B and a figure: the beds of somebody else; B and A: all."""
    async with opened() as nurse:
        round_ = await go_round(nurse)
        await nurse.press("m", "1")
        assert round_.state.whose == "AB"
        assert round_.view.bed == "5N-07"
        await nurse.press("m", "a")
        assert len(round_.state.stays) == 24


async def test_somebody_who_saved_meanwhile_is_said(opened, ward):
    """Another save between showing and Enter: nothing is recorded over it; the bed shows as it is now."""
    async with opened() as nurse:
        round_ = await go_round(nurse)
        await nurse.press("s")
        view = nurse.bed("5N-01")
        ward.call_me("AB")
        ward.save(view.stay, view.record.changed(standing="unable"), view.version)
        ward.call_me("JN")
        await nurse.press("enter")
        assert nurse.bed("5N-01").record.standing is Balance.UNABLE
        assert nurse.ward.ledger.history(view.stay)[-1].kind == "record"
        assert round_.view.record.standing is Balance.UNABLE
        assert round_.state.done == {}


async def test_a_reader_makes_no_round(opened, ward):
    """The role is told so in words; the Board stays."""
    signed_in(ward, "reader")
    async with opened() as nurse:
        await nurse.press("r")
        assert isinstance(nurse.app.screen, Board)
        assert "recorded by a nurse" in nurse.screen


async def test_the_limits_stand_where_same_as_before_is_said(opened):
    """Limb orders, precautions and lines are on the screen before *same as before* is said of them."""
    async with opened(size=(80, 24)) as nurse:
        await go_round(nurse)
        await nurse.press("right", "right")
        assert "5N-03" in nurse.screen.splitlines()[1]
        order = nurse.bed("5N-03").record.as_json()["weight_bearing"]["left_leg"]
        assert f"Limits then: left leg partial, {order['percent']:g} %" in nurse.screen
        await nurse.press("left", "left")
        assert "Limits then: no limb order, precaution or line recorded" in nurse.screen


async def test_keys_typed_ahead_attest_no_bed_that_was_not_shown(opened):
    """S and Enter six times in one burst: only the bed that was on the screen is confirmed."""
    async with opened() as nurse:
        round_ = await go_round(nurse)
        for _ in range(6):
            nurse.app.post_message(events.Key("s", "s"))
            nurse.app.post_message(events.Key("enter", None))
        await nurse.settle()
        same = [view.bed for view in nurse.ward.board() if last_kind(nurse, view) == "same"]
        assert same == ["5N-01"]
        assert round_.view.bed == "5N-02"


async def test_nothing_is_answered_under_the_cover_of_a_small_window(opened):
    """Below the least size only a sentence shows: keys there confirm nobody."""
    async with opened() as nurse:
        await go_round(nurse)
        await nurse.pilot.resize_terminal(60, 15)
        await nurse.press("s", "enter")
        assert last_kind(nurse, nurse.bed("5N-01")) != "same"


def last_kind(nurse, view) -> str:
    return nurse.ward.ledger.history(view.stay)[-1].kind


async def test_what_is_attested_is_shown(opened):
    """Of whom, what it leaves standing; of a change old and new with its level, and the values confirmed."""
    async with opened() as nurse:
        await nurse.press("r")
        await nurse.press("s")
        shown = " ".join(nurse.screen.split())
        assert "5N-01 RA: same as before? It stays SELF, no helper." in shown
        assert "sits steady; stands steady" in shown
        await nurse.press("escape")
        await nurse.press("c", "k", "m")
        shown = " ".join(nurse.screen.replace("│", " ").split())
        assert "5N-01 RA. Still as recorded 02 Mar 07:05:" in shown
        assert "Changed: Bed to chair and back: independent -> minimal, to 25 %." in shown
        assert "It gives TEAM, 2 helpers." in shown
        assert "arms to push or pull: both; independent for" in shown
        assert "I have seen these again just now" in shown


async def test_who_must_be_seen_first_comes_first_and_r_gives_the_units_order(opened, ward):
    """All beds: the fall and the overdue before the rest; r: the order of the unit; r again: as before."""
    async with opened() as nurse:
        await nurse.press("r", "m", "a")
        round_ = nurse.app.screen
        by = {view.stay: view for view in ward.board()}
        ranks = [urgency(by[stay]) for stay in round_.state.stays]
        assert ranks == sorted(ranks)
        assert ranks[0] == 0
        assert ranks[-1] > 1
        await nurse.press("r")
        assert round_.state.stays == [view.stay for view in ward.board()]
        await nurse.press("r")
        assert [urgency(by[stay]) for stay in round_.state.stays] == ranks


async def test_on_a_wide_screen_the_plan_stands_at_the_right(opened):
    """What was seen then at the left, the level beside it in the same lines."""
    async with opened(size=(160, 40)) as nurse:
        await nurse.press("r")
        left, right = (nurse.app.screen.query_one(one).region for one in ("#round-bed", "#round-card"))
        assert (left.y, left.right) == (right.y, right.x)


async def test_the_nurse_who_takes_a_patient_in_looks_after_the_bed(opened):
    """n: the new bed is on the nurse's own round."""
    async with opened() as nurse:
        await nurse.press("n")
        await nurse.type("5n-88")
        await nurse.press("enter", "enter")
        assert nurse.bed("5N-88").assignment == "JN"
