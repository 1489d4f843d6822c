"""The bedside card, both sides of a sheet: the first for the hands at the bed, the second says why."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property, partial
from itertools import groupby

from markupsafe import Markup

from mobicard.derive.handing_over.people import people_of
from mobicard.derive.model import LimbLimit, Plan
from mobicard.facts.words import Limb
from mobicard.paper import in_words, shapes, templates, text_fit
from mobicard.paper.bedside import sides as fitting
from mobicard.paper.bedside.blocks import front
from mobicard.paper.bedside.body_figure import body_svg, limb_name
from mobicard.paper.bedside.drawn import can_draw, drawn
from mobicard.paper.bedside.moves import HEADS, load_note, rows
from mobicard.paper.bedside.page import Page
from mobicard.paper.bedside.reasons import back
from mobicard.paper.bedside.sides import Content, LimbLabel, sides
from mobicard.paper.chips import level_colours
from mobicard.paper.clinical_words import dated_ahead, printed, short_when
from mobicard.paper.door.face import BedCard
from mobicard.paper.pdf import batches
from mobicard.paper.pdf.merge import Part
from mobicard.paper.phrases import PatientLine, Phrases, patient_line
from mobicard.paper.points import Point
from mobicard.paper.sheet_sizes import PAPERS, SheetRefused, paper_size
from mobicard.paper.sub_line import sub_line
from mobicard.scheme.scheme import Scheme

SUB_WIDTH, PEOPLE_WIDTH = 66.0, 62.0
"""Millimetres for the line under the level word, and for the people beside it."""

UNTIL_WIDTH = 77.0
"""Millimetres for the end of validity, with its year."""

NAME_WIDTH, NAME_MM = 90.0, 8.4
"""Millimetres: room for the bed's name on the strip, and its largest letters."""

FOREIGN = 0.68
"""How large letters the carried fonts lack are set, against others: their lines are half as tall again."""

CAUTION = "If the patient looks different from this card: stop, look again or ask who has."


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
    address: str = "",
) -> str:
    """Bedside cards as one self-contained page, two printed pages a bed, in the order given.

    ``phrases`` are a facility's own patient lines by language; ``patient_lines=False`` leaves that line out;
    ``address`` stands before the code in the QR. Raises SheetRefused for an unknown paper or ink.
    """
    title = title or bedside_title(len(cards), now)
    return BedsideBatch(cards, scheme, now, paper, ink, phrases, title, patient_lines, address).html()


def bedside_batches(
    cards: Sequence[BedCard],
    scheme: Scheme,
    now: datetime,
    *,
    paper: str = "a4",
    ink: str = "colour",
    phrases: Mapping[str, Phrases] | None = None,
    address: str = "",
) -> Iterator[BedsideBatch]:
    """The same cards in batches of a bounded number of beds, for ``pdf.write_pdf``: memory stays flat."""
    title = bedside_title(len(cards), now)
    for batch in batches(cards):
        yield from BedsideBatch(batch, scheme, now, paper, ink, phrases, title, address=address).by_way()


def bedside_title(count: int, now: datetime) -> str:
    """The page's title."""
    return f"Bedside cards, {count} {'bed' if count == 1 else 'beds'}, printed {in_words.when(now)}"


@dataclass(frozen=True)
class BedsideBatch:
    """Some cards, as a page or drawn straight into a PDF; both say the same, word for word."""

    cards: Sequence[BedCard]
    scheme: Scheme
    now: datetime
    paper: str
    ink: str
    phrases: Mapping[str, Phrases] | None
    title: str
    patient_lines: bool = True
    address: str = ""
    fitted: Sequence[Page] = ()
    """The pages of these cards, where they were fitted already."""

    def __post_init__(self) -> None:
        paper_size(self.paper, "a bedside card")
        if self.ink not in shapes.INKS:
            raise SheetRefused(f"“{self.ink}” is no ink; the inks are {', '.join(shapes.INKS)}")

    @cached_property
    def pages(self) -> list[Page]:
        """Each bed's card, fitted to its sides."""
        return [*self.fitted] or [
            _page(card, f"b{number}", self.scheme, self.paper, self._patient_line(card), self.now)
            for number, card in enumerate(self.cards)
        ]

    def by_way(self) -> Iterator[BedsideBatch]:
        """The same in its order, what can be drawn apart from what has to be laid out."""
        ways = [can_draw(page) for page in self.pages]
        if len(set(ways)) < 2:
            yield self
            return
        for _, run in groupby(zip(ways, self.cards, self.pages, strict=True), key=lambda one: one[0]):
            _, cards, pages = zip(*run, strict=True)
            yield replace(self, cards=cards, fitted=pages)

    def html(self) -> str:
        """The cards as one self-contained page."""
        width, height = PAPERS[self.paper]
        return templates.render(
            "bedside.html",
            title=self.title,
            pages=self.pages,
            levels=level_colours(self.scheme, self.ink),
            looks={look.level.value: look for look in self.scheme.looks.values()},
            foot=self._foot(),
            ink=self.ink,
            page_width=width,
            page_height=height,
            fit=fitting,
            paper=self.paper,
            heads=HEADS,
            shape=shapes.shape_svg,
            qr=partial(shapes.qr_img, address=self.address),
            mark=shapes.mark,
            body=lambda page: Markup(body_svg(page.limits, f"{page.key}-body")),  # escapes its own text
        )

    def drawn(self) -> Part | None:
        """The cards as part of a PDF; None where the carried fonts lack a letter (the page then serves)."""
        if not all(can_draw(page) for page in self.pages):
            return None
        how = (PAPERS[self.paper], self.ink, self.title, self._foot())
        return drawn(self.pages, self.scheme, *how, self.address)

    def _foot(self) -> tuple[str, str]:
        return f"{CAUTION} Printed {in_words.when(self.now)}.", in_words.SUPPORT

    def _patient_line(self, card: BedCard) -> PatientLine | None:
        spoken = card.record.communication
        if not self.patient_lines:
            return None
        return patient_line(card.plan, spoken.language if spoken else None, self.phrases)


def _page(
    card: BedCard, key: str, scheme: Scheme, paper: str, said: PatientLine | None, now: datetime
) -> Page:
    plan, record = card.plan, card.record
    bed, label, assessed = _brief(plan.bed), _brief(record.label or ""), in_words.printable(_assessed(plan))
    until_says, until = _until(plan, now)
    content = Content(
        banners=printed(tuple(_banners(plan, scheme, now))),
        steps=printed(plan.after_fall.steps if plan.after_fall else ()),
        patient=said,
        rows=printed(rows(plan, record, now)),
        note=load_note(plan, record),
        limbs=tuple(_labels(plan.weight_bearing)),
        front=printed(front(plan, record)),
        back=printed(back(plan, record)),
    )
    line, how_many = sub_line(plan, scheme), people_says(plan)
    return Page(
        key=key,
        bed=bed,
        label=label,
        bed_mm=_one_line(f"Bed {bed}", NAME_WIDTH, NAME_MM, text_fit.BOLD),
        label_mm=_one_line(label, NAME_WIDTH, 5.0),
        assessed_mm=text_fit.fit((assessed,), (NAME_WIDTH, 5.8), (3.2, 1.2)).size_mm,
        look=scheme.looks[plan.shown_level],
        sub_line=line,
        sub_mm=_one_line(line, SUB_WIDTH, 4.1),
        people=how_many,
        people_mm=min(_one_line(part, PEOPLE_WIDTH, 5.8, text_fit.BOLD) for part in how_many),
        until_says=until_says,
        until=until,
        until_mm=_one_line(until, UNTIL_WIDTH, 7.0, text_fit.BOLD),
        assessed=assessed,
        code=plan.code,
        limits=tuple(plan.weight_bearing),
        sides=sides(content, paper),
    )


def people_says(plan: Plan) -> tuple[str, str]:
    """How many people out of bed and in bed, as on the door, whoever reads it included; two lines."""
    if _fallen(plan):
        return "Not to be moved", CLEARED
    people = people_of(plan)
    if people.out_of_bed is None:
        lying = "until cleared" if people.in_bed is None else f"in bed: {_people(people.in_bed)}"
        return "Not out of bed", lying
    if people.most == 0:
        return "Nobody needed,", "out of bed or in bed"
    out = f"{people.out_of_bed} {'person' if people.out_of_bed == 1 else 'people'} out of bed,"
    lying = {None: "none in bed", 0: "nobody in bed"}.get(
        people.in_bed, f"{people.in_bed} in bed, you included"
    )
    return out, lying


def _people(count: int) -> str:
    return {0: "nobody needed", 1: "1 person, you"}.get(count, f"{count} people, you included")


CLEARED = "until cleared by name"
"""How long one lies who fell: an hour would read as leave to move them."""


def _fallen(plan: Plan) -> bool:
    """Whether the patient lies where they fell: no hour on the card may be read as leave to move them."""
    return plan.after_fall is not None and plan.after_fall.state == "do_not_move"


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
        return "Not assessed:", "ask who has looked"
    if _fallen(plan):
        return f"{in_words.sentence(CLEARED)}:", "no move; then a new card"
    if dated_ahead(plan, now):
        return "Not valid:", "ask who has looked"
    ends = f"{in_words.day(plan.valid_until)} {in_words.clock(plan.valid_until)}"
    return ("Ended" if plan.expired else "Not valid after"), ends


def _assessed(plan: Plan) -> str:
    if plan.assessed_at is None:
        return "Nobody has recorded a look at this patient"
    by = f" by {plan.assessed_by}" if plan.assessed_by else ""
    return f"Looked at {short_when(plan.assessed_at)}{by}"


def _banners(plan: Plan, scheme: Scheme, now: datetime) -> Iterator[Point]:
    """Each framed line under the level: what changes how the whole card is read."""
    if plan.expired and plan.assessed_at is None:
        text = "Nobody has recorded a look at this patient. "
        text += "No move until somebody has looked: you, or ask who has."
        yield Point(text, loud="NOT ASSESSED")
    elif plan.expired:
        head = "NOT VALID" if dated_ahead(plan, now) else "OUT OF DATE"
        text = f"{_since(plan, now)}. No level stands: look again before moving. Orders as last recorded."
        yield Point(text, loud=head)
    if plan.after_fall is not None:
        yield Point(plan.after_fall.in_full, loud="AFTER A FALL")
    if plan.head_observations is not None:
        began = short_when(plan.head_observations.since)
        text = f"Since {began}, until stopped by name. Times: on board and handoff."
        yield Point(text, loud="HEAD OBSERVATIONS")
    if plan.override is not None and not plan.expired:
        over = plan.override
        word, derived = scheme.looks[over.level].word, scheme.looks[plan.derived_level].word
        way = "lowered" if over.lowers else "raised"
        text = f"{way} to {word} by {over.by}: {over.reason} (the rules say {derived})"
        yield Point(f"{text}. Lapses {short_when(over.lapses_at)}.", loud="LEVEL SET BY A PERSON")


def _since(plan: Plan, now: datetime) -> str:
    if plan.assessed_at is None:
        return ""
    if dated_ahead(plan, now):
        return f"The assessment is dated ahead, {short_when(plan.assessed_at)}"
    return f"Nobody has looked since {short_when(plan.assessed_at)}"


def _labels(limits: Sequence[LimbLimit]) -> Iterator[LimbLabel]:
    """Each limb's order in words, its figure in kg and lb with it."""
    for limit in limits:
        yield LimbLabel(
            _corner(limit.limb), Point(limit.says, f"{in_words.sentence(limb_name(limit.limb))}, order:")
        )


def _corner(limb: Limb) -> str:
    return f"{limb.side}-{'leg' if limb.is_leg else 'arm'}"
