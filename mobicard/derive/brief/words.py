"""The words in braces of written lines, from record, plan and scene; an empty one drops its line."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from mobicard.derive.brief.asked import LEG_OF, Asked
from mobicard.derive.brief.feet_and_seat import of_the_chair, of_the_feet
from mobicard.derive.brief.from_above.scene import Scene
from mobicard.derive.brief.heights import cm, getting_up, handling
from mobicard.derive.brief.looked_up import (
    OTHER,
    carrying_leg,
    has_loose_lines,
    hips_not_bent,
    hips_with_order,
    lost_legs,
    may_lie_flat,
    numb,
    weak_side,
    weak_sides,
)
from mobicard.derive.brief.pushing import people_for_a_bed, people_for_a_stretcher
from mobicard.derive.brief.values import BedHeight, Helper
from mobicard.derive.brief.ways import (
    AT_BED_HEIGHT,
    BY_MACHINE,
    FROM_THE_EDGE,
    IN_THE_CHAIR,
    SEATED_BY,
    SITTING_UP,
    SPINES,
    STANDING_WITH,
    Way,
    ends_in_a_seat,
)
from mobicard.derive.equipment import seat_sling
from mobicard.derive.equipment import words as kit_words
from mobicard.derive.model import TaskPlan
from mobicard.facts import Record
from mobicard.facts.lines import LineKind
from mobicard.facts.words import SPOKEN, Equipment, Level, Limb, Precaution, Task, WeightBearing

BOTH = "both legs"


@dataclass(frozen=True, slots=True)
class Known:
    """What the written lines of one brief may name."""

    record: Record
    move: TaskPlan
    way: Way
    helpers: Sequence[Helper]
    asked: frozenset[Asked]
    scene: Scene | None = None
    watchers: int = 0
    head_only: bool = False
    """Whether the first of them holds the head and nothing else."""

    @property
    def movers(self) -> list[str]:
        """By name, those who move the patient: whoever only watches the lines comes last."""
        return [one.name for one in self.helpers[: len(self.helpers) - self.watchers]]

    @property
    def hands(self) -> list[str]:
        """By name, those of them who hold more than the head."""
        return self.movers[1 if self.head_only else 0 :]


def height_of(way: Way, task: Task, record: Record, helpers: Sequence[Helper]) -> BedHeight | None:
    """How high the bed is for this way; None where no bed is used."""
    if task is Task.UP_IN_CHAIR:
        return None
    if task is Task.FLOOR:
        return handling(helpers) if way in BY_MACHINE else None
    if way in FROM_THE_EDGE or way in SITTING_UP or way is Way.STANDING_AID:
        return getting_up(record.height_cm, no_bend=bool(hips_not_bent(record)))
    return handling(helpers) if way in AT_BED_HEIGHT or way is Way.LIFT else None


def words_of(known: Known) -> dict[str, str]:
    """Every word in braces; empty where there is nothing to say."""
    record, asked = known.record, known.asked
    weak = weak_side(record)
    height = height_of(known.way, known.move.task, record, known.helpers)
    return {
        "bed": _bed(height, carrying_leg(record)),
        "weak": weak or "",
        "strong": OTHER[weak] if weak else "",
        "push": _hands(asked),
        "push_off": "" if _holds_on(known) else _hands(asked),
        "hold_on": _holds_on(known),
        "on_one": "" if _stands_on(asked, record) == BOTH else _stands_on(asked, record),
        "on_both": BOTH if _stands_on(asked, record) == BOTH else "",
        "sheet_to": _sheet_to(asked),
        "bend": _legs(asked, "both knees", "the {} knee"),
        "knee": _legs(asked, "knees", "{} knee"),
        "put_on": ", ".join(record.on_before_up),
        "language": _language(record),
        **_of_tubes(record),
        **_alone(known),
        **_who_guides(known),
        **_of_the_lift(known),
        "hearing": (record.communication.hearing or "") if record.communication else "",
        "flat": "flat" if may_lie_flat(record) else "",
        **_of_the_seat(known),
        **_of_the_roll(known),
        "hands_cm": _hands_cm(known.helpers),
        "head_held": "head and neck" if _spine(record) else "head and pillow",
        "head_first": "Head and neck in line" if _spine(record) else "Pillow under head",
        "lift_legs": _lift_legs(known),
        "aid_to": _aid_to(known),
        "to_push": str(max(people_for_a_bed(), people_for_a_stretcher())),
        **_of_the_kit(known),
        **of_the_feet(record),
        **of_the_chair(known.scene, record),
        **_of_who_moves(known),
        **_of_the_headboard(known.scene),
        **_of_what_goes_wrong(known),
    }


def _of_the_roll(known: Known) -> dict[str, str]:
    """Which side is rolled to, and from which one first; a hip with an order is not rolled on to sit up."""
    hip, side = hips_with_order(known.record), known.scene.side if known.scene else ""
    far = OTHER.get(side, "")
    opposite = "".join(known.hands[1:2])
    return {
        "roll_to": side,
        "roll_from": far,
        "slides": f"{opposite} pulls {_sheet(known.move) or 'patient'}" if opposite else "",
        "far_leg": "pillow between the legs" if hip else _over(known.record, far),
        "sits_to": "" if hip else far,
        "turns_to": far if hip else "",
        "legs": f"{OTHER[lost[0]]} leg" if len(lost := lost_legs(known.record)) == 1 else "legs",
        **_of_the_trunk(known.record),
    }


def _sheet(move: TaskPlan) -> str:
    """What slides, where the plan has it."""
    return "sheet" if Equipment.FRICTION_REDUCING_SHEET in move.equipment else ""


def _over(record: Record, far: str) -> str:
    """What of the far side goes over to be rolled: the leg, or the hip of one that is not there."""
    return f"{far} {'hip' if far in lost_legs(record) else 'leg'} over"


def _of_the_trunk(record: Record) -> dict[str, str]:
    """What whoever helps one to sit up does; a leg with a hip order is not left to itself."""
    sides = hips_with_order(record)
    if not sides:
        up = "hands behind shoulder blade and on upper hip"
        return {"trunk_up": up, "trunk_up_alone": up}
    legs = f"{sides[0]} leg" if len(sides) == 1 else "both legs"
    return {"trunk_up": "behind shoulder blades", "trunk_up_alone": f"supports {legs} over the edge"}


def _of_the_headboard(scene: Scene | None) -> dict[str, str]:
    """Off where somebody holds the head; else a pillow keeps the head from it."""
    held = _head_held(scene)
    return {"headboard": "Headboard off" if held else "", "board": "" if held else "headboard"}


def _of_the_seat(known: Known) -> dict[str, str]:
    """What is sat on, and where who guides the patient to it is."""
    goes = known.move.task in SEATED_BY[Way.STANDING_AID]
    return {"seat": _seat(known), "at_the_seat": f"beside, then at the {_seat(known)}" if goes else "beside"}


def _seat(known: Known) -> str:
    return "commode" if known.move.task is Task.TOILET else "chair"


def _bed(height: BedHeight | None, carries: str | None) -> str:
    """The height in words; of one leg that carries, its foot alone."""
    says = height.says if height else ""
    return says.replace("feet flat", f"{carries} foot flat") if carries else says


def _holds_on(known: Known) -> str:
    """What one on a single leg holds: the frame of the plan, else the seat's arm, else the rail."""
    if carrying_leg(known.record) is None or known.way not in (Way.STAND, Way.PIVOT):
        return ""
    aid = stands_with(known.record, known.move)
    held = "crutches" if aid and aid[0] is Equipment.CRUTCHES else "walker" if aid else ""
    return held or (f"{_seat(known)} arm" if known.way is Way.PIVOT else "rail")


def _of_what_goes_wrong(known: Known) -> dict[str, str]:
    """What is done then."""
    return {
        "breathless": _breathless(known.record, known.way),
        "nearest": _nearest(known),
        "sit_where": "brake chair, sit" if known.way is Way.WALK else "sit, nearer seat",
    }


def _breathless(record: Record, way: Way) -> str:
    """Head up, never laid back; of who may not bend or sit up, the whole bed is tilted."""
    if way in IN_THE_CHAIR:
        return "sit upright"
    still = {Precaution.HEAD_FLAT, Precaution.FEMORAL_SHEATH, *SPINES} & set(record.precautions)
    if still:
        return "tilt whole bed head up, no backrest"
    if way is Way.BOOST:  # a slippery sheet under who sits up lets the patient slide down
        return "stop, head up"
    return "stay up" if way in SITTING_UP else "head up"


def _nearest(known: Known) -> str:
    """What somebody in a machine is lowered onto when it goes wrong."""
    task = known.move.task
    if ends_in_a_seat(known.way, task):
        seat = f"braked {_seat(known)}"
        return f", nearest: bed, {seat}, floor" if known.way is Way.LIFT else f" onto bed or {seat}"
    return _ONTO.get(task, f" onto the bed; breathless: {_breathless(known.record, known.way)}")


_ONTO = {
    Task.UP_IN_CHAIR: " onto the seat, hips back",
    Task.FLOOR: ", floor or bed",
    Task.STRETCHER: " onto bed or stretcher",
}


def _spine(record: Record) -> bool:
    return bool(SPINES & set(record.precautions))


def _hands_cm(helpers: Sequence[Helper]) -> str:
    """The height for hands in few words: cm, or the rule where nobody is measured."""
    height = handling(helpers)
    if height.low_cm is None or height.high_cm is None:
        return "hip height"
    return cm(height.low_cm, height.high_cm)


def _hands(asked: Collection[Asked]) -> str:
    if {Asked.LEFT_HAND, Asked.RIGHT_HAND} <= set(asked):
        return "both hands"
    for one, says in ((Asked.LEFT_HAND, "your left hand"), (Asked.RIGHT_HAND, "your right hand")):
        if one in asked:
            return says
    return "your good hand" if Asked.A_HAND in asked else ""


def _legs(asked: Collection[Asked], both: str, one: str) -> str:
    found = [side for side, leg in LEG_OF.items() if leg in asked]
    return both if len(found) == 2 else one.format(found[0]) if found else ""


def _sheet_to(asked: Collection[Asked]) -> str:
    """How far a boost's sheet goes: a foot that pushes needs its grip, a leg that does not must not drag."""
    idle = [side for side, leg in LEG_OF.items() if leg not in asked]
    return "heels" if len(idle) == 2 else f"hips, {idle[0]} leg too" if idle else "hips"


def _stands_on(asked: Collection[Asked], record: Record) -> str:
    """What the patient stands on: a leg whose order allows something is named with how much."""
    says = _legs(asked, BOTH, "{} leg")
    if says in (BOTH, ""):
        return says
    other = Limb.RIGHT_LEG if "left" in says else Limb.LEFT_LEG
    if other.side in weak_sides(record) and other not in record.weight_bearing and not numb(record, other):
        return f"{says}, {other.side} helps"
    order = record.weight_bearing.get(other)
    how = _HOW_MUCH.get(order.status, "") if order else ""
    return f"{says}, {other.side} {how}" if how else f"{says} only"


_HOW_MUCH = {WeightBearing.PWB: "within its limit", WeightBearing.TTWB: "only touches"}


def _language(record: Record) -> str:
    spoken = record.communication
    if spoken is None or not (spoken.interpreter or spoken.language):
        return ""
    code = (spoken.language or "").split("-")[0].lower()
    if code == "en" and not spoken.interpreter:
        return ""
    named = SPOKEN.get(code, code)
    by = "interpreter explains first" if spoken.interpreter else ""
    return ": ".join(part for part in (f"in {named}" if named else "", by) if part)


def _of_the_kit(known: Known) -> dict[str, str]:
    """The belt where the plan has one; the sling's kind; the aid or sheet by name."""
    kit = known.move.equipment
    spared = {Precaution.NO_GAIT_BELT} & set(known.record.precautions)
    flat = Equipment.SUPINE_SLING in kit
    walks = stands_with(known.record, known.move)
    moved = known.move.level.rank >= Level.LINK.rank
    belt = "belt" if Equipment.GAIT_BELT in kit and not spared else ""
    drained = any(map(known.record.has_line, _UNDER_A_BELT))
    return {
        "slide_pull": "pulls at shoulder and hip" if moved else "stands by",
        "slide_push": "pushes chest to hips till arms straight, guards" if moved else "stands by",
        "belt": belt,
        "belt_on": f"{belt} snug{', clear of drain' if drained else ''}" if belt else "",
        "sling": "flat sling" if flat else seat_sling(known.record),
        "aid": kit_words(walks[0]) if walks else "",
        "rolling": "log roll" if _spine(known.record) else "rolling",
        "sheet": _sheet(known.move),
        "slider": next((kit_words(one) for one in kit if "lateral" in one.value), ""),
    }


def stands_with(record: Record, move: TaskPlan) -> list[Equipment]:
    """The aids the patient stands with: those of the plan, else the patient's own; none for who is lifted."""
    own = {aid.value for aid in record.aids or ()}
    usable = [item for item in STANDING_WITH if item in move.equipment or item.value in own]
    return usable if move.task in _ON_FEET else []


def _of_tubes(record: Record) -> dict[str, str]:
    """The pump that stops for the move and goes on after it; where bags go with who walks."""
    fed = record.has_line(LineKind.FEEDING)
    return {
        "feed": "Feed on again" if fed else "",
        "feed_off": "Feeding: pump off first" if fed else "",
        "bags_too": ", bags hung below the seat" if has_loose_lines(record) else "",
    }


_UNDER_A_BELT = (LineKind.CHEST_DRAIN, LineKind.WOUND_DRAIN, LineKind.FEEDING)


def _alone(known: Known) -> dict[str, str]:
    """What is made sure of for who needs no hand: shoes for the feet, somebody near only where asked for."""
    on_feet = known.move.task in _ON_FEET
    parts = ("way clear, shoes on" if on_feet else "", "one stays near" if known.helpers else "")
    return {"alone": "; ".join(filter(None, parts)), "left_it": "stop, sit" if on_feet else "stop"}


def _of_the_lift(known: Known) -> dict[str, str]:
    """Who wheels a loaded lift along a bed, never one alone; how the way back from a seat begins."""
    by_sling = known.way is Way.LIFT
    return {
        "wheels": ", ".join(dict.fromkeys((*known.hands[:1], *known.hands[:3][-1:]))),
        "back": "Return: sling down behind back, under thighs" if by_sling else "Return likewise",
    }


def _who_guides(known: Known) -> dict[str, str]:
    """What two do beside whoever works a lift: on the way to a seat one goes along on its side."""
    trunk = "" if known.head_only else ", head and trunk"
    if known.move.task in SEATED_BY[Way.LIFT]:
        return {
            "lift_guide": f"guides patient to {_seat(known)}",
            "lift_third": f"far side, then round: patient{trunk}",
        }
    in_chair = known.move.task is Task.UP_IN_CHAIR
    guide = "behind chair: draws sling back" if in_chair else f"guides the patient{trunk}"
    wheels = ", helps wheel" if known.move.task is Task.BOOST else ""
    return {"lift_guide": guide, "lift_third": f"guides the legs{wheels}"}


_ON_FEET = (Task.STAND, Task.CHAIR, Task.TOILET, Task.WALK)


def _lift_legs(known: Known) -> str:
    """How a floor lift's legs go round who lies there; the knees are raised by the last of those who move."""
    if _spine(known.record) or hips_with_order(known.record) or not known.movers:
        return "as its maker shows"
    return f"beyond head, under knees {known.movers[-1]} raises"


def _of_who_moves(known: Known) -> dict[str, str]:
    """What they say to somebody who is asked nothing, and two of them by name."""
    names = known.movers
    return {"told": _told(known.move), "second": "".join(names[1:2]), "last": "".join(names[-1:])}


def _aid_to(known: Known) -> str:
    """What lies on an aid to a stretcher: also a head that nobody holds; nothing where there is no aid."""
    if not any("lateral" in one.value for one in known.move.equipment):
        return ""
    return "feet too" if _head_held(known.scene) else "head to feet"


def _told(move: TaskPlan) -> str:
    """The count for those who move somebody who is asked nothing; each step is told, once on a page."""
    count = "Ready, steady, roll" if move.task is Task.FLOOR else "Ready, steady, move"
    telling = "" if any("each step" in caution for caution in move.cautions) else " Tell each step;"
    return f"“{count}.”{telling} {'a' if telling else 'A'}sk no effort"


def _head_held(scene: Scene | None) -> bool:
    return scene is not None and any(scene.at_the_head(one) for one in scene.helpers)
