"""Lines, drains and tubes: what each may not suffer in a move, who watches it, when the patient stays."""

from __future__ import annotations

from mobicard.facts.lines import LineKind
from mobicard.facts.moves import ALL, IN_CHAIR, LYING, OUT_OF_BED, STANDING, TRANSFERS, UP
from mobicard.facts.words import Level, Task
from mobicard.rules.rule import BELT, LIFT, Demand, Rule
from mobicard.rules.words import (
    FISTULA,
    LINE,
    block_running,
    block_untested,
    has_lines,
    help_near,
    many_lines,
)

LEFT_BED = (*OUT_OF_BED, *IN_CHAIR)
airway = LINE[LineKind.AIRWAY]


def _minded(
    id_: str, kind: LineKind, says: str, caution: str, source: str, tasks: tuple[Task, ...] = ALL
) -> Rule:
    """A line that only wants minding."""
    return Rule(id_, tasks, says, when=LINE[kind], demand=Demand(cautions=(caution,)), source=source)


def _stays(id_: str, kind: LineKind, says: str, source: str) -> Rule:
    """A line with which nobody leaves the bed."""
    return Rule(id_, LEFT_BED, says, when=LINE[kind], demand=Demand(Level.REMAIN), source=source)


RULES = (
    Rule(
        "lines.clear",
        ALL,
        "Has lines, drains or tubes: give them slack before the move and watch them during it.",
        when=has_lines,
        demand=Demand(cautions=("Give tubes and lines slack first; watch them",)),
        source="common",
    ),
    Rule(
        "lines.watcher",
        ALL,
        "More lines than those moving can watch: one more person, for the lines only.",
        when=many_lines,
        demand=Demand(watchers=1, cautions=("1 of these people only watches the tubes",)),
        source="common",
    ),
    # Airway and chest
    Rule(
        "lines.airway",
        ALL,
        "Airway tube: one named person holds tube and head, does nothing else and gives the count.",
        when=airway,
        demand=Demand(
            Level.TEAM, watchers=1, cautions=("Airway: one person holds tube and head, gives the count",)
        ),
        source="lhsc",
    ),
    Rule(
        "lines.airway_and_more",
        ALL,
        "Airway tube, and more lines than those moving can watch: one at the airway, one for the lines.",
        when=airway & many_lines,
        demand=Demand(watchers=2),
        source=("lhsc", "common"),
    ),
    _minded(
        "lines.tracheostomy",
        LineKind.TRACHEOSTOMY,
        "Tracheostomy: nothing pulls on it; suction and a spare tube are at hand.",
        "Tracheostomy: no pull on it, suction at hand",
        "common",
    ),
    _minded(
        "lines.chest_drain",
        LineKind.CHEST_DRAIN,
        "Chest drain: bottle upright and below the chest all the way; never clamped for a move.",
        "Chest drain: bottle upright below the chest, never clamped",
        "chest_drain",
    ),
    _minded(
        "lines.oxygen",
        LineKind.OXYGEN,
        "Oxygen: tubing long enough, or a cylinder, before leaving the bed.",
        "Oxygen: enough tubing or a cylinder before going",
        "common",
        (*LEFT_BED, Task.STRETCHER),
    ),
    # Head and spine
    _minded(
        "lines.ventricular_drain",
        LineKind.VENTRICULAR_DRAIN,
        "Ventricular drain: clamped before any change of position, levelled again, opened, flow checked.",
        "Brain drain: clamp first, level again after, then open it",
        "evd",
    ),
    _minded(
        "lines.lumbar_drain",
        LineKind.LUMBAR_DRAIN,
        "Lumbar drain: clamped before the patient is turned, slid or sat up.",
        "Lumbar drain: clamp before any move",
        "hodgson",
    ),
    _minded(
        "lines.lumbar_drain_clamped",
        LineKind.LUMBAR_DRAIN_CLAMPED,
        "Lumbar drain, clamped: stays so until the patient lies again at its level.",
        "Lumbar drain: see that it is clamped; open it after",
        "hodgson",
    ),
    _stays(
        "lines.lumbar_drain_open",
        LineKind.LUMBAR_DRAIN,
        "Lumbar drain not recorded as clamped: not out of bed.",
        "hodgson",
    ),
    # Heart and vessels
    _stays(
        "lines.femoral_pump",
        LineKind.FEMORAL_PUMP,
        "Balloon pump or ECMO by the groin: not out of bed.",
        "hodgson",
    ),
    _minded(
        "lines.femoral_pump_straight",
        LineKind.FEMORAL_PUMP,
        "Balloon pump or ECMO by the groin: the leg stays straight in every move.",
        "Pump in the groin: keep that leg straight",
        "hodgson",
    ),
    _minded(
        "lines.femoral_catheter",
        LineKind.FEMORAL_CATHETER,
        "Femoral catheter: no bar to getting up; the hip is not bent so far that it kinks.",
        "Femoral catheter: do not kink it at the hip",
        "hodgson",
    ),
    *(
        Rule(
            f"lines.fistula{suffix}",
            ALL,
            "Dialysis fistula: no grip, belt, rail or pull on that arm, and nobody lies on it.",
            when=word,
            demand=Demand(cautions=(f"{where}: fistula, no grip, no pull",)),
            source="fistula",
        )
        for word, suffix, where in (
            (FISTULA["left"], "_left", "Left arm"),
            (FISTULA["right"], "_right", "Right arm"),
            (FISTULA[""], "", "An arm"),
        )
    ),
    _minded(
        "lines.central",
        LineKind.CENTRAL,
        "Central line: fixed, with slack; a pulled one bleeds or draws air.",
        "Central line: slack, never pulled",
        "common",
    ),
    _minded(
        "lines.arterial",
        LineKind.ARTERIAL,
        "Arterial line: connections tight and in sight; a loose one bleeds fast.",
        "Arterial line: keep it in sight, it bleeds fast",
        "common",
    ),
    _minded(
        "lines.pacing_wire",
        LineKind.PACING_WIRE,
        "Pacing wire: the box goes with the patient; ask whether the heart depends on it before getting up.",
        "Pacing wire: box on the patient; ask before getting up",
        "hodgson",
    ),
    # Numb legs
    Rule(
        "lines.block_untested",
        (Task.STAND, Task.WALK),
        "Epidural or nerve block, and a leg not tested or failing: no feet until both are raised straight.",
        when=block_untested,
        demand=Demand(Level.REMAIN),
        source="block_legs",
    ),
    Rule(
        "lines.block_untested_lift",
        TRANSFERS,
        "Epidural or nerve block, and a leg not tested or failing: by lift until both are raised straight.",
        when=block_untested,
        demand=Demand(
            Level.HOIST, helpers=2, equipment=LIFT, cautions=("Block: test a straight leg raise, each leg",)
        ),
        source="block_legs",
    ),
    Rule(
        "lines.block_running",
        STANDING,
        "Epidural or nerve block running: two for the first stand, a knee guarded.",
        when=block_running & help_near,
        demand=Demand(Level.TEAM, helpers=2, equipment=BELT),
        source=("block_falls", "common"),
    ),
    Rule(
        "lines.block_knee",
        UP,
        "Epidural or nerve block running: the knee may give way though the leg was raised.",
        when=block_running,
        demand=Demand(cautions=("Block running: guard the knee, it may give way",)),
        source="block_falls",
    ),
    # Belly and below
    _minded(
        "lines.urinary",
        LineKind.URINARY,
        "Urinary catheter: the bag stays below the bladder, also during the move, and off the floor.",
        "Urine bag below the bladder all the way",
        "cauti",
    ),
    _minded(
        "lines.feeding",
        LineKind.FEEDING,
        "Feeding tube: the pump is stopped before the patient is laid flat.",
        "Feeding: stop the pump before laying flat",
        "feeding",
        LYING,
    ),
    _minded(
        "lines.wound_drain",
        LineKind.WOUND_DRAIN,
        "Wound drain: fixed to the gown, not to the bed.",
        "Wound drain: fix it to the gown, not the bed",
        "common",
    ),
    _minded(
        "lines.other",
        LineKind.OTHER,
        "A line these rules do not know: ask what it may not suffer before the move.",
        "Other line: ask first what it may not suffer",
        "common",
    ),
)
