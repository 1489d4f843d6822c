"""The Board by keyboard: what it shows, how a bed is found, what the keys do to the ledger."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from types import SimpleNamespace

import pytest

from mobicard.facts.words import Level, Task
from mobicard.hands.ticks import HowFar, Tick
from mobicard.paper.clinical_words import nobody_moves
from mobicard.terminal.board.rows import COLUMNS, harder, jump, peek, shown
from mobicard.terminal.board.screen import Board
from mobicard.terminal.board.which_bed import beds_like
from mobicard.terminal.looks import helpers_say, people_say
from mobicard.terminal.record.screen import RecordForm
from mobicard.ward import Draft


async def test_every_bed_stands_on_the_board_with_word_and_glyph(opened):
    """Each bed shows its level's word beside its glyph, the helpers, and until when it holds."""
    async with opened(size=(140, 40)) as nurse:
        for view in nurse.ward.board():
            line = next(line for line in nurse.screen.splitlines() if line.startswith(view.bed))
            look = nurse.app.scheme.looks[view.plan.shown_level]
            assert f"{look.glyph} {look.word}" in line
            if view.plan.helpers is not None and not view.plan.expired:
                assert f" {view.plan.helpers} " in line


async def test_an_expired_level_is_not_shown(opened):
    """A bed nobody looked at in time shows REMAIN and says since when it is overdue."""
    async with opened() as nurse:
        expired = next(view for view in nurse.ward.board() if view.plan.expired and view.assessed)
        await nurse.type(expired.bed[-2:])
        line = next(line for line in nurse.screen.splitlines() if line.startswith(expired.bed))
        assert "REMAIN" in line
        assert expired.plan.last_known is not None


async def test_counts_along_the_top(opened):
    """The top line counts beds, overdue ones and doors whose card is old, as the ledger has them."""
    async with opened() as nurse:
        views = nurse.ward.board()
        old = sum(view.door == "out_of_date" for view in views)
        overdue = sum(view.due == "overdue" for view in views)
        assert f"{len(views)} beds" in nurse.screen
        assert f"{overdue} overdue" in nurse.screen
        assert f"{old} old cards" in nurse.screen


async def test_a_scanned_card_answers_on_the_board_and_starts_no_command(opened, ward):
    """A scanner types capitals and figures, then Enter: what the code stands for; no place opens."""
    view = ward.find("5N-04")
    async with opened(size=(100, 30)) as nurse:
        await nurse.press(*view.door_code, "enter")
        assert isinstance(nurse.app.screen, Board)
        assert f"{view.door_code}: current for 5N-04" in nurse.screen
        await nurse.press("y")
        await nurse.type("https://ward.example/c/22222A")
        await nurse.press("enter")
        assert "not a code" in nurse.screen


async def test_a_bed_is_found_and_opened_by_its_number(opened):
    """Typing the bed's figures marks it; Enter opens its record: three keys."""
    async with opened() as nurse:
        await nurse.type("12")
        assert nurse.app.screen.marked.bed == "5N-12"
        await nurse.press("enter")
        assert isinstance(nurse.app.screen, RecordForm)
        assert "5N-12" in nurse.screen.splitlines()[0]
        assert nurse.pressed <= 5


@pytest.mark.parametrize(
    ("typed", "found"), [("12a", "4W-12A"), ("4e2", "4E-2"), ("4w2", "4W-2"), ("zz", None)]
)
def test_a_typed_number_means_the_bed_that_ends_so(typed, found):
    """An exact name wins, then a name's end, its start, a part of it, its signs in order."""
    beds = [_Named(name) for name in ("4E-2", "4E-12", "4W-2", "4W-12A")]
    place = jump(beds, typed)
    assert (None if place is None else beds[place].bed) == found


class _Named:
    def __init__(self, bed: str) -> None:
        self.bed = bed


async def test_filter_shows_only_beds_with_every_word(opened):
    """Words typed after the slash keep only the beds that contain all of them; Esc shows all again."""
    async with opened() as nurse:
        await nurse.type("/hoist 3")
        kept = nurse.app.screen.rows
        lifted = [
            v.bed for v in nurse.ward.board() if v.plan.shown_level is Level.HOIST and v.plan.helpers == 3
        ]
        assert {view.bed for view in kept} >= set(lifted)
        assert "5N-01" not in {view.bed for view in kept}
        assert f"{len(kept)} of 24 beds" in nurse.screen
        await nurse.press("escape")
        assert len(nurse.app.screen.rows) == 24


async def test_sorting_by_level_puts_most_help_first(opened):
    """One press of s sorts by level, most help first."""
    async with opened() as nurse:
        await nurse.press("s")
        ranks = [view.plan.shown_level.rank for view in nurse.app.screen.rows]
        assert ranks == sorted(ranks, reverse=True)
        assert ranks[0] == Level.REMAIN.rank
        assert "by level" in nurse.screen


async def test_mine_shows_my_beds_only(opened):
    """m keeps the beds assigned to who is at the station."""
    async with opened() as nurse:
        await nurse.press("m")
        assert {view.assignment for view in nurse.app.screen.rows} == {"JN"}


async def test_another_stations_save_appears_by_itself(opened, ward):
    """When another station saves, the Board shows it without a key being pressed."""
    async with opened() as nurse:
        view = nurse.bed("5N-01")
        board = nurse.app.screen
        assert isinstance(board, Board)
        worse = ward.assessed_now(view.record.changed(alertness="unresponsive"))
        ward.save(view.stay, worse, view.version)
        await nurse.until(lambda: board.rows[0].plan.level is Level.REMAIN)
        line = next(line for line in nurse.screen.splitlines() if line.startswith("5N-01"))
        assert "REMAIN" in line


async def test_admitting_opens_the_form_of_the_new_stay(opened, empty_ward):
    """n asks for the bed and an alias, puts the stay into the ledger and opens its form."""
    async with opened(over=empty_ward) as nurse:
        assert "n   add a bed" in nurse.screen
        await nurse.press("n")
        await nurse.type("4W-1")
        await nurse.press("enter")
        await nurse.type("RT")
        await nurse.press("enter")
        assert [view.bed for view in empty_ward.board()] == ["4W-1"]
        assert isinstance(nurse.app.screen, RecordForm)
        assert "first assessment" in nurse.screen


async def test_a_taken_bed_is_refused_in_words(opened):
    """Admitting into a taken bed says so and changes nothing."""
    async with opened() as nurse:
        await nurse.press("n")
        await nurse.type("5n-01")
        await nurse.press("enter", "enter")
        assert "is taken" in nurse.screen
        assert len(nurse.ward.board()) == 24


async def test_discharge_asks_first(opened):
    """x ends a stay only after yes."""
    async with opened() as nurse:
        await nurse.press("x", "n")
        assert nurse.ward.find("5N-01") is not None
        await nurse.press("x", "y")
        assert nurse.ward.find("5N-01") is None


async def test_moving_to_a_taken_bed_offers_to_swap(opened):
    """v to a taken bed swaps the two stays when confirmed, both or neither."""
    async with opened() as nurse:
        first, second = nurse.bed("5N-01").stay, nurse.bed("5N-02").stay
        await nurse.press("v")
        await nurse.type("5n-02")
        await nurse.press("enter", "y")
        assert nurse.bed("5N-02").stay == first
        assert nurse.bed("5N-01").stay == second


async def test_why_opens_reasons_with_their_sources(opened):
    """w shows the card with every reason's source."""
    async with opened(size=(120, 50)) as nurse:
        await nurse.type("06")
        await nurse.press("escape", "w")
        reason = nurse.bed("5N-06").plan.headline.reasons[0]
        assert reason.source.split(";")[0][:20] in nurse.screen


async def test_a_letter_after_a_bed_number_is_a_command_where_no_bed_is_called_so(opened):
    """05 then w shows why 5N-05 has its level: no bed is like 05w."""
    async with opened() as nurse:
        await nurse.type("05w")
        assert "5N-05   Enter opens" in nurse.screen


async def test_what_changed_starts_with_the_level_that_was(opened):
    """The column says in short what the level beside it was, before anything longer."""
    async with opened(size=(200, 60)) as nurse:
        view = next(one for one in nurse.ward.board() if any(c.what == "level" for c in one.changed))
        head = next(c for c in view.changed if c.task is Task.CHAIR and c.what == "level")
        cell = next(column.cell(view) for column in COLUMNS if column.title == "Changed this shift")
        assert cell.startswith(f"was {head.old.split(',')[0]}")
        assert f"was {head.old.split(',')[0]}" in next(
            line for line in nurse.screen.splitlines() if view.bed in line
        )


async def test_no_narrow_column_cuts_the_figure_of_a_limit(opened):
    """At 80 columns the kilograms of every weight limit stand whole, with their unit."""
    async with opened(size=(80, 24)) as nurse:
        limits = {view.bed: view.limit_says for view in nurse.ward.board() if " kg" in view.limit_says}
        assert limits
        for bed, says in limits.items():
            await nurse.type(bed)
            row = next(line for line in nurse.screen.splitlines() if line.startswith(bed))
            assert f" {says.split(' kg')[0]} kg" in row
            await nurse.press("escape")


async def test_a_fall_takes_the_place_of_the_band_scored_before_it(opened):
    """A patient not yet assessed again after a fall is never shown with the old band, and sorts first."""
    async with opened(size=(80, 24)) as nurse:
        beds = nurse.ward.board()
        fallen = next(view for view in beds if view.plan.after_fall is not None)
        cell = next(column.cell for column in COLUMNS if column.title == "Fall")
        assert cell(fallen) == "fell"
        first, *rest = shown(beds, "", "fall risk", None)
        assert first.plan.after_fall is not None
        scores = [view.plan.fall_risk.score if view.plan.fall_risk else -1 for view in rest]
        assert scores == sorted(scores, reverse=True)
        assert len(set(scores)) > 3


async def test_an_own_judgement_stands_on_the_board_with_its_name(opened):
    """Where a person set the level, the row says by whom and the line below says why."""
    async with opened(size=(80, 24)) as nurse:
        judged = next(view for view in nurse.ward.board() if view.plan.override)
        await nurse.type(judged.bed)
        rows = [line for line in nurse.screen.splitlines() if line.startswith(judged.bed)]
        assert any(f" by {judged.plan.override.by}" in row for row in rows), nurse.screen
        assert judged.plan.override.reason in peek(judged)
        assert f"by own judgement of {judged.plan.override.by}" in " ".join(nurse.screen.split())


async def test_moves_that_ask_for_more_than_the_cards_own_stand_below_the_table(opened):
    """Every move with more helpers than the row's number is named with its own, and none that has not."""
    async with opened() as nurse:
        beds = [view for view in nurse.ward.board() if view.plan.helpers and not view.plan.expired]
        for view in beds:
            says = harder(view.plan)
            for task, line in view.plan.tasks.items():
                more = line.helpers is not None and line.helpers > view.plan.helpers
                parts = [part for part in says.split("; ") if part.endswith(f": {line.helpers} helpers")]
                named = [move for part in parts for move in part.split(": ")[0].split(", ")]
                assert (task.value.replace("_", " ") in named) is more, (view.bed, task, says)
        spine = nurse.bed("5N-07")
        assert spine.plan.helpers == 1
        await nurse.type("07")
        assert "1 helper; boost, turn, sit up" in nurse.screen
        assert "floor: 2 helpers" in " ".join(nurse.screen.split())


async def test_do_not_move_is_said_only_where_it_is_meant(opened, ward):
    """Where nobody is planned the screen says what the pages say: a ban only fallen or not awake."""
    async with opened() as nurse:
        view = nurse.bed("5N-01")
        ward.save(view.stay, view.record.changed(alertness="unresponsive"), view.version)
        bare = [one for one in ward.board() if one.plan.helpers is None and not one.plan.expired]
        said = {one.bed: people_say(one.plan) for one in bare}
        assert said == {one.bed: nobody_moves(one.plan, one.record) for one in bare}
        assert said["5N-01"] == said["5N-17"] == "do not move"
        assert said["5N-15"] == "not now"
        assert helpers_say(None, nurse.bed("5N-03").plan) == "not now"


async def test_an_expired_plan_counts_no_helpers(opened):
    """Nobody stands behind the old number: look again before moving."""
    async with opened() as nurse:
        old = next(view for view in nurse.ward.board() if view.plan.last_known)
        assert "look again before moving" in peek(old)
        assert "helper" not in peek(old)
        assert f"last known {old.plan.last_known.level.value}" in peek(old)


async def test_the_days_goals_stand_below_the_table_and_wide_in_it(opened, ward):
    """A walk done, one in part and one not: the figures in the column, why not in the line below."""
    view = ward.find("5N-01")
    for number, (outcome, why) in enumerate(
        ((HowFar.REACHED, ""), (HowFar.PARTLY, "to the door"), (HowFar.NOT, "too dizzy"))
    ):
        tick = Tick(f"m{number}", Task.WALK, outcome, datetime(2026, 3, 2, 7, 30), why)
        ward.tick(view.stay, tick.as_json())
    async with opened(size=(140, 40)) as nurse:
        row = next(line for line in nurse.screen.splitlines() if line.startswith("5N-01"))
        assert "walk 1/3+1 part" in row
        below = " ".join(nurse.screen.split())
        assert "goals: walk 1 of 3, 1 in part, not: to the door, too dizzy" in below


async def test_a_held_save_is_said_of_its_bed(opened):
    """A save the ledger has not got yet is said in the row and in words below."""
    async with opened() as nurse:
        view = replace(nurse.bed("5N-01"), pending=True)
        cell = next(column.cell for column in COLUMNS if column.title == "Assessment")
        assert cell(view) == "held here"
        assert "held on this station, not yet in the ledger" in peek(view)


async def test_no_band_is_cut_in_its_column(opened):
    """At 80 columns the band of 5N-10, the longest of the unit, stands whole in a short form."""
    async with opened(size=(80, 24)) as nurse:
        view = nurse.bed("5N-10")
        assert view.plan.fall_risk.band == "not at risk"
        row = next(line for line in nurse.screen.splitlines() if line.startswith("5N-10"))
        assert " not risk " in row
        assert "…" not in row


async def test_answers_of_a_fall_are_offered_by_the_key_that_takes_them_up(opened, ward):
    """Opening the record does not take a fall's answers up; f does, and the sentence says so."""
    fallen, other = ward.find("5N-01"), ward.find("5N-02")
    ward.drafts.keep(Draft(fallen.stay, "JN", fallen.version, ward.now, {}, "fall"))
    ward.drafts.keep(Draft(other.stay, "JN", other.version, ward.now, {}, "record"))
    async with opened(size=(80, 24)) as nurse:
        says = nurse.screen
        assert "Answers never saved: 5N-02; Enter takes them up" in says
        assert "Answers of a fall never saved: 5N-01; f takes them up" in says


async def test_what_is_said_covers_neither_the_line_below_nor_the_keys(opened):
    """At 80 x 24 a long sentence leaves the peek line and the footer to be read."""
    async with opened(size=(80, 24)) as nurse:
        nurse.app.screen.refuse("Nothing was changed, and this is why: " + "many words " * 12)
        await nurse.settle()
        assert "many words" in nurse.screen
        peeked = nurse.app.screen.query_one("#peek").region
        for toast in nurse.app.screen.query("Toast"):
            assert toast.region.bottom <= peeked.y
        assert "? Help ^P Find ^Q Quit" in nurse.screen.splitlines()[-1]


async def test_what_nobody_has_ended_stands_under_the_board_with_its_age(opened):
    """A fall of pressure, a reading and an operation, each with when it was."""
    async with opened(size=(200, 60)) as nurse:
        view = nurse.bed("5N-01")
        drop = {"at": "2026-03-01T07:40", "sbp": 24, "dbp": 14}
        vitals = {"at": "2026-03-02T06:30", "spo2": 88}
        done = {"at": "2026-03-02T07:50", "what": "hip nailing", "by": "AB"}
        facts = {"pressure_drop": drop, "vitals": vitals, "operation": done}
        nurse.ward.save(view.stay, view.record.changed(**facts), view.version)
        said = peek(nurse.bed("5N-01"))
        assert "Pressure fell by 24/14 on standing on 01 Mar 07:40: measure again." in said
        assert "measured 02 Mar 06:30: Oxygen saturation 88 %" in said
        assert "hip nailing on 02 Mar 07:50: nobody has looked since" in said


async def test_a_bare_number_of_a_new_bed_is_written_as_the_unit_writes_it(opened):
    """n, 25: the unit's beds are 5N-04 and so on, so it is 5N-25."""
    async with opened() as nurse:
        await nurse.press("n")
        await nurse.type("25")
        await nurse.press("enter")
        assert "for 5N-25" in nurse.screen
        await nurse.press("enter")
        assert nurse.bed("5N-25").version


async def test_a_taken_bed_is_refused_before_the_initials_are_asked(opened):
    """n, 4: the bed is taken, said at once; nothing more is asked."""
    async with opened() as nurse:
        await nurse.press("n")
        await nurse.type("4")
        await nurse.press("enter")
        assert "5N-04 is taken" in nurse.screen
        assert "Initials" not in nurse.screen


@pytest.mark.parametrize(
    ("beds", "typed", "says"),
    [
        (["5N-04", "5N-12"], "7", ["5N-07"]),
        (["5N-04", "4W-12A"], "25b", ["5N-25B", "4W-25B"]),
        (["5N-04"], "4W-01", []),
        (["101", "102"], "103", []),
        ([], "7", []),
    ],
)
def test_a_number_is_completed_only_as_beds_there_are_written(beds, typed, says):
    """One name a unit; a full name, and a unit that writes bare numbers, stay as typed."""
    assert beds_like([SimpleNamespace(bed=bed) for bed in beds], typed) == says


async def test_a_number_that_several_units_have_shows_each(opened):
    """04 in two units: the mark goes to the first, the other is named."""
    async with opened(size=(100, 40)) as nurse:
        nurse.ward.stays.admit("6W-04")
        nurse.app.screen.read_ledger()
        await nurse.until(lambda: "6W-04" in nurse.screen)
        await nurse.type("04")
        assert "also 6W-04" in nurse.screen.splitlines()[0]


async def test_what_is_too_long_is_said_and_not_cut(opened):
    """Initials of 14 letters: two too many, still there to be shortened."""
    async with opened() as nurse:
        await nurse.press("n")
        await nurse.type("25")
        await nurse.press("enter")
        await nurse.type("abcdefghijklmn")
        await nurse.press("enter")
        assert "2 too many: at most 12" in nurse.screen
        assert nurse.ward.find("5N-25") is None
        await nurse.press("backspace", "backspace", "enter")
        assert nurse.bed("5N-25").label == "abcdefghijkl"
