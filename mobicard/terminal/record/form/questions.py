"""The questions of a record, in a nurse's order of asking, each with one key per answer."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from mobicard.facts.moves import ROWS
from mobicard.facts.words import Limb
from mobicard.terminal.record.form import choices as words
from mobicard.terminal.record.form.choices import Choice

DECIDING = ("alertness", "directions", "behavior", "sitting", "standing", "stepping", "arms")
"""The facts without which a task is not cleared (observed help counts for its own task)."""


class Kind(StrEnum):
    """How a question takes its answer."""

    ONE = "one"
    HELP = "help"
    MANY = "many"
    LIMB = "limb"
    MASS = "mass"
    LENGTH = "length"
    PRESSURE = "pressure"
    NUMBER = "number"
    LINES = "lines"
    NAMES = "names"
    GOALS = "goals"
    TEXT = "text"


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the form; its capital letter goes there from anywhere."""

    key: str
    title: str


@dataclass(frozen=True, slots=True)
class Question:
    """One question. ``path`` is where the answer lies in the record, dots between."""

    path: str
    section: Section
    asks: str
    kind: Kind
    choices: tuple[Choice, ...] = ()
    hint: str = ""

    @property
    def deciding(self) -> bool:
        """Whether a task is not cleared without this fact."""
        return self.path in DECIDING or self.path.startswith("help.")


AWAKE = Section("A", "Awake and able to follow")
BALANCE = Section("B", "Balance, steps, arms")
HELP_SEEN = Section("H", "Help seen, move by move")
NUMB = Section("N", "Numb or weak")
WEIGHT = Section("W", "Weight and height")
LIMBS = Section("L", "Limb orders")
PRECAUTIONS = Section("P", "Precautions")
TUBES = Section("T", "Tubes, lines, drains")
ON_FIRST = Section("O", "On before up, and aids")
VITALS = Section("V", "Vital signs")
FALL = Section("F", "Fall risk")
SKIN = Section("S", "Skin, pregnancy")
TALK = Section("C", "Communication")
GOALS = Section("G", "Goals and rounds")

NONE_HINT = "0 none"

LIMB_SAYS = {limb: limb.value.replace("_", " ").capitalize() for limb in Limb}


def _awake() -> Iterable[Question]:
    yield Question("alertness", AWAKE, "Alertness", Kind.ONE, words.ALERTNESS)
    yield Question("directions", AWAKE, "Follows directions", Kind.ONE, words.DIRECTIONS)
    yield Question("behavior", AWAKE, "Behavior when moved", Kind.ONE, words.BEHAVIOR)


def _balance() -> Iterable[Question]:
    yield Question("sitting", BALANCE, "Sits at edge of bed", Kind.ONE, words.BALANCE)
    yield Question("standing", BALANCE, "Stands, as tried", Kind.ONE, words.BALANCE)
    yield Question("stepping", BALANCE, "Steps once standing", Kind.ONE, words.STEPPING)
    yield Question("arms", BALANCE, "Arms to push or pull", Kind.ONE, words.ARMS)


def _help() -> Iterable[Question]:
    hint = "a figure first for helpers used, like 2 then the letter"
    for row in sorted(ROWS, key=lambda row: row.asked):
        yield Question(f"help.{row.task.value}", HELP_SEEN, row.says, Kind.HELP, words.HELP, hint)


def _body() -> Iterable[Question]:
    yield Question("weight_kg", WEIGHT, "Weight", Kind.MASS, hint="figure, then k for kg or l for lb")
    yield Question(
        "height_cm", WEIGHT, "Height", Kind.LENGTH, hint="figure, then c for cm, i for inches; or 5f9i"
    )
    yield Question("weight_by_eye", WEIGHT, "No scales: weight by eye", Kind.ONE, words.WEIGHT_BY_EYE)
    yield Question("child", WEIGHT, "A child", Kind.ONE, words.YES_NO)
    hint = "0 none; after p the figure, then % of body weight, k for kg or l for lb"
    for limb, says in LIMB_SAYS.items():
        yield Question(f"weight_bearing.{limb.value}", LIMBS, says, Kind.LIMB, words.LIMB, hint)
    yield Question("precautions", PRECAUTIONS, "Precautions", Kind.MANY, words.PRECAUTIONS, NONE_HINT)
    hint = "0 none; letter, then its side: l r m b; colon for a note to the last one"
    yield Question("lines", TUBES, "Lines and drains", Kind.LINES, words.LINES, hint)
    yield Question("on_before_up", ON_FIRST, "On before up", Kind.NAMES, words.ON_BEFORE_UP, NONE_HINT)
    yield Question("aids", ON_FIRST, "Aids and own things", Kind.MANY, words.AIDS, NONE_HINT)
    yield Question("proficient_with", ON_FIRST, "Proficient with", Kind.MANY, words.MASTERED)


def _numb() -> Iterable[Question]:
    yield Question("weak_side", NUMB, "Weak side", Kind.ONE, words.WEAK_SIDE)
    yield Question("neglect", NUMB, "Misses a side", Kind.ONE, words.NEGLECT)
    for leg in ("left_leg", "right_leg"):
        says = LIMB_SAYS[Limb(leg)]
        yield Question(f"legs.{leg}.straight_leg_raise", NUMB, f"{says} raised", Kind.ONE, words.YES_NO)
        yield Question(f"legs.{leg}.block", NUMB, f"{says}, block", Kind.ONE, words.BLOCK)


def _vitals() -> Iterable[Question]:
    hint = "figures one after the other: 1287680 is 128/76, pulse 80; Enter ends early"
    for name, says in (
        ("lying", "Pressure lying"),
        ("sitting", "Pressure sitting"),
        ("standing_1min", "Standing, 1 min"),
        ("standing_3min", "Standing, 3 min"),
    ):
        yield Question(f"vitals.{name}", VITALS, says, Kind.PRESSURE, hint=hint)
    yield Question("vitals.dizzy", VITALS, "Dizzy or faint on standing", Kind.ONE, words.YES_NO)
    yield Question("vitals.target_88_92", VITALS, "Oxygen target 88-92", Kind.ONE, words.YES_NO)
    yield Question("vitals.spo2", VITALS, "Oxygen, percent", Kind.NUMBER, hint="figure, then Enter")
    yield Question("vitals.resp_rate", VITALS, "Breaths a minute", Kind.NUMBER, hint="figure, then Enter")


def _skin() -> Iterable[Question]:
    yield Question("skin_risk", SKIN, "Pressure injury risk", Kind.ONE, words.SKIN_RISK)
    yield Question("sore_sites", SKIN, "Broken skin", Kind.MANY, words.SORE_SITES, NONE_HINT)
    yield Question(
        "pregnancy_weeks", SKIN, "Weeks pregnant", Kind.NUMBER, hint="figure, then Enter; 0 for no"
    )


def _talk_and_goals() -> Iterable[Question]:
    yield Question("communication.language", TALK, "Language", Kind.ONE, words.LANGUAGES)
    yield Question("communication.interpreter", TALK, "Interpreter needed", Kind.ONE, words.YES_NO)
    yield Question("communication.hearing", TALK, "Hearing", Kind.ONE, words.HEARING)
    yield Question("communication.vision", TALK, "Sight", Kind.ONE, words.VISION)
    yield Question("communication.note", TALK, "Note", Kind.TEXT, hint="any letter begins it")
    yield Question("turn_every_h", GOALS, "Turn every", Kind.ONE, words.HOURS)
    yield Question("toilet_every_h", GOALS, "Toilet round every", Kind.ONE, words.HOURS)
    hint = "letter, then times a shift: c3 is chair three times"
    yield Question("goals", GOALS, "Goals a shift", Kind.GOALS, words.GOAL_TASKS, hint)


@cache
def questions() -> tuple[Question, ...]:
    """Every question but the fall-risk instrument's, in the order of asking."""
    return (*_awake(), *_balance(), *_help(), *_body(), *_numb(), *_vitals(), *_skin(), *_talk_and_goals())


def with_instrument(fall: Iterable[Question]) -> tuple[Question, ...]:
    """All questions, the instrument's after the vital signs."""
    base = questions()
    cut = next(place for place, question in enumerate(base) if question.section is SKIN)
    return (*base[:cut], *fall, *base[cut:])
