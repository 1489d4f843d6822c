"""An assessment that has ended gives no level and no method on any page, screen or file."""

from __future__ import annotations

import json
from datetime import datetime

from mobicard.cli.plan_text import plan_text
from mobicard.exchange.csv_out import unit_csv
from mobicard.exchange.fhir.bundle_out import to_bundle
from mobicard.exchange.fhir.resources import FhirStay
from mobicard.facts.words import Level
from mobicard.paper.bedside.card import bedside_html
from mobicard.paper.door.card import door_html
from mobicard.paper.door.face import BedCard
from mobicard.paper.handoff.page import handoff_html
from mobicard.paper.sheet_sizes import Sheet
from mobicard.terminal.board.rows import peek
from mobicard.terminal.card.lines import card_lines
from mobicard.terminal.handoff.lines import bed_line
from mobicard.terminal.looks import Depth
from mobicard.ward import BedView, Clock, Ward
from tests.paper.reading import Reader
from tests.records import assessed

EVENING = datetime(2026, 3, 2, 20, 0)


def looked_at_in_the_morning(ward: Ward) -> BedView:
    """Alone in everything at 07:10; it is 20:00 now, half an hour after that ended."""
    view = ward.stays.admit("5N-01")
    record = assessed("5N-01", assessed_at=datetime(2026, 3, 2, 7, 10), assessed_by="JN", weight_kg=70)
    ward.save(view.stay, record, view.version)
    ward.clock = Clock.fixed(EVENING)
    return ward.bed(view.stay)


def everywhere(ward: Ward, view: BedView) -> dict[str, str]:
    """What each page, screen and file says of the bed."""
    plan, handoff, scheme, policy = view.plan, ward.handoff(), ward.settings.scheme, ward.policy
    card, now, plain = BedCard(plan, view.record), ward.now, Depth.PLAIN
    lines = [*card_lines(plan, scheme, plain), *(bed_line(line, scheme, plain) for line in handoff.beds)]
    return {
        "json": json.dumps(plan.as_json()),
        "handoff json": json.dumps(handoff.as_json()),
        "csv": unit_csv([(view.record, plan)]).decode("utf-8-sig"),
        "fhir": json.dumps(to_bundle([FhirStay(view.stay, view.record, plan)])),
        "text": plan_text(plan, view.record, scheme),
        "board": peek(view),
        "screens": "\n".join(text for line in lines for text, _ in line.parts),
        "handoff": Reader(handoff_html(handoff, scheme, now)).text,
        "door": Reader(door_html([card], Sheet.named(), scheme, policy, now)).text,
        "bedside": Reader(bedside_html([card], scheme, now)).text,
    }


def test_nothing_gives_a_level_or_a_method_to_move_by(ward: Ward) -> None:
    view = looked_at_in_the_morning(ward)
    assert {move.level for move in view.plan.tasks.values()} == {Level.REMAIN}
    for where, text in everywhere(ward, view).items():
        assert "moves without help" not in text, where
        if where not in ("board", "handoff", "handoff json"):  # there as the old side of a change
            assert "no helper" not in text.lower(), where


def test_what_was_last_known_is_said_with_its_time_as_history(ward: Ward) -> None:
    """Away from the bed; on the door and the bedside card stands nothing to mistake for a level."""
    said = everywhere(ward, looked_at_in_the_morning(ward))
    at_the_bed = said.pop("door") + said.pop("bedside")
    assert "SELF" not in at_the_bed
    for where, text in said.items():
        assert "SELF" in text, where
        assert "last" in text.lower(), where
        assert "07:10" in text, where


def test_a_morning_later_the_change_is_told_from_what_was_last_known(ward: Ward) -> None:
    """SELF until the evening, TEAM at 08:00: more help than anybody knew of, not less than no level."""
    view = looked_at_in_the_morning(ward)
    now = datetime(2026, 3, 3, 8, 0)
    ward.clock = Clock.fixed(now)
    record = assessed("5N-01", assessed_at=now, assessed_by="AB", standing="supported")
    ward.save(view.stay, record, view.version)
    (changed,) = ward.handoff().changed
    assert (changed.old, changed.new) == (Level.SELF, Level.TEAM)
    assert not any(one.eases for one in changed.differences if one.what == "level")
