"""What one bed's door card says: state, word, people, lines, end; never what a passer-by need not know.

No name, no weight, no absent limb, no pregnancy, no skin, no word of a judgement's reason.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime

from mobicard.derive.card_code import short_code
from mobicard.derive.fall_risk import instruments
from mobicard.derive.join import groups
from mobicard.derive.model import LimbLimit, Plan, TaskPlan
from mobicard.derive.over_time.validity import later_ends
from mobicard.facts import Record
from mobicard.facts.units import both_masses
from mobicard.facts.words import Equipment, Level, Task, WeightBearing
from mobicard.paper import in_words
from mobicard.paper.bedside.body_figure import STATUS_SAYS, limb_name
from mobicard.paper.clinical_words import uncleared
from mobicard.paper.door.face import BedCard, DoorFace, Number, State
from mobicard.paper.door.other_moves import LIFTED, door_cautions, more_help
from mobicard.paper.sub_line import BY_ORDER, not_assessed, sub_line
from mobicard.rules.policy import Policy
from mobicard.scheme.scheme import Scheme

MOST_LINES = 4
"""More are not read in passing: a card is read in seconds."""

FALLEN = (
    "Stay with them, call for help now",
    "Keep head and neck still",
    "No move until examined and said clear: then a new card hangs here",
)


def door_face(card: BedCard, scheme: Scheme, policy: Policy, now: datetime) -> DoorFace:
    """What this bed's door card says at ``now``."""
    plan, record = card.plan, card.record
    state = state_of(plan)
    lines = [in_words.printable(text) for text in (*_judged(plan, scheme), *_lines(plan, policy, state))]
    until = plan.valid_until if state is State.LEVEL else None
    ends = tuple(_ends(until, policy))
    face = DoorFace(
        state=state,
        look=scheme.looks[plan.shown_level],
        word=scheme.remain.unseen if state is State.UNSEEN else scheme.looks[plan.shown_level].word,
        sub_line="" if state is State.UNSEEN else _sub_line(plan, scheme),
        band="DO NOT MOVE THE PATIENT" if state is State.FALLEN else "",
        numbers=_numbers(plan) if state is State.LEVEL and plan.after_fall is None else (),
        says=tuple(_unseen(plan, now)) if state is State.UNSEEN else (),
        items=tuple(lines[:MOST_LINES]),
        more=len(lines[MOST_LINES:]),
        bed=in_words.printable(_bed(plan.bed, record, policy)),
        until=(in_words.short_day(until), in_words.clock(until)) if until else (),
        boxes=tuple(f"ENDS {in_words.box_day(end)}, {in_words.clock(end)}" for end in ends),
        lasts=ends[-1] if ends else until,
        code="",
        address=policy.door.address,
    )
    return replace(face, code=short_code(_content(face)))


def _content(face: DoorFace) -> bytes:
    """All that the card says but its ends: a box to initial takes their place, where there are boxes."""
    numbers = [(number.people, number.says, number.moves) for number in face.numbers]
    said = (
        face.state,
        face.word,
        face.sub_line,
        face.band,
        numbers,
        face.says,
        face.items,
        face.more,
        face.bed,
    )
    return repr((said, () if face.boxes else face.until)).encode()


def state_of(plan: Plan) -> State:
    """Fallen while nobody may move the patient; unseen where nobody has looked, or no more; else a level."""
    fall = plan.after_fall
    if fall is not None and fall.state == "do_not_move":
        return State.FALLEN
    ordered = any(reason.rule in BY_ORDER for reason in plan.headline.reasons)
    unknown = plan.expired or (bool(not_assessed(plan)) and not ordered)
    unseen = plan.shown_level is Level.REMAIN and unknown and fall is None
    return State.UNSEEN if unseen else State.LEVEL


def _sub_line(plan: Plan, scheme: Scheme) -> str:
    fall = plan.after_fall
    when = re.search(r"Fell (\d+ \w+ [\d:]+)", fall.told) if fall is not None else None
    if fall is not None and fall.state == "do_not_move" and when:
        return f"after a fall, {when[1].lstrip('0')}"
    return sub_line(plan, scheme)


def _judged(plan: Plan, scheme: Scheme) -> Iterator[str]:
    if plan.override is not None and not plan.expired:
        yield f"Judged by {plan.override.by}; the rules say {scheme.looks[plan.derived_level].word}"


def _unseen(plan: Plan, now: datetime) -> Iterator[str]:
    at = plan.assessed_at
    since = at is not None and at <= now and plan.expired
    yield (
        f"Nobody has assessed this patient since {in_words.short_day(at)} {in_words.clock(at)}."
        if since and at
        else "Nobody has assessed this patient yet."
    )
    yield "No move until assessed at the bedside: by you, or ask who has."


# -- How many people --------------------------------------------------------------------------------------


def _numbers(plan: Plan) -> tuple[Number, ...]:
    up, lying = groups.out_of_bed(plan.tasks), groups.in_bed(plan.tasks)
    by_machine = groups.most(up).level in LIFTED
    at_once = [_AT_ONCE[reason.rule] for reason in plan.tasks[Task.TURN].reasons if reason.rule in _AT_ONCE]
    return (
        _number(up, "out of bed", "chair", by_hand=False),
        Number(max(at_once), "in bed: log roll only", "one at the head; at once if vomits", "bed")
        if at_once
        else _number(lying, "in bed", "bed", by_hand=by_machine),
    )


_AT_ONCE = {"spine.at_once": "4", "spine.at_once_neck": "5"}
"""The people a log roll takes at once, whatever else is known of the patient: who vomits cannot wait."""


def _number(moves: Sequence[TaskPlan], where: str, picture: str, *, by_hand: bool) -> Number:
    """The most people of these moves, and which moves it speaks of: never one that is not done that way."""
    named = _named(moves)
    people, level = groups.people(tuple(moves)), groups.most(tuple(moves)).level
    if people is None:
        seen = [move for move in moves if move.helpers is not None]
        if not seen or picture == "chair":
            return Number("–", f"{where}: no", named, picture)
        people, level = groups.people(tuple(seen)), groups.most(tuple(seen)).level
        named = f"{_named(seen)}; not {_named([move for move in moves if move.helpers is None])}"
    how = {True: ", by machine", False: ", by hand" if by_hand and people else ""}[level in LIFTED]
    return Number(str(people), f"{where}{how}" if people else f"{where}: nobody needed", named, picture)


def _named(moves: Sequence[TaskPlan]) -> str:
    return ", ".join(_MOVE_SAYS.get(move.task, in_words.move_in_short(move.task)) for move in moves)


_MOVE_SAYS = {Task.STAND: "standing up"}


# -- The lines --------------------------------------------------------------------------------------------


def _lines(plan: Plan, policy: Policy, state: State) -> Iterator[str]:
    """The card's lines, most important first, each once."""
    if state is State.FALLEN:
        yield from FALLEN
        return
    said: set[str] = set()
    for line in _ordered(plan, policy, state):
        if line not in said:
            said.add(line)
            yield line


def _ordered(plan: Plan, policy: Policy, state: State) -> Iterator[str]:
    if plan.after_fall is not None:
        yield plan.after_fall.says
    if state is State.LEVEL and plan.level is not Level.REMAIN:
        yield from _gear(plan)
    yield from _limb_lines(plan.weight_bearing)
    if state is State.LEVEL and (more := more_help(plan)):
        yield more
    if state is State.UNSEEN:
        yield from (says for rule, says in BY_ORDER.items() if _fires(plan, rule))
    yield from (cautions := list(_cautions(plan, policy)))
    told = any("fall risk" in caution.lower() for caution in cautions)
    if policy.door.show_fall_risk and state is State.LEVEL and not told and (risk := plan.fall_risk):
        lowest = instruments(policy)[risk.instrument].bands[0].name
        yield from (f"Fall risk: {risk.band}" for _ in range(risk.band != lowest))


def _gear(plan: Plan) -> Iterator[str]:
    """What to bring, and where it is not known to bear the patient: no figure, that is the bedside card's."""
    if plan.headline.equipment:
        kit = (_GEAR_SAYS[item] for item in plan.headline.equipment)
        yield in_words.sentence(", ".join(kit))
    if any(uncleared(plan)):
        yield "STOP: nothing here is cleared to bear the patient, get one"


_GEAR_SAYS = {**in_words.EQUIPMENT_SAYS, Equipment.FULL_BODY_LIFT: "full-body lift (machine)"}
"""“Full-body lift” alone was read as lifting by hand."""


def _fires(plan: Plan, rule: str) -> bool:
    return any(reason.rule == rule for reason in plan.headline.reasons)


def _cautions(plan: Plan, policy: Policy) -> Iterator[str]:
    """The headline move's cautions: no limb's limit twice, fall risk named only if the policy shows it."""
    limbs = {limb_name(limit.limb) for limit in _restricted(plan.weight_bearing)}
    for caution in door_cautions(plan):
        about, _, what = caution.partition(": ")
        if about.lower() in limbs:
            continue
        hidden = "fall risk" in about.lower() and not policy.door.show_fall_risk
        yield in_words.sentence(what) if hidden and what else caution


def _restricted(limits: Sequence[LimbLimit]) -> list[LimbLimit]:
    held = [limit for limit in limits if limit.status.rank > WeightBearing.WBAT.rank]
    return sorted(held, key=lambda limit: (-limit.status.rank, limit.limb.rank))


def _limb_lines(limits: Sequence[LimbLimit]) -> Iterator[str]:
    """Each limit once, with every limb it holds for, most restricted first; an absent limb stays private."""
    limbs: dict[str, list[str]] = {}
    for limit in _restricted(limits):
        if limit.status is not WeightBearing.ABSENT_LIMB:
            limbs.setdefault(_limit_says(limit), []).append(limb_name(limit.limb).upper())
    for text, names in limbs.items():
        yield f"Patient's {', '.join(names)}: {text}"


def _limit_says(limit: LimbLimit) -> str:
    text = STATUS_SAYS[limit.status] + (" on it" if limit.status is WeightBearing.NWB else "")
    figured = limit.status in (WeightBearing.PWB, WeightBearing.TTWB)
    if figured and limit.limit_kg:  # touch is for balance: no load, no figure
        text += f", at most {both_masses(limit.limit_kg)}".replace(" kg (", "\u00a0kg (").replace(
            " lb", "\u00a0lb"
        )
    return text


# -- Bed and end ------------------------------------------------------------------------------------------

PLACES = frozenset({"bay", "bed", "room", "ward", "side", "window", "door", "left", "right"})


def _bed(bed: str, record: Record, policy: Policy) -> str:
    """The bed without any name that stands in its field; the label only where the policy shows it."""
    words = [word for word in bed.split() if _is_place(word)]
    label = f" {record.label}" if policy.door.show_label and record.label else ""
    return (" ".join(words) or bed.split(maxsplit=1)[0]) + label


def _is_place(word: str) -> bool:
    return any(letter.isdigit() for letter in word) or len(word) <= 2 or word.casefold() in PLACES


def _ends(until: datetime | None, policy: Policy) -> Iterable[datetime]:
    """The ends of the shifts after the first: a box for each, to initial when nothing has changed."""
    return later_ends(until, policy, policy.door.strip) if until else ()
