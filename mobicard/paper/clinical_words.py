"""How the bedside card and the handoff word precautions, missing facts and short times."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import fields, is_dataclass, replace
from datetime import datetime
from typing import TypeVar, cast

from markupsafe import Markup

from mobicard.derive.equipment import words
from mobicard.derive.model import Plan, TaskPlan
from mobicard.facts import Record
from mobicard.facts.body import LegTest
from mobicard.facts.words import Aid, Alertness, Equipment, Precaution, Task
from mobicard.paper import in_words
from mobicard.scheme.scheme import Scheme

T = TypeVar("T")

PRECAUTION_SAYS: dict[Precaution, str] = {
    Precaution.SPINAL: "Spine: no bend, no lift, no twist; log roll",
    Precaution.SPINAL_CERVICAL: "Neck and spine not cleared: log roll, one person for the head",
    Precaution.SPINAL_CLEARED: "Spine, may be moved with care: log roll, no bend, no twist",
    Precaution.STERNAL: "Breastbone: no push, pull or lift with the arms",
    Precaution.HIP_POSTERIOR_LEFT: "Left hip (posterior): no bend past 90, no crossing, no toes in",
    Precaution.HIP_POSTERIOR_RIGHT: "Right hip (posterior): no bend past 90, no crossing, no toes in",
    Precaution.HIP_ANTERIOR_LEFT: "Left hip (anterior): no leg back, no toes out",
    Precaution.HIP_ANTERIOR_RIGHT: "Right hip (anterior): no leg back, no toes out",
    Precaution.GROIN_LEFT: "Left groin site: keep that leg straight",
    Precaution.GROIN_RIGHT: "Right groin site: keep that leg straight",
    Precaution.FEMORAL_SHEATH: "Femoral sheath in place: leg straight, stay in bed",
    Precaution.ABDOMINAL: "Belly wound: roll to the side first, pillow held to it",
    Precaution.BED_REST: "Bed rest",
    Precaution.HEAD_UP_30: "Head of the bed up 30 degrees",
    Precaution.HEAD_FLAT: "Head of the bed flat",
    Precaution.NO_GAIT_BELT: "No gait belt",
}
"""Source of the hip and spine wording: usual published precautions; common practice, no source."""

WORN = (Aid.GLASSES, Aid.HEARING_AIDS, Aid.DENTURES, Aid.PROSTHESIS)
"""Aids the patient wears: they go on before getting up."""


def short_when(at: datetime) -> str:
    """A time in a list, day and month always with it: ``Mon 2 Mar 19:30``."""
    return f"{in_words.day(at).rsplit(' ', 1)[0]} {in_words.clock(at)}"


def spaced(word: str) -> str:
    """``hearing_aids`` as ``hearing aids``."""
    return word.replace("_", " ")


EITHER = (
    Equipment.LATERAL_TRANSFER_AID,
    Equipment.FRICTION_REDUCING_SHEET,
    Equipment.AIR_ASSISTED_LATERAL_DEVICE,
)
"""Aids for sliding across of which one is used, whichever is at hand. Source: OSHA 3182 (2009), Fig. 2."""


def equipment(items: Iterable[Equipment]) -> str:
    """Equipment classes in words, joined by commas; aids of which any one serves, by “or”."""
    names = [(item, in_words.EQUIPMENT_SAYS[item]) for item in items]
    either = [name for item, name in names if item in EITHER]
    if len(either) < 2:
        return ", ".join(name for _, name in names)
    return ", ".join([" or ".join(either), *(name for item, name in names if item not in EITHER)])


def kit_besides(task: TaskPlan) -> str:
    """The equipment the move's method does not already name."""
    said = task.method.lower()
    unnamed = (item for item in task.equipment if in_words.EQUIPMENT_SAYS[item].split(" (")[0] not in said)
    return equipment(unnamed)


def nobody_moves(plan: Plan, record: Record) -> str:
    """What stands for the people where none is planned: a ban only after a fall or for one not awake."""
    fallen = plan.after_fall is not None and plan.after_fall.state == "do_not_move"
    return "do not move" if fallen or record.alertness is Alertness.UNRESPONSIVE else "not now"


def dated_ahead(plan: Plan, now: datetime) -> bool:
    """Whether the plan does not hold because its assessment is dated after now."""
    return plan.expired and plan.assessed_at is not None and plan.assessed_at > now


def history(plan: Plan, scheme: Scheme) -> str:
    """What an ended assessment said, in the facility's word, as history; nothing where it holds."""
    known = plan.last_known
    return f"last was {scheme.looks[known.level].word} {short_when(known.at)}" if known else ""


def look_again(plan: Plan, now: datetime) -> str:
    """Why an expired plan says nothing of a move."""
    if plan.assessed_at is None:
        return "not assessed: ask the nurse before moving"
    return f"{'dated ahead' if dated_ahead(plan, now) else 'out of date'}: look again before moving"


def printed(thing: T) -> T:
    """The same tuple, dataclass or text with every text in it printable (see ``says.plain``)."""
    if isinstance(thing, Markup):
        return thing
    if isinstance(thing, str):
        return cast("T", in_words.printable(thing))
    if isinstance(thing, tuple):
        return cast("T", tuple(printed(part) for part in thing))
    if is_dataclass(thing) and not isinstance(thing, type):
        return replace(thing, **{at.name: printed(getattr(thing, at.name)) for at in fields(thing)})
    return thing


_NAMED = {"on_before_up": "what is put on first"}


def unassessed(facts: Iterable[str]) -> str:
    """Missing facts as a person names them; the moves nobody has seen are gathered in one bracket."""
    moves, names = [], []
    for fact in facts:
        group, _, rest = fact.partition(".")
        if group == "help" and rest:
            moves.append(in_words.move_in_short(Task(rest)))
        else:
            named = _NAMED.get(fact, fact.replace(".", " ").removesuffix("_kg").removesuffix("_cm"))
            names.append(spaced(named))
    return ", ".join([*names, *([f"help seen with: {', '.join(moves)}"] if moves else [])])


def body_says(record: Record) -> Iterator[str]:
    """The weak side, what goes unattended, the legs as tested, skin and pregnancy, a phrase each."""
    if record.weak_side and record.weak_side.sides:
        yield f"{' and '.join(record.weak_side.sides)} side weak"
    if record.neglect and record.neglect.sides:
        yield f"misses the {' and '.join(record.neglect.sides)}"
    yield from (f"{spaced(leg)} {_tested(test)}" for leg, test in record.legs.items())
    if record.sore_sites:
        yield f"broken skin: {', '.join(spaced(site) for site in record.sore_sites)}"
    if record.skin_risk:
        yield f"pressure injury risk: {spaced(record.skin_risk)}"
    if record.pregnancy_weeks:
        yield f"pregnant, {record.pregnancy_weeks} weeks"


def _tested(test: LegTest) -> str:
    raised = {True: "raised straight", False: "not raised straight", None: ""}[test.straight_leg_raise]
    graded = f"{spaced(test.block.scale)} {test.block.number}" if test.block else ""
    return ", ".join(filter(None, (raised, graded))) or "not tested"


def uncleared(plan: Plan) -> Iterator[str]:
    """Gear of the move out of bed that nothing on the unit is rated to do for this patient, in words."""
    told = " ".join(one.says.lower() for one in plan.conflicts if "inventory" in one.fields)
    yield from (name for item in plan.headline.equipment if (name := words(item)) in told)
