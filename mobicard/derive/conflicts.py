"""Contradictions: orders, aids, observed help and standing that cannot all hold, each with its fields."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from typing import Final

from mobicard.derive.equipment import words
from mobicard.derive.model import Conflict
from mobicard.derive.weight_bearing import (
    ARMS,
    LEGS,
    bears_no_load,
    excluded_aids,
    field_of,
    is_absent,
    restricted_arms,
    standing_ruled_out,
    unloaded_legs,
    usable_arms,
)
from mobicard.facts.moves import MOVES, UP
from mobicard.facts.record import Record
from mobicard.facts.units import both_masses
from mobicard.facts.words import (
    Aid,
    Alertness,
    Arms,
    Balance,
    Directions,
    Equipment,
    Help,
    Precaution,
    Stepping,
    Task,
    WeightBearing,
)

EARLIER: Final = (
    (Task.SIT_UP, (Task.STAND, Task.CHAIR, Task.WALK)),
    (Task.STAND, (Task.CHAIR, Task.TOILET, Task.WALK, Task.FLOOR)),
    (Task.CHAIR, (Task.TOILET, Task.WALK)),
)
"""Moves that are part of the later ones."""

IN_BED_ORDERS: Final = (Precaution.BED_REST, Precaution.FEMORAL_SHEATH)


def contradictions(record: Record) -> tuple[Conflict, ...]:
    """Every contradiction of the record, each sentence once, in a fixed order; none lowers anything."""
    key = _facts(record)
    known = _KNOWN.get(key)
    if known is None:
        if len(_KNOWN) >= REMEMBERED:
            _KNOWN.clear()
        known = _KNOWN[key] = _found(record)
    return known


def _found(record: Record) -> tuple[Conflict, ...]:
    found: dict[str, Conflict] = {}
    for check in _CHECKS:
        for conflict in check(record):
            found.setdefault(conflict.says, conflict)
    return tuple(found.values())


REMEMBERED: Final = 4096
_KNOWN: Final[dict[tuple[object, ...], tuple[Conflict, ...]]] = {}
"""Contradictions by the facts they stand on: a unit is planned again and again with few facts changed."""


def _facts(record: Record) -> tuple[object, ...]:
    """Every fact any check reads; ``test_contradictions`` holds this list to the checks."""
    orders = record.weight_bearing
    return (
        *[(limb, order.status, order.percent, order.kg) for limb, order in orders.items()],
        record.weight_kg if orders else None,
        record.alertness,
        record.directions,
        record.sitting,
        record.standing,
        record.stepping,
        record.arms,
        record.aids,
        record.proficient_with,
        record.weak_side,
        tuple(sorted((leg.value, test.fails) for leg, test in record.legs.items())),
        record.precautions,
        *record.help.items(),
        *record.helpers_used.items(),
        *[goal.task for goal in record.goals],
    )


# -- Aids against orders and arms -------------------------------------------------------------------------


def _aids_held(record: Record) -> Iterator[Conflict]:
    for excluded in excluded_aids(record):
        if excluded.what in record.aids:
            yield Conflict(excluded.says, ("aids", *excluded.fields))


def _prosthesis(record: Record) -> Iterator[Conflict]:
    absent = [leg for leg in LEGS if is_absent(record, leg)]
    has = Aid.PROSTHESIS in record.aids
    if has and not absent and not any(is_absent(record, arm) for arm in ARMS):
        says = "A prosthesis is listed but no limb is recorded as absent: record which."
        yield Conflict(says, ("aids", "weight_bearing"))
    fields = ("aids", *(field_of(leg) for leg in absent))
    if has and len(absent) == len(LEGS):
        says = "Both legs are absent and one prosthesis cannot say for which leg: no standing."
        yield Conflict(says, fields)
    if absent and not has and record.stepping is Stepping.WALKS:
        yield Conflict(
            f"Walks is recorded, but the {absent[0].side} leg is absent and no prosthesis is listed.",
            ("stepping", *fields),
        )


# -- Orders against the arms ------------------------------------------------------------------------------


def _arms_seen(record: Record) -> Iterator[Conflict]:
    barred = restricted_arms(record)
    allowed = len(ARMS) - len(barred)
    seen = {Arms.BOTH: 2, Arms.ONE: 1, Arms.NEITHER: 0}.get(record.arms) if record.arms else None
    if barred and seen is not None and seen > allowed:
        names = " and ".join(f"the {arm.side} arm" for arm in barred)
        yield Conflict(
            f"Arms are recorded as able to push, but {names} may not take full weight: plan for the order.",
            ("arms", *(field_of(arm) for arm in barred)),
        )


def _leg_needs_arms(record: Record) -> Iterator[Conflict]:
    """A leg kept from its load needs both arms. Source: AAFP 2021;103:737, in part; common practice."""
    legs = unloaded_legs(record)
    upright = record.standing in (Balance.STEADY, Balance.SUPPORTED) or _stepping(record)
    if not legs or standing_ruled_out(record) or not upright:
        return
    arms = usable_arms(record)
    if arms in (None, Arms.BOTH):
        return
    names = " and ".join(f"{leg.side} leg" for leg in legs)
    fields = ["standing" if record.standing is not Balance.UNABLE else "stepping"]
    fields += [field_of(leg) for leg in legs]
    if record.arms in (Arms.ONE, Arms.NEITHER):
        fields.append("arms")
    fields += [field_of(arm) for arm in restricted_arms(record)]
    if Precaution.STERNAL in record.precautions:
        fields.append("precautions")
    yield Conflict(
        f"Keeping weight off the {names} takes both arms, and they cannot both push: how was standing done?",
        tuple(fields),
    )


def _stepping(record: Record) -> bool:
    return record.stepping in (Stepping.WALKS, Stepping.PIVOTS)


# -- Orders against standing, stepping and observed help --------------------------------------------------


def _no_standing(record: Record) -> Iterator[Conflict]:
    if not standing_ruled_out(record):
        return
    orders = tuple(field_of(leg) for leg in LEGS)
    if record.standing in (Balance.STEADY, Balance.SUPPORTED):
        yield Conflict("Standing is recorded, but neither leg may bear weight.", ("standing", *orders))
    if _stepping(record):
        yield Conflict("Stepping is recorded, but neither leg may bear weight.", ("stepping", *orders))
    for task in (Task.STAND, Task.WALK):
        if _seen(record, task):
            says = f"{MOVES[task].says} was seen done, but neither leg may bear weight."
            yield Conflict(says, (f"help.{task}", *orders))
    for goal in record.goals:
        if goal.task in (Task.STAND, Task.WALK):
            says = f"{MOVES[goal.task].says} is a goal, but neither leg may bear weight."
            yield Conflict(says, ("goals", *orders))


def _walks_on_one_leg(record: Record) -> Iterator[Conflict]:
    """Walking with a leg that may bear nothing takes a two-handed aid. Common practice, no source."""
    legs = [leg for leg in LEGS if bears_no_load(record, leg)]
    if len(legs) != 1 or standing_ruled_out(record):
        return
    aided = {Aid.FRONT_WHEELED_WALKER, Aid.PLATFORM_WALKER, Aid.CRUTCHES} & set(record.aids)
    walked = record.stepping is Stepping.WALKS or _seen(record, Task.WALK)
    if walked and not aided:
        field = "stepping" if record.stepping is Stepping.WALKS else "help.walk"
        yield Conflict(
            f"Walking is recorded, but the {legs[0].side} leg may bear nothing "
            "and no walker or crutches are listed.",
            (field, field_of(legs[0]), "aids"),
        )


def _in_bed(record: Record) -> Iterator[Conflict]:
    for order in IN_BED_ORDERS:
        if order not in record.precautions:
            continue
        says = "bed rest is ordered" if order is Precaution.BED_REST else "a femoral sheath is in place"
        for task in UP:
            if _seen(record, task):
                yield Conflict(
                    f"{MOVES[task].says} was seen done, but {says}: which is current?",
                    (f"help.{task}", "precautions"),
                )
        for goal in record.goals:
            if goal.task in UP:
                yield Conflict(f"{MOVES[goal.task].says} is a goal, but {says}.", ("goals", "precautions"))


def _precautions_apart(record: Record) -> Iterator[Conflict]:
    held = set(record.precautions)
    if {Precaution.HEAD_UP_30, Precaution.HEAD_FLAT} <= held:
        says = "Head of bed is ordered both up 30 degrees and flat: ask which holds."
        yield Conflict(says, ("precautions",))
    if Precaution.SPINAL_CLEARED in held and held & {Precaution.SPINAL, Precaution.SPINAL_CERVICAL}:
        says = "The spine is recorded as cleared and as not cleared: plan for not cleared."
        yield Conflict(says, ("precautions",))


def _figures(record: Record) -> Iterator[Conflict]:
    for limb, order in record.weight_bearing.items():
        if order.status not in (WeightBearing.PWB, WeightBearing.TTWB):
            continue
        path = field_of(limb)
        over = order.kg is not None and record.weight_kg is not None and order.kg >= record.weight_kg
        if over or order.percent == 100:
            yield Conflict(f"{order.status} with the whole body weight is full weight bearing: ask.", (path,))
        if order.status is WeightBearing.PWB and 0 in (order.kg, order.percent):
            yield Conflict("PWB with a figure of nothing is no weight: ask whether NWB is meant.", (path,))
        high = order.percent is not None and order.percent > 20
        heavy = order.kg is not None and order.kg > 20
        if order.status is WeightBearing.TTWB and (high or heavy):
            shown = f"{order.percent:g} %" if order.kg is None else both_masses(order.kg)
            yield Conflict(f"TTWB of {shown} is above the most in use (20 kg or 20 %): ask.", (path,))


# -- What was seen against what was seen ------------------------------------------------------------------


def _seen_apart(record: Record) -> Iterator[Conflict]:
    if record.standing is Balance.UNABLE and _stepping(record):
        yield Conflict("Stepping is recorded, but standing is recorded as unable.", ("stepping", "standing"))
    if record.sitting is Balance.UNABLE and record.standing is Balance.STEADY:
        says = "Standing is recorded as steady, but sitting as unable."
        yield Conflict(says, ("standing", "sitting"))
    asleep = record.alertness in (Alertness.PAIN, Alertness.UNRESPONSIVE)
    if asleep and record.directions is Directions.RELIABLE:
        says = "Follows directions is recorded, but the patient is not awake."
        yield Conflict(says, ("directions", "alertness"))


def _alone_but_unable(record: Record) -> Iterator[Conflict]:
    for task, unable, field in (
        (Task.STAND, record.standing is Balance.UNABLE, "standing"),
        (Task.WALK, record.stepping in (Stepping.PIVOTS, Stepping.UNABLE), "stepping"),
    ):
        help_ = record.help.get(task)
        if unable and help_ is not None and help_.rank <= Help.CONTACT_GUARD.rank:
            answer = getattr(record, field)
            yield Conflict(
                f"{MOVES[task].says} was seen with no lifting help, but {field} is recorded as {answer}.",
                (f"help.{task}", field),
            )


def _moves_apart(record: Record) -> Iterator[Conflict]:
    """A later move done with clearly less help than one it contains: nobody walks without standing up."""
    for first, later in EARLIER:
        took = record.help.get(first)
        if took is None or not (took is Help.NOT_ATTEMPTED_SAFETY or _lifted(took)):
            continue
        least = Help.CONTACT_GUARD if took is Help.NOT_ATTEMPTED_SAFETY else Help.STANDBY
        apart = [task for task in later if _seen(record, task) and record.help[task].rank <= least.rank]
        if apart and not (took is Help.NOT_ATTEMPTED_SAFETY and standing_ruled_out(record)):
            names = ", ".join(MOVES[task].says.lower() for task in apart)
            how = "was not safe to try" if took is Help.NOT_ATTEMPTED_SAFETY else f"took {took.value} help"
            yield Conflict(
                f"{MOVES[first].says} {how}, yet {names} took little or none: which is current?",
                (f"help.{first}", *(f"help.{task}" for task in apart)),
            )


def _lifted(help_: Help) -> bool:
    return help_.was_done and help_.rank >= Help.MINIMAL.rank


def _helpers_counted(record: Record) -> Iterator[Conflict]:
    for task, used in record.helpers_used.items():
        help_ = record.help.get(task)
        fields = (f"helpers_used.{task}", f"help.{task}")
        if help_ is Help.INDEPENDENT and used >= 1:
            yield Conflict(f"{MOVES[task].says}: independent, yet {used} helped; which is it?", fields)
        if help_ is not None and help_.was_done and help_.rank >= Help.STANDBY.rank and used == 0:
            yield Conflict(f"{MOVES[task].says}: help was seen, yet nobody is counted; which is it?", fields)


def _seen(record: Record, task: Task) -> bool:
    help_ = record.help.get(task)
    return help_ is not None and help_.was_done


_CHECKS: Final[tuple[Callable[[Record], Iterator[Conflict]], ...]] = (
    _aids_held,
    _prosthesis,
    _arms_seen,
    _leg_needs_arms,
    _no_standing,
    _walks_on_one_leg,
    _in_bed,
    _precautions_apart,
    _figures,
    _seen_apart,
    _alone_but_unable,
    _moves_apart,
    _helpers_counted,
)


# -- Which are settled first ------------------------------------------------------------------------------

_AT_THE_BED = ("inventory", "override", "assessed_at", "fall_event", "aids", "precautions", "weight_bearing")
"""Fields by whose answer the next move is made, the gravest first."""

_RECORD = ("help", "helpers_used", "goals", "fall_risk", "policy")
"""Fields that say what was seen or wanted: a conflict that begins with one is settled at the desk."""


def urgency(conflict: Conflict) -> int:
    """The conflict's place, lower first; ``len(_AT_THE_BED)`` is a matter of the record alone."""
    roots = {field.split(".")[0] for field in conflict.fields}
    for place, root in enumerate(_AT_THE_BED[:2]):
        if root in roots:
            return place
    if not conflict.fields or conflict.fields[0].split(".")[0] in _RECORD:
        return len(_AT_THE_BED)
    return next((place for place, root in enumerate(_AT_THE_BED) if root in roots), len(_AT_THE_BED))


def at_the_bed(conflicts: Iterable[Conflict], headline: Collection[Equipment] = ()) -> tuple[Conflict, ...]:
    """Those that change what is done at the next move, the gravest first.

    Of those about equipment, the ones naming what the ``headline`` move uses lead.
    """
    used = [words(item) for item in headline]

    def place(conflict: Conflict) -> tuple[int, bool]:
        return urgency(conflict), not any(name in conflict.says for name in used)

    return tuple(sorted((c for c in conflicts if urgency(c) < len(_AT_THE_BED)), key=place))


def in_the_record(conflicts: Iterable[Conflict]) -> tuple[Conflict, ...]:
    """Those that only say the record disagrees with itself, in their own order."""
    return tuple(conflict for conflict in conflicts if urgency(conflict) == len(_AT_THE_BED))
