"""The bedside card: one page a bed, all that the hands at the bed must know, never more than one page."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from markupsafe import Markup

from mobicard.derive.model import Plan
from mobicard.facts.units import most_masses
from mobicard.facts.words import Limb
from mobicard.paper import in_words, shapes, templates, text_fit
from mobicard.paper.bedside.blocks import CAUTION, HEADS, Block, Row, blocks, load_note, rows
from mobicard.paper.bedside.body_figure import body_svg, limb_name
from mobicard.paper.bedside.columns import COLUMNS, FIGURE_HEIGHT, MARGIN, Fitting
from mobicard.paper.chips import level_colours
from mobicard.paper.clinical_words import dated_ahead, printed, short_when
from mobicard.paper.door.face import BedCard
from mobicard.paper.pdf import batches
from mobicard.paper.phrases import PatientLine, Phrases, patient_line
from mobicard.paper.sheet_sizes import PAPERS, SheetRefused, paper_size
from mobicard.paper.sub_line import sub_line
from mobicard.scheme.scheme import LevelLook, Scheme

SUB_WIDTH = 84.0
"""Millimetres for the line under the level word, left of the rail."""

NAME_WIDTH, NAME_MM = 90.0, 8.4
"""Millimetres: room for the bed's name on the strip, and its largest letters."""

FOREIGN = 0.68
"""How large letters the carried fonts lack are set, against others: their lines are half as tall again."""


@dataclass(frozen=True, slots=True)
class LimbLabel:
    """What stands beside one limb of the figure."""

    key: str
    name: str
    before: str
    figure: str
    after: str


@dataclass(frozen=True, slots=True)
class Page:
    """One bed's page, fitted: what the template sets, in the order it is read."""

    key: str
    bed: str
    label: str
    bed_mm: float
    label_mm: float
    assessed_mm: float
    look: LevelLook
    sub_line: str
    sub_mm: float
    people: str
    until_says: str
    until: str
    assessed: str
    code: str
    banners: tuple[tuple[str, str], ...]
    steps: tuple[str, ...]
    rows: tuple[Row, ...]
    note: str
    limbs: tuple[LimbLabel, ...]
    no_orders: str
    figure: Markup
    columns: tuple[tuple[Block, ...], tuple[Block, ...]]
    patient: PatientLine | None
    size_mm: float
    left_out: int


def bedside_html(
    cards: Sequence[BedCard],
    scheme: Scheme,
    now: datetime,
    *,
    paper: str = "a4",
    ink: str = "colour",
    phrases: Mapping[str, Phrases] | None = None,
    patient_lines: bool = True,
    title: str | None = None,
) -> str:
    """Bedside cards as one self-contained page, one printed page a bed, in the order given.

    ``phrases`` are a facility's own patient lines by
    language; ``patient_lines=False`` leaves that line out. Raises SheetRefused for an unknown paper or ink.
    """
    paper_size(paper, "a bedside card")
    if ink not in shapes.INKS:
        raise SheetRefused(f"“{ink}” is no ink; the inks are {', '.join(shapes.INKS)}")
    lines = [_patient_line(card, phrases) if patient_lines else None for card in cards]
    pages = [
        _page(card, f"b{number}", scheme, paper, line, now)
        for number, (card, line) in enumerate(zip(cards, lines, strict=True))
    ]
    return templates.render(
        "bedside.html",
        title=title or bedside_title(len(cards), now),
        pages=pages,
        levels=level_colours(scheme, ink),
        looks={look.level.value: look for look in scheme.looks.values()},
        printed=in_words.when(now),
        ink=ink,
        **_measures(paper),
        **_drawn(),
    )


def _people(plan: Plan) -> str:
    """How many people out of bed, whoever reads it included."""
    if plan.expired or plan.helpers is None:
        return "Not out of bed until cleared"
    return {0: "Out of bed: nobody needed", 1: "Out of bed: 1 person, you included"}.get(
        plan.helpers, f"Out of bed: {plan.helpers} people, you included"
    )


def _measures(paper: str) -> dict[str, Any]:
    """What every card on this paper shares."""
    width, height = PAPERS[paper]
    return {
        "page_width": width,
        "page_height": height,
        "margin": MARGIN,
        "figure_height": FIGURE_HEIGHT,
        "heads": HEADS,
        "shares": [round(share * 100, 2) for share in COLUMNS],
        "caution": CAUTION,
    }


def _drawn() -> dict[str, Any]:
    """What the page calls to draw."""
    return {
        "shape": shapes.shape_svg,
        "rail": shapes.rail_svg,
        "qr": shapes.qr_img,
        "mark": shapes.mark,
    }


def bedside_batches(
    cards: Sequence[BedCard],
    scheme: Scheme,
    now: datetime,
    *,
    paper: str = "a4",
    ink: str = "colour",
    phrases: Mapping[str, Phrases] | None = None,
) -> Iterator[str]:
    """The same cards as pages of a bounded number of beds each, for ``pdf.write_pdf``: memory stays flat."""
    title = bedside_title(len(cards), now)
    for batch in batches(cards):
        yield bedside_html(batch, scheme, now, paper=paper, ink=ink, phrases=phrases, title=title)


def bedside_title(count: int, now: datetime) -> str:
    """The page's title."""
    return f"Bedside cards, {count} {'bed' if count == 1 else 'beds'}, printed {in_words.when(now)}"


def _patient_line(card: BedCard, phrases: Mapping[str, Phrases] | None) -> PatientLine | None:
    spoken = card.record.communication
    return patient_line(card.plan, spoken.language if spoken else None, phrases)


def _page(
    card: BedCard, key: str, scheme: Scheme, paper: str, said: PatientLine | None, now: datetime
) -> Page:
    plan, record = card.plan, card.record
    table = printed(rows(plan, record, now))
    banners = printed(tuple(_banners(plan, scheme, now)))
    steps = plan.after_fall.steps if plan.after_fall else ()
    bed, label, assessed = _brief(plan.bed), _brief(record.label or ""), in_words.printable(_assessed(plan))
    until_says, until = _until(plan, now)
    note = load_note(plan)
    made = Fitting(paper, HEADS, table, banners, steps, said, note).fitted(printed(blocks(plan, record)))
    return Page(
        key=key,
        bed=bed,
        label=label,
        bed_mm=_one_line(f"Bed {bed}", NAME_WIDTH, NAME_MM, text_fit.BOLD),
        label_mm=_one_line(label, NAME_WIDTH, 5.0),
        assessed_mm=text_fit.fit((f"Bedside card, {assessed}",), (NAME_WIDTH, 6.4), (2.8, 1.8)).size_mm,
        look=scheme.looks[plan.shown_level],
        sub_line=(line := sub_line(plan, scheme)),
        sub_mm=_one_line(line, SUB_WIDTH, 4.1),
        people=_people(plan),
        until_says=until_says,
        until=until,
        assessed=assessed,
        code=plan.code,
        banners=banners,
        steps=steps,
        rows=table,
        note=note,
        limbs=tuple(_labels(plan)),
        no_orders="" if plan.weight_bearing else "No weight-bearing order recorded for any limb.",
        figure=Markup(body_svg(plan.weight_bearing, f"{key}-body")),  # escapes its own text
        columns=made.columns,
        patient=said,
        size_mm=made.size_mm,
        left_out=made.left_out,
    )


def _brief(text: str) -> str:
    """A name as it can be printed; where signs spelled out would make it tiny, each is only called a sign."""
    named = in_words.printable(text)
    small = text_fit.one_line(named, NAME_WIDTH, NAME_MM, NAME_MM / 3, text_fit.BOLD) is None
    return re.sub(r"\[[^\]]*\]", "[sign]", named) if small and named != text else named


def _one_line(text: str, box_mm: float, largest_mm: float, face: str = text_fit.REGULAR) -> float:
    """The letter size for one line; letters of another script stand taller, so they are set smaller."""
    foreign = any(not text_fit.carried(letter, face) for letter in text)
    return text_fit.one_line(text, box_mm, largest_mm * (FOREIGN if foreign else 1.0), 0.5, face) or 0.5


def _until(plan: Plan, now: datetime) -> tuple[str, str]:
    if plan.valid_until is None:
        return "Not assessed:", "ask the nurse"
    if dated_ahead(plan, now):
        return "Not valid:", "ask the nurse"
    return ("Ended" if plan.expired else "Holds until"), short_when(plan.valid_until)


def _assessed(plan: Plan) -> str:
    if plan.assessed_at is None:
        return "nobody has recorded a look at this patient"
    by = f" by {plan.assessed_by}" if plan.assessed_by else ""
    return f"looked at {short_when(plan.assessed_at)}{by}"


def _banners(plan: Plan, scheme: Scheme, now: datetime) -> Iterator[tuple[str, str]]:
    """Head and text of each framed line under the level: what changes how the whole card is read."""
    if plan.expired and plan.assessed_at is None:
        yield "NOT ASSESSED", "Nobody has recorded a look at this patient. Ask the nurse before any move."
    elif plan.expired:
        head = "NOT VALID" if dated_ahead(plan, now) else "OUT OF DATE"
        yield (
            head,
            f"{_since(plan, now)}. No level stands: look again before moving. Orders as last recorded.",
        )
    if plan.after_fall is not None:
        yield "AFTER A FALL", plan.after_fall.in_full
    if plan.head_observations is not None:
        began = short_when(plan.head_observations.since)
        yield (
            "HEAD OBSERVATIONS",
            f"Since {began}, until stopped by name. Times: on board and handoff.",
        )
    if plan.override is not None and not plan.expired:
        over = plan.override
        word, derived = scheme.looks[over.level].word, scheme.looks[plan.derived_level].word
        way = "lowered" if over.lowers else "raised"
        text = f"{way} to {word} by {over.by}: {over.reason} (the rules say {derived})"
        yield "LEVEL SET BY A PERSON", f"{text}. Lapses {short_when(over.lapses_at)}."


def _since(plan: Plan, now: datetime) -> str:
    if plan.assessed_at is None:
        return ""
    if dated_ahead(plan, now):
        return f"The assessment is dated ahead, {short_when(plan.assessed_at)}"
    return f"Nobody has looked since {short_when(plan.assessed_at)}"


def _labels(plan: Plan) -> Iterator[LimbLabel]:
    """Each limb's order in words, its figure in kg and lb set apart."""
    for limit in plan.weight_bearing:
        figure = most_masses(limit.limit_kg) if limit.limit_kg else ""
        before, found, after = limit.says.partition(figure) if figure else (limit.says, "", "")
        yield LimbLabel(_corner(limit.limb), limb_name(limit.limb), before, found, after)


def _corner(limb: Limb) -> str:
    return f"{limb.side}-{'leg' if limb.is_leg else 'arm'}"
