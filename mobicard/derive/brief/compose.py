"""The brief itself: way, people, scene, the written lines that hold, and which there is room for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from mobicard.derive.brief.asked import LEG_OF, Asked, may_be_asked, stands_on
from mobicard.derive.brief.from_above.arrange import arrange, nearest_to_lines
from mobicard.derive.brief.from_above.cast import Cast
from mobicard.derive.brief.from_above.sizes import Sizes
from mobicard.derive.brief.looked_up import (
    carrying_leg,
    has_airway,
    has_loose_lines,
    hips_with_order,
    line_side,
    turned_to,
    weak_side,
)
from mobicard.derive.brief.minded import minded
from mobicard.derive.brief.shorten import shortened
from mobicard.derive.brief.values import (
    LETTERS,
    Brief,
    BriefLine,
    Helper,
    HelpersRefused,
    Person,
    Phase,
    figure,
    source_text,
)
from mobicard.derive.brief.ways import SEATED_BY, SPINES, TITLES, WALKERS, Way, ends_in_a_seat, way_of
from mobicard.derive.brief.words import Known, height_of, stands_with, words_of
from mobicard.derive.brief.written import ready, safety, saying, steps
from mobicard.derive.brief.written.line import Written
from mobicard.derive.brief.written.people import (
    AIRWAY,
    ALONG,
    BRINGS,
    NECK,
    WATCHES,
    roles,
    spare,
    with_watcher,
)
from mobicard.derive.equipment import Inventory
from mobicard.derive.model import Plan, TaskPlan
from mobicard.derive.plan import plan_for
from mobicard.facts import Record
from mobicard.facts.moves import LYING, MOVES
from mobicard.facts.words import Task
from mobicard.rules.policy import Policy
from mobicard.rules.protocol import RULES
from mobicard.rules.words import PRECAUTION, has_lines

WRITTEN: tuple[Written, ...] = (*ready.LINES, *saying.LINES, *steps.LINES, *safety.LINES)
"""Every written line but the one that is said where nothing may be asked."""

LOOK_AGAIN = "Look at the patient first: the last look has run out; record it, then ask for this brief."
"""Said where nothing is forbidden but nobody stands behind what was seen."""


def brief_for(
    record: Record,
    task: Task,
    policy: Policy,
    now: datetime,
    helpers: Sequence[Helper] = (),
    inventory: Inventory | None = None,
) -> Brief:
    """The brief of one move at a time, with these helpers; those not named are called by letters.

    ``now`` is ward time. Raises HelpersRefused for two of one name.
    """
    plan = plan_for(record, policy, now, inventory)
    return brief_of(record, plan, task, helpers)


def brief_of(record: Record, plan: Plan, task: Task, helpers: Sequence[Helper] = ()) -> Brief:
    """The brief of one move from its plan. Raises HelpersRefused for two of one name."""
    move = plan.tasks[task]
    way = way_of(move, record)
    head = _at_the_head(way, record, task)
    known = _known(record, move, way, helpers, head)
    words, people, scene = words_of(known), known.helpers, known.scene
    does = _does(known, words, head)
    mind = minded(plan, move, way, record)
    lines = _ordered([*_who(people, does), *mind, *_said(_Looked(known, words))])
    lines = shortened(lines) if way is not Way.NOT_NOW else _waits(plan, move)
    return Brief(
        bed=record.bed,
        move=task,
        says=TITLES.get(way, MOVES[task].says),
        level=move.level,
        way=way,
        method=move.method,
        helpers=move.helpers,
        people=tuple(
            Person(one.name, what, number == 0)
            for number, (one, what) in enumerate(zip(people, does, strict=True))
        ),
        bed_height=height_of(way, task, record, people) if way is not Way.NOT_NOW else None,
        lines=tuple(lines),
        asked=tuple(one for one in Asked if any(one in line.asks for line in lines)),
        scene=scene,
        valid_until=plan.valid_until,
        expired=plan.expired,
        notes=_notes(helpers, move),
    )


# -- The people ----------------------------------------------------------------------------------------


def _known(record: Record, move: TaskPlan, way: Way, helpers: Sequence[Helper], head: str) -> Known:
    """What the lines may name, with everybody in their place."""
    return _drawn(
        Known(
            record=record,
            move=move,
            way=way,
            helpers=_people(helpers, move.helpers or 0),
            asked=may_be_asked(record, move.task),
            watchers=_watchers(record, move),
            head_only=bool(head),
        )
    )


def _people(helpers: Sequence[Helper], needed: int) -> tuple[Helper, ...]:
    """As many as the plan asks for: the named ones first, letters for the rest."""
    names = [one.name for one in helpers]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice:
        raise HelpersRefused(f"{twice} is named twice; name each helper once")
    letters = (Helper(letter) for letter in LETTERS if letter not in names)
    return (*helpers, *(next(letters) for _ in range(needed - len(helpers))))[:needed]


def _notes(helpers: Sequence[Helper], move: TaskPlan) -> tuple[str, ...]:
    """Where fewer or more people were named than the plan asks for."""
    needed = move.helpers
    if not helpers or needed is None or len(helpers) == needed:
        return ()
    if len(helpers) > needed:
        return (f"{len(helpers)} people named; the plan takes {needed}",)
    return (f"{needed} people needed, {len(helpers)} named: fetch {needed - len(helpers)} more first",)


def _does(known: Known, words: Mapping[str, str], head: str) -> tuple[str, ...]:
    """What each of them does, and which one also has the lines."""
    does = roles(known.way, len(known.helpers), words, head=head, watchers=known.watchers)
    if known.scene is None or not has_loose_lines(known.record):
        return does
    driver = {1 if head else 0} if known.way in SEATED_BY else ()
    watcher = nearest_to_lines(known.scene, spare(does), {0} if head else (), driver)
    return with_watcher(does, watcher, BRINGS if ends_in_a_seat(known.way, known.move.task) else WATCHES)


def _who(people: Sequence[Helper], does: Sequence[str]) -> Iterator[BriefLine]:
    for one, what in zip(people, does, strict=True):
        yield BriefLine(
            Phase.WHO, f"{one.name}: {what}.", "who.role", source_text("common"), {}, harm=0, shown=True
        )


def _at_the_head(way: Way, record: Record, task: Task) -> str:
    """What one does who holds the head and nothing else; empty where nobody has to."""
    if way is Way.NOT_NOW:
        return ""
    if has_airway(record):
        return ALONG if way is Way.LIFT and ends_in_a_seat(way, task) else AIRWAY
    return NECK if way is Way.LIFT and SPINES & set(record.precautions) else ""


def _watchers(record: Record, move: TaskPlan) -> int:
    """How many of those planned only watch the lines."""
    fired = {reason.rule for reason in move.reasons}
    most = max((rule.demand.watchers for rule in RULES if rule.id in fired), default=0)
    lines_only = most - (1 if most and has_airway(record) else 0)
    return lines_only if move.helpers else 0


# -- What holds of this patient ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Looked:
    """What a written line is held against."""

    known: Known
    words: dict[str, str]

    @property
    def said(self) -> int:
        """The rules' words that written lines name."""
        bits = has_lines.bit if self.known.record.lines else 0
        for item in self.known.record.precautions:
            bits |= PRECAUTION[item].bit
        return bits


def _said(looked: _Looked) -> list[BriefLine]:
    """The written lines that hold, or that nothing may be asked."""
    found = [_line(one, looked) for one in WRITTEN if _holds(one, looked)]
    asks = any(line.asks and line.phase is Phase.SAY and line.rule != "say.tell" for line in found)
    told = [] if asks else [_line(one, looked) for one in saying.TOLD if looked.known.way in one.ways]
    return [*found, *told]


def _holds(one: Written, looked: _Looked) -> bool:
    return (
        looked.known.way in one.ways
        and looked.known.move.task in one.tasks
        and (not one.asks or bool(looked.known.asked & set(one.asks)))
        and all(looked.words[name] for name in one.words)
        and one.when.holds(looked.said)
    )


def _line(one: Written, looked: _Looked) -> BriefLine:
    asks = tuple(asked for asked in one.asks if asked in looked.known.asked)
    says = one.says.format(**looked.words)
    return BriefLine(
        phase=one.phase,
        says=says[:1].upper() + says[1:],
        rule=one.id,
        source=source_text(one.source),
        because=stands_on(asks, looked.known.record, looked.known.move.task) or _because(looked),
        asks=asks,
        harm=-1 if one.always else one.harm,
    )


def _because(looked: _Looked) -> dict[str, object]:
    """What a line that asks nothing stands on: the way of the plan."""
    return {"way": looked.known.way.value, "level": looked.known.move.level.value}


def _waits(plan: Plan, move: TaskPlan) -> list[BriefLine]:
    """Of a move that waits only why it waits: nothing to make ready, nothing asked."""
    says = LOOK_AGAIN if plan.last_known else f"Do not move: {move.method}."
    first = BriefLine(Phase.WHO, says, "plan", source_text("plan"), {"level": move.level.value}, harm=-1)
    reasons = (
        BriefLine(Phase.MIND, one.says, one.rule, one.source, dict(one.because), harm=number)
        for number, one in enumerate(move.reasons)
    )
    return [first, *(replace(line, shown=line.harm < 4) for line in reasons)]


def _ordered(lines: Iterable[BriefLine]) -> list[BriefLine]:
    places = list(Phase)
    return sorted(lines, key=lambda line: places.index(line.phase))


# -- Seen from above -----------------------------------------------------------------------------------


def _drawn(known: Known) -> Known:
    """Where everybody stands; the move goes to the stronger side, the right one where none is known."""
    record, move, way, task = known.record, known.move, known.way, known.move.task
    if way is Way.NOT_NOW:
        return known
    weak = weak_side(record)
    side = "left" if weak == "right" else "right"
    side = turned_to(record, side) if way in (Way.ROLL, Way.LOG_ROLL) else side
    seen = {name: name if side == "right" else _other(name) for name in ("left", "right")}
    carries = carrying_leg(record)
    scene = arrange(
        Cast(
            way=way,
            names=tuple(one.name for one in known.helpers),
            sizes=_sizes(),
            side=side,
            guarded=seen[weak] if weak else None,
            carries=seen[carries] if carries else None,
            line_side=line_side(record) or ("left" if record.lines else None),
            in_chair=task is Task.UP_IN_CHAIR,
            to_a_seat=ends_in_a_seat(way, task),
            turned=task is Task.TURN,
            walks=task is Task.WALK,
            lies=task in LYING,
            called="commode" if task is Task.TOILET else "",
            leg_held=bool(hips_with_order(record)),
            bends=tuple(seen[one] for one, leg in LEG_OF.items() if leg in known.asked),
            on_floor=task is Task.FLOOR,
            head_only=known.head_only,
            watchers=known.watchers,
            walker=bool(WALKERS & set(stands_with(record, move))),
        )
    )
    return replace(known, scene=scene)


def _other(side: str) -> str:
    return "left" if side == "right" else "right"


def _sizes() -> Sizes:
    return Sizes(
        figure("size_cm", "bed_width"),
        figure("size_cm", "bed_length"),
        figure("size_cm", "chair"),
        figure("size_cm", "stretcher_width"),
        figure("chair", "angle"),
        figure("chair", "most_turn_on_one_leg"),
    )
