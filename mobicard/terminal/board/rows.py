"""The Board's rows, orders, counts and look-ups as plain values."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from rich.text import Text

from mobicard.derive.model import Plan
from mobicard.derive.vitals import taken_at
from mobicard.facts.words import Level, Task
from mobicard.scheme import Scheme
from mobicard.terminal.looks import (
    Depth,
    Part,
    alarm_style,
    badge,
    helpers_say,
    in_people,
    level_style,
    named,
    people_say,
    safe,
    shortened,
)
from mobicard.terminal.place import WIDE
from mobicard.ward import BedView, Door, Due

DOOR_SAYS = {
    Door.CURRENT: "matches",
    Door.PREPARED: "to hang",
    Door.OUT_OF_DATE: "OLD CARD",
    Door.NONE: "no card",
}
GOALS_FROM = 140
"""From this width of the screen in cells the table shows the day's goals."""
NAMES_FROM = 96
"""From this width of the screen in cells the table shows each patient's label; before, it stands below."""
_DOOR_FIRST = (Door.OUT_OF_DATE, Door.NONE, Door.PREPARED, Door.CURRENT)
_DUE_FIRST = (Due.OVERDUE, Due.DUE, Due.OK)


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its title, its width in cells (0 takes what is left), the least screen that shows it."""

    title: str
    width: int
    cell: Callable[[BedView], str]
    least: int = 0


def _changes(view: BedView) -> list[str]:
    """The headline move's change first and short, like “was LINK”: it stands beside what it is now."""
    headline = [c for c in view.changed if c.task is Task.CHAIR and c.what in ("level", "helpers")]
    first = [f"was {in_people(c.old.split(', ')[0 if c.what == 'level' else -1])}" for c in headline]
    return [*first, *(in_people(change.says) for change in view.changed if change not in headline)]


def _changed(view: BedView) -> str:
    return "; ".join(_changes(view))


def _fall(view: BedView) -> str:
    """The band; after a fall the score from before it says nothing any more."""
    if view.plan.after_fall is not None:
        return "fell"
    band = view.plan.fall_risk.band if view.plan.fall_risk else "-"
    return _BANDS.get(band, band)


_BANDS = {"not at risk": "not risk"}
"""Bands too long for their column, cut nowhere near another band's word."""


def _goals(view: BedView) -> str:
    """How far the day's goals have come, figures only; why not stands under the table."""
    says = (safe(goal).split(";")[0].replace("up to chair", "chair") for goal in view.goals)
    return ", ".join(_PART.sub(r"+\1 part", goal).replace(" of ", "/") for goal in says) or "-"


_PART = re.compile(r", (\d+) in part$")


def _due(view: BedView) -> str:
    """The due text in the room there is; the whole of it stands under the table."""
    if view.pending:
        return "held here"
    head = view.plan.head_observations
    if head is not None:
        return f"{'HEAD' if head.late else 'head'} {head.hour}"
    if view.due is Due.OK:
        return view.due_says.replace("until ", "to ") if len(view.due_says) > _DUE_WIDTH else view.due_says
    short = (
        ("overdue since", "OVERDUE"),
        (" yet", ""),
        ("reassess after the procedure", "after op"),
        ("reassess after the", "after"),
        ("due by", "due"),
    )
    says = view.due_says
    for long, brief in short:
        says = says.replace(long, brief)
    return _ON_A_DAY.sub(r"\1", says)


_DUE_WIDTH = 14
_ON_A_DAY = re.compile(r"(OVERDUE .+) \d\d:\d\d$")
"""An hour of another day: the day alone, as the column has room for; the hour stands under the table."""


def _helpers(view: BedView) -> str:
    """How many, and by whose own judgement where the level is not the rules' own."""
    if view.plan.expired:
        return "-"
    many = "-" if view.plan.helpers is None else str(view.plan.helpers)
    return f"{many} by {safe(view.plan.override.by)}" if view.plan.override else many


COLUMNS = (
    Column("Bed", 8, lambda view: view.bed + (" *" if view.changed else "")),
    Column("Name", 5, lambda view: view.label or "-", least=NAMES_FROM),
    Column("Level", 11, lambda view: view.plan.shown_level.value),
    Column("Helpers", 8, _helpers),
    Column("Limit", 14, lambda view: view.limit_says or "-"),
    Column("Fall", 9, _fall),
    Column("Assessment", _DUE_WIDTH + 1, _due),
    Column("Door", 9, lambda view: DOOR_SAYS[view.door]),
    Column("Who", 4, lambda view: view.assignment or "-"),
    Column("Goals", 22, _goals, least=GOALS_FROM),
    Column("Changed this shift", 0, _changed, least=WIDE),
)

ORDERS: dict[str, Callable[[BedView], object]] = {
    "bed": lambda view: 0,
    "level": lambda view: -view.plan.shown_level.rank,
    "assessment": lambda view: _DUE_FIRST.index(view.due),
    "door": lambda view: _DOOR_FIRST.index(view.door),
    "fall risk": lambda view: (
        view.plan.after_fall is None,
        -(view.plan.fall_risk.score if view.plan.fall_risk else -1),
    ),
    "who": lambda view: view.assignment or "~",
}
"""What the beds can be sorted by; equal ones stay in the order of the unit."""


BY_HEADING = {
    "Bed": "bed",
    "Level": "level",
    "Helpers": "level",
    "Fall": "fall risk",
    "Assessment": "assessment",
    "Door": "door",
    "Who": "who",
}
"""What a click on a heading sorts by; the headings that are not here go back to the order of the unit."""


def fitted(beds: Sequence[BedView], screen: int) -> list[tuple[Column, int]]:
    """The columns with their widths on a screen so many cells wide, one of them the scroll bar's.

    Long bed names take their room from the limit. What is left goes to the patient's label, to whole limits
    and names, then to what changed.
    """
    kept = [column for column in COLUMNS if screen >= column.least]
    widths = {column.title: column.width for column in kept}
    widths["Bed"] = min(max(_longest(beds, "Bed") + 1, widths["Bed"]), 19)
    widths["Assessment"] = min(max(_longest(beds, "Assessment"), 10) + 1, widths["Assessment"])
    spare = screen - 1 - sum(widths.values())
    for title in ("Name", "Limit", "Who"):
        more = min(max(_longest(beds, title) + 1 - widths.get(title, 0), 0), spare)
        if title in widths and spare > 0:
            widths[title] += more
            spare -= more
    last = "Changed this shift" if screen >= WIDE else "Limit"
    widths[last] = max(widths[last] + spare, 6)
    return [(column, widths[column.title]) for column in kept]


def _longest(beds: Sequence[BedView], title: str) -> int:
    """Cells of the longest cell of a column; a bed always has room for its star."""
    cell = next(column.cell for column in COLUMNS if column.title == title)
    star = 2 if title == "Bed" else 0
    return max((len(safe(cell(view)).removesuffix(" *")) + star for view in beds), default=0)


def cells(view: BedView, scheme: Scheme, depth: Depth, columns: Sequence[tuple[Column, int]]) -> list[Text]:
    """The row of one bed for columns as ``fitted`` gave them."""
    row = []
    for column, width in columns:
        if column.title == "Level":
            text, style = badge(scheme.looks[view.plan.shown_level], depth, width=6)
            row.append(Text(text, style))
            continue
        text = shortened(safe(column.cell(view)), max(width - 1, 1))
        row.append(Text(text, alarm_style(depth) if _alarms(column.title, view) else ""))
    return row


def _alarms(title: str, view: BedView) -> bool:
    """Whether this cell says do not move, overdue or old card: what the one alarm colour is for."""
    head, fallen = view.plan.head_observations, view.plan.after_fall
    match title:
        case "Assessment":
            return view.due is Due.OVERDUE or (head is not None and head.late)
        case "Door":
            return view.door is Door.OUT_OF_DATE
        case "Fall":
            return fallen is not None and fallen.state == "do_not_move"
    return False


def shown(beds: Sequence[BedView], needle: str, order: str, assigned: str | None) -> list[BedView]:
    """The beds to show: those that contain every typed word, of one person if asked, in the order asked."""
    words = needle.casefold().split()
    kept = [
        view
        for view in beds
        if all(word in _hay(view) for word in words) and (assigned is None or view.assignment == assigned)
    ]
    return sorted(kept, key=ORDERS[order])  # type: ignore[arg-type]


def _hay(view: BedView) -> str:
    texts = [column.cell(view) for column in COLUMNS]
    return " ".join([*texts, view.label or "", people_say(view.plan), view.due.value]).casefold()


def jump(beds: Sequence[BedView], typed: str) -> int | None:
    """The row a typed bed number means, None for none; the first of several."""
    return next(iter(candidates(beds, typed)), None)


def candidates(beds: Sequence[BedView], typed: str) -> list[int]:
    """The rows a typed bed number may mean: the shortest way to write it wins, so 12a finds 4W-12A.

    An exact name, then a name's end, then its letters and figures in order; several units may each have one.
    """
    wanted = _bare(typed)
    names = [_bare(view.bed) for view in beds]
    for fits in (str.__eq__, str.endswith, str.startswith, str.__contains__, _in_order):
        found = [place for place, name in enumerate(names) if wanted and fits(name, wanted)]
        if found:
            return found
    return []


def _bare(bed: str) -> str:
    return "".join(char for char in bed.casefold() if char.isalnum())


def _in_order(name: str, wanted: str) -> bool:
    rest = iter(name)
    return all(char in rest for char in wanted)


def counts(beds: Sequence[BedView], scheme: Scheme, depth: Depth, *, words: bool) -> list[Part]:
    """The line along the top: beds, how many at each level, due, overdue, doors that no longer match."""
    levels = Counter(view.plan.shown_level for view in beds)
    due = Counter(view.due for view in beds)
    doors = sum(view.door is Door.OUT_OF_DATE for view in beds)
    alarm = alarm_style(depth)
    late = due[Due.OVERDUE]
    parts: list[Part] = [
        (f"{len(beds)} beds, ", "bold"),
        (f"{late} overdue", alarm if late else "bold"),
        (f", {due[Due.DUE]} due, ", "bold"),
        (f"{doors} old cards", alarm if doors else "bold"),
        (" ", ""),
    ]
    for level in Level:
        look = scheme.looks[level]
        name = f" {look.glyph} {look.word} " if words else f" {look.glyph} "
        parts += [(" ", ""), (name, level_style(look, depth)), (str(levels[level]), "")]
    return parts


def harder(plan: Plan) -> str:
    """The moves that ask for more than the card's own, like “boost, turn: 2 helpers; walk: not now”."""
    if plan.expired or plan.helpers is None:
        return ""
    found: dict[str, list[str]] = {}
    for task, line in plan.tasks.items():
        if line.helpers is None or line.helpers > plan.helpers:
            says = helpers_say(line.helpers, plan)
        elif line.level.rank > plan.level.rank:
            says = f"{line.level.value}, {helpers_say(line.helpers)}"
        else:
            continue
        found.setdefault(says, []).append(task.value.replace("_", " "))
    return "; ".join(f"{', '.join(moves)}: {says}" for says, moves in found.items())


def peek(view: BedView, held: str = "", width: int = 10_000) -> str:
    """The marked bed in full, where the columns had to be short; ``held`` is what waits on this station.

    No line breaks inside what is short.
    """
    over = view.plan.override
    more = harder(view.plan)
    changed = _changes(view)
    if len(changed) > 2:
        changed[2:] = ["more in the handoff"]
    goals = "; ".join(safe(goal).replace("; ", ", ") for goal in view.goals)
    parts = [
        named(view.bed, view.label),
        people_say(view.plan) + (f"; {more}" if more else ""),
        held,
        _limits(view),
        "held on this station, not yet in the ledger" if view.pending else view.due_says,
        *_open(view),
        safe(view.plan.last_known.says) if view.plan.last_known else "",
        f"by own judgement of {safe(over.by)}: {safe(over.reason)}" if over else "",
        f"goals: {goals}" if goals else "",
        f"changed: {'; '.join(changed)}" if changed else "",
    ]
    return "\n".join(packed([part for part in parts if part], width))


PEEK_LINES = 3


SHORT = 40
"""Cells up to which a part of the marked bed's lines is not broken; a longer one flows on."""


def packed(parts: Sequence[str], width: int) -> list[str]:
    """The parts, two blanks between, in as few lines as they need, at most ``PEEK_LINES``."""
    lines = [""]
    for part in parts:
        for number, piece in enumerate([part] if len(part) <= SHORT else part.split()):
            gap = " " if number else "  "
            if not lines[-1] or len(lines[-1]) + len(gap) + len(piece) <= width:
                lines[-1] += gap * bool(lines[-1]) + piece
            else:
                lines.append(piece)
    if len(lines) > PEEK_LINES:
        lines[PEEK_LINES - 1 :] = [shortened(lines[PEEK_LINES - 1], width - 2).rstrip(" …") + " …"]
    return lines


def _open(view: BedView) -> Iterator[str]:
    """What began and nobody has ended yet, with its age: an operation, a fall of pressure, a reading."""
    record, plan, taken = view.record, view.plan, taken_at(view.record)
    if record.operation is not None:
        yield safe(record.operation.says)
    if record.pressure_drop is not None:
        yield record.pressure_drop.says
    elif plan.orthostatic is not None and plan.orthostatic.positive:
        yield plan.orthostatic.says
    readings = [reason.says for reason in plan.general if reason.rule == "vitals.near_limits"]
    if readings and taken is not None:
        yield f"measured {taken:%d %b %H:%M}: {' '.join(readings)}"


def _limits(view: BedView) -> str:
    """The limit that matters most, then every order with its age, each named once."""
    orders = [order.says for order in view.record.orders]
    named = not view.limit_says or any(says.startswith(view.limit_says) for says in orders)
    told = orders if named else [view.limit_says, *orders]
    return f"limit: {'; '.join(told)}" if told else ""
