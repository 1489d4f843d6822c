"""Three days on a unit of 12 beds: at every half hour no hazard is gone that nobody ended.

What is open is kept by the story itself, from what was said at the beds; it asks the product for nothing.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from mobicard.exchange.fhir.bundle_out import to_bundle
from mobicard.exchange.fhir.resources import FhirStay
from mobicard.facts import FallEvent
from mobicard.facts.words import Level
from mobicard.ledger import Ledger
from mobicard.paper.door.card import door_face
from mobicard.paper.door.face import BedCard
from mobicard.ward import BedView, Clock, Settings, Ward
from mobicard.ward.reader.exporting import line_text
from tests.records import assessed

BEDS = tuple(f"5N-{n:02}" for n in range(1, 13))
FIRST = datetime(2026, 3, 7, 6, 30)
"""A Saturday in spring: the night after it is an hour short in New York (IANA time zone database)."""

TWO_SHIFTS = ("07:00", "19:00")
THREE_SHIFTS = ("07:00", "15:00", "23:00")
DROP = {"lying": {"sbp": 120, "dbp": 80}, "standing_1min": {"sbp": 96, "dbp": 66}}
HELD = {"lying": {"sbp": 120, "dbp": 80}, "standing_1min": {"sbp": 118, "dbp": 79}}


class Unit:
    """The ward, a clock the story moves, and what the story knows to be open at each bed."""

    def __init__(self, ward: Ward) -> None:
        self.ward = ward
        self.zone = ZoneInfo("America/New_York")
        self.stays: dict[str, str] = {}
        self.open: dict[str, set[str]] = {bed: set() for bed in BEDS}

    def at(self, moment: datetime) -> None:
        """Half hours are counted as they pass, not as the wall clock shows them."""
        self.ward.clock = Clock(lambda: moment.astimezone(UTC), self.zone)

    def view(self, bed: str) -> BedView:
        return self.ward.bed(self.stays[bed])

    def admit(self, bed: str) -> None:
        self.stays[bed] = self.ward.stays.admit(bed).stay

    def look(self, bed: str, **facts: object) -> None:
        """Somebody looks again and says only this: what stays silent ends nothing."""
        now = self.ward.now
        view = self.view(bed)
        self.ward.save(view.stay, assessed(bed, assessed_at=now, assessed_by="AB", **facts), view.version)

    def late(self, bed: str, minutes: int, **facts: object) -> None:
        """A look of some minutes ago, written down only now."""
        then = self.ward.now - timedelta(minutes=minutes)
        view = self.view(bed)
        self.ward.save(view.stay, assessed(bed, assessed_at=then, assessed_by="CD", **facts), view.version)

    def same(self, bed: str) -> None:
        view = self.view(bed)
        if self.ward.why_not_same(view) is None:
            self.ward.same_as_before(view)

    def fall(self, bed: str) -> None:
        view = self.view(bed)
        self.ward.fell(
            view.stay, FallEvent(at=self.ward.now, head_strike="yes", witnessed=False), view.version
        )

    def clear(self, bed: str) -> None:
        self.fall_goes_on(bed, cleared_by="Dr NN", cleared_at=self.ward.now, injury="none", neck_pain="no")

    def up(self, bed: str) -> None:
        self.fall_goes_on(bed, up_at=self.ward.now)

    def fall_goes_on(self, bed: str, **facts: object) -> None:
        view = self.view(bed)
        assert view.record.fall_event is not None
        event = FallEvent.model_validate({**view.record.fall_event.model_dump(exclude_none=True), **facts})
        self.ward.fell(view.stay, event, view.version)

    def operation(self, bed: str) -> None:
        self.ward.procedure(self.stays[bed], "knee replacement")

    def until_two(self, bed: str) -> None:
        self.ward.order_until(self.view(bed), "bed_rest", datetime(2026, 3, 7, 14, 0))

    def up_by_order(self, bed: str) -> None:
        self.ward.order_over(self.view(bed), "bed_rest", "Dr NN")

    def judge(self, bed: str) -> None:
        self.ward.override(self.view(bed), Level.TEAM, "tired after the night")


Step = tuple[float, str, Callable[[Unit, str], None], set[str], set[str]]
"""Hours since the first, the bed, what is done, the hazards it opens and those it ends."""


def looks(**facts: object) -> Callable[[Unit, str], None]:
    return lambda unit, bed: unit.look(bed, **facts)


STORY: list[Step] = [
    (1.0, "5N-02", Unit.fall, {"fall"}, set()),
    (1.5, "5N-02", Unit.clear, set(), set()),
    (2.0, "5N-02", looks(), set(), set()),
    (15.0, "5N-02", looks(), set(), set()),
    (26.0, "5N-02", Unit.up, set(), set()),
    (26.5, "5N-02", looks(), set(), {"fall"}),
    (3.0, "5N-03", looks(vitals=DROP), {"drop"}, set()),
    (14.0, "5N-03", looks(), set(), set()),
    (38.0, "5N-03", looks(), set(), set()),
    (50.0, "5N-03", looks(vitals=HELD), set(), {"drop"}),
    (6.0, "5N-04", Unit.operation, {"operation"}, set()),
    (20.0, "5N-04", looks(), set(), {"operation"}),
    (8.0, "5N-05", lambda unit, bed: unit.late(bed, 90), set(), set()),
    (2.5, "5N-06", Unit.judge, set(), set()),
    (12.0, "5N-07", Unit.fall, {"fall"}, set()),
    (13.0, "5N-07", looks(vitals=DROP), {"drop"}, set()),
    (30.0, "5N-07", Unit.operation, {"operation"}, set()),
    (40.0, "5N-07", Unit.clear, set(), set()),
    (41.0, "5N-07", Unit.up, set(), set()),
    (44.0, "5N-07", looks(), set(), {"fall", "operation"}),
    (60.0, "5N-07", looks(vitals=HELD), set(), {"drop"}),
    (4.0, "5N-10", looks(precautions=["bed_rest"]), {"bed_rest"}, set()),
    (5.0, "5N-10", Unit.until_two, set(), set()),
    (16.0, "5N-10", looks(), set(), set()),
    (42.0, "5N-10", Unit.up_by_order, set(), {"bed_rest"}),
    (43.0, "5N-10", looks(), set(), set()),
    (5.0, "5N-11", looks(weight_bearing={"left_leg": "NWB"}), {"left_leg"}, set()),
    (30.0, "5N-11", looks(), set(), set()),
    (55.0, "5N-11", looks(weight_bearing={"left_leg": "WBAT"}), set(), {"left_leg"}),
    (56.0, "5N-11", looks(), set(), set()),
    (19.5, "5N-08", Unit.fall, {"fall"}, set()),
    (33.0, "5N-09", Unit.operation, {"operation"}, set()),
    (34.0, "5N-09", lambda unit, bed: unit.late(bed, 120), set(), set()),
]

SHIFTLY = ("5N-01", "5N-05", "5N-10")
"""Beds confirmed as before every twelve hours; 5N-11 and 5N-12 are looked at once, or never."""


@pytest.fixture(params=[TWO_SHIFTS, THREE_SHIFTS], ids=["two shifts", "three shifts"])
def unit(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Unit]:
    """A unit in New York's time, with its own shifts."""
    config = tmp_path / "config"
    config.mkdir()
    starts = ", ".join(f'"{start}"' for start in request.param)
    policy = f'[shift]\nstarts = [{starts}]\ntimezone = "America/New_York"\n'
    (config / "policy.toml").write_text(policy, encoding="utf-8")
    ledger = Ledger.open(tmp_path / "ledger.sqlite")
    settings = Settings.found(config_dir=config)
    yield Unit(Ward(ledger, settings, by="JN", drafts=tmp_path / "drafts"))
    ledger.close()


def test_no_hazard_is_gone_without_its_ending_entry(unit: Unit) -> None:
    """Falls, operations, falls of pressure, late entries, a short night; board and pages agree throughout."""
    start = FIRST.replace(tzinfo=unit.zone)
    unit.at(start)
    for bed in BEDS:
        unit.admit(bed)
    for bed in BEDS[:-1]:
        unit.look(bed)
    waiting = sorted(STORY, key=lambda step: step[0])
    for half in range(2 * 72 + 1):
        hours = half / 2
        unit.at(start.astimezone(UTC) + timedelta(hours=hours))
        while waiting and waiting[0][0] <= hours:
            _, bed, done, opens, ends = waiting.pop(0)
            done(unit, bed)
            unit.open[bed] = (unit.open[bed] | opens) - ends
        if half and half % 24 == 0:
            for bed in SHIFTLY:
                unit.same(bed)
        check(unit)
    assert not waiting
    assert {bed: left for bed, left in unit.open.items() if left} == {
        "5N-08": {"fall"},
        "5N-09": {"operation"},
    }


def check(unit: Unit) -> None:
    """Every open hazard is on the plan, and every page and format says what the board says."""
    views = unit.ward.board()
    assert [view.bed for view in views] == list(BEDS)
    lines = [json.loads(line) for line in line_text(unit.ward, views)]
    told = {line.bed: line for line in unit.ward.handoff().beds}
    scheme, policy, now = unit.ward.settings.scheme, unit.ward.policy, unit.ward.now
    for view, line in zip(views, lines, strict=True):
        where = f"{view.bed} at {now}"
        assert standing(view) >= unit.open[view.bed], where
        shown = view.plan.shown_level
        assert door_face(BedCard(view.plan, view.record), scheme, policy, now).look.level is shown, where
        assert told[view.bed].level is shown, where
        assert line["plan"]["expired"] is view.plan.expired, where
        if not view.plan.expired:
            assert line["plan"]["level"] == shown.value == fhir_level(view), where
        if unit.open[view.bed] & {"fall", "operation", "bed_rest"}:
            assert shown is Level.REMAIN, where


def standing(view: BedView) -> set[str]:
    """The hazards a bed's plan and record speak of."""
    plan = view.plan
    rules = {reason.rule for task in plan.tasks.values() for reason in task.reasons}
    found = {"fall"} if plan.after_fall is not None else set()
    if plan.orthostatic is not None and plan.orthostatic.positive:
        found.add("drop")
    if any(rule.startswith("operation.") for rule in rules):
        found.add("operation")
    return found | {order.what for order in view.record.orders}


def fhir_level(view: BedView) -> str:
    """The level in the bed's FHIR resources."""
    bundle = to_bundle([FhirStay(view.stay, view.record, view.plan)])
    seen = [part["resource"] for part in bundle["entry"] if part["resource"]["resourceType"] == "Observation"]
    (level,) = [one for one in seen if "handling level" in one["code"].get("text", "")]
    return str(level["valueCodeableConcept"]["text"])
