"""The door card: what to know before going in, readable from the corridor, saying until when it holds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from mobicard.derive.conflicts import at_the_bed
from mobicard.derive.model import LimbLimit, Plan
from mobicard.facts import Record
from mobicard.facts.units import lb_from_kg
from mobicard.facts.words import Level, WeightBearing
from mobicard.paper import in_words, shapes, templates, text_fit
from mobicard.paper.bedside.body_figure import STATUS_SAYS, limb_name
from mobicard.paper.door.drawn import can_draw, drawn
from mobicard.paper.door.face import BedCard, DoorCard, DoorFace
from mobicard.paper.door.layout import Box, Layout, layout_for
from mobicard.paper.door.other_moves import door_cautions, more_help
from mobicard.paper.door.panel import panel_svg
from mobicard.paper.pdf import batches
from mobicard.paper.pdf.merge import Part
from mobicard.paper.sheet_sizes import Sheet
from mobicard.paper.sub_line import not_assessed, sub_line
from mobicard.rules.policy import Policy
from mobicard.scheme.scheme import Scheme


def door_html(
    cards: Sequence[BedCard],
    sheet: Sheet,
    scheme: Scheme,
    policy: Policy,
    now: datetime,
    *,
    title: str | None = None,
) -> str:
    """Door cards as one self-contained page, in the order given. ``now`` is the time of printing.

    Raises nothing a card's content could cause: text that does not fit is counted on the card, never cut.
    """
    return DoorBatch(cards, sheet, scheme, policy, now, title or door_title(len(cards), now)).html()


def door_batches(
    cards: Sequence[BedCard], sheet: Sheet, scheme: Scheme, policy: Policy, now: datetime
) -> Iterator[DoorBatch]:
    """The same cards in batches, for ``pdf.write_pdf``: memory stays flat however many there are."""
    title = door_title(len(cards), now)
    for batch in batches(cards, sheet.up):
        yield DoorBatch(batch, sheet, scheme, policy, now, title)


@dataclass(frozen=True, slots=True)
class DoorBatch:
    """Some cards on their sheets, as a page or drawn straight into a PDF; both show the same."""

    cards: Sequence[BedCard]
    sheet: Sheet
    scheme: Scheme
    policy: Policy
    now: datetime
    title: str

    def html(self) -> str:
        """The cards as one self-contained page."""
        layout, ink = layout_for(self.sheet), self.sheet.ink
        return templates.render(
            "door.html",
            title=self.title,
            sheet=self.sheet,
            layout=layout,
            levels=[
                {"name": look.level.value.lower(), "mark": shapes.mark(look, ink)}
                for look in self.scheme.looks.values()
            ],
            groups=self._groups(layout),
            panel=lambda look: panel_svg(look, ink, layout),
            qr=shapes.qr_img,
            lines=lambda item, size: text_fit.wrapped(
                item, size, layout.items[2] - text_fit.HANG * size, text_fit.BOLD
            ),
            br=Markup("<br>"),
            line=text_fit.LINE,
            hang=text_fit.HANG,
            gap=text_fit.GAP,
            foot=self._foot(),
        )

    def drawn(self) -> Part | None:
        """The cards as part of a PDF; None where the carried fonts lack a letter (the page then serves)."""
        layout = layout_for(self.sheet)
        groups = self._groups(layout)
        if not all(can_draw(card) for group in groups for card in group):
            return None
        return drawn(groups, self.sheet, layout, self.title, self._foot())

    def _groups(self, layout: Layout) -> list[list[DoorCard]]:
        shown = [_fitted(door_face(card, self.scheme, self.policy, self.now), layout) for card in self.cards]
        return [shown[at : at + self.sheet.up] for at in range(0, len(shown), self.sheet.up)]

    def _foot(self) -> str:
        return f"{in_words.SUPPORT} Printed {in_words.when(self.now)}."


def door_title(count: int, now: datetime) -> str:
    """The page's title."""
    return f"Door cards, {count} {'bed' if count == 1 else 'beds'}, printed {in_words.when(now)}"


def door_face(card: BedCard, scheme: Scheme, policy: Policy, now: datetime) -> DoorFace:
    """What this bed's door card says. An expired plan shows REMAIN and since when nobody looked."""
    plan = card.plan
    label = f" {card.record.label}" if policy.door.show_label and card.record.label else ""
    return DoorFace(
        look=scheme.looks[plan.shown_level],
        sub_line=sub_line(plan, scheme),
        band=in_words.printable(_band(plan, scheme, now) or ""),
        expired=plan.expired,
        helpers=in_words.helpers_alone(plan),
        items=tuple(in_words.printable(item) for item in (*_items(plan, policy), *_ages(card.record))),
        bed=in_words.printable(plan.bed + label),
        until_says="Ended" if plan.expired and _until(plan, now) else "Holds until",
        until=_until(plan, now) or ("Not assessed", "ask the nurse"),
        code=plan.code,
    )


def _band(plan: Plan, scheme: Scheme, now: datetime) -> str | None:
    if not plan.expired:
        return _override_band(plan, scheme)
    if plan.assessed_at is None:
        return "NOT ASSESSED: nobody has recorded a look at this patient"
    if plan.assessed_at > now:
        return f"NOT VALID: the assessment is dated ahead, {in_words.when(plan.assessed_at)}"
    return f"EXPIRED: nobody has looked since {in_words.when(plan.assessed_at)}"


def _override_band(plan: Plan, scheme: Scheme) -> str | None:
    if plan.override is None:
        return None
    return f"OVERRIDE by {plan.override.by}; the rules say {scheme.looks[plan.derived_level].word}"


def _until(plan: Plan, now: datetime) -> tuple[str, str] | None:
    """The end of the plan's time; None where nobody can say (never assessed, or dated ahead of now).

    A lowered level stands no longer than the override that lowers it.
    """
    until = plan.valid_until
    if until is None or (plan.expired and until > now):
        return None
    if plan.override is not None and plan.override.lowers and not plan.expired:
        until = min(until, plan.override.lapses_at)
    return in_words.clock(until), in_words.day(until)


def _items(plan: Plan, policy: Policy) -> Iterator[str]:
    """The card's lines, most important first: what has no room is left out from the end, and counted."""
    if plan.after_fall is not None:
        yield plan.after_fall.says
    yield from _limb_lines(plan.weight_bearing)
    if plan.expired:
        yield from _cautions(plan, policy)
        return
    if more := more_help(plan):
        yield more
    if plan.headline.equipment and plan.level is not Level.REMAIN:
        yield "Use: " + ", ".join(in_words.EQUIPMENT_SAYS[item] for item in plan.headline.equipment)
    urgent = at_the_bed(plan.conflicts, plan.headline.equipment)
    yield from (conflict.says for conflict in urgent if "inventory" in conflict.fields)
    yield from (conflict.says for conflict in plan.conflicts if "override" in conflict.fields)
    if missing := not_assessed(plan):
        yield "Not assessed: " + ", ".join(
            "help to the chair" if name == "help.chair" else name for name in missing
        )
    yield from (cautions := list(_cautions(plan, policy)))
    said = any("fall risk" in caution.lower() for caution in cautions)
    if policy.door.show_fall_risk and plan.fall_risk is not None and not said:
        yield f"Fall risk: {plan.fall_risk.band}"
    yield from _to_check(plan)


def _ages(record: Record) -> Iterator[str]:
    """Since when each order stands, and until when: last, for whoever has time to read it."""
    told = [order.says for order in record.orders]
    told += [record.pressure_drop.says.rstrip(".")] if record.pressure_drop else []
    if told:
        yield in_words.sentence("; ".join(told))


def _cautions(plan: Plan, policy: Policy) -> Iterator[str]:
    """The headline move's cautions: no limb's limit twice, fall risk named only if the policy shows it."""
    limbs = {limb_name(limit.limb) for limit in _restricted(plan.weight_bearing)}
    for caution in door_cautions(plan):
        about, _, what = caution.partition(": ")
        if about.lower() in limbs:
            continue
        hidden = "fall risk" in about.lower() and not policy.door.show_fall_risk
        yield in_words.sentence(what) if hidden and what else caution


def _to_check(plan: Plan) -> Iterator[str]:
    """Conflicts about what is used at the bed, each; those about the record alone, how many there are."""
    rest = [conflict for conflict in plan.conflicts if not {"inventory", "override"} & set(conflict.fields)]
    at_the_bed = [conflict for conflict in rest if {"aids", "assessed_at"} & set(conflict.fields)]
    yield from (f"Check: {conflict.says}" for conflict in at_the_bed)
    if paperwork := len(rest) - len(at_the_bed):
        yield f"The record contradicts itself ({paperwork}): see the bedside card"


def _restricted(limits: Sequence[LimbLimit]) -> list[LimbLimit]:
    held = [limit for limit in limits if limit.status.rank > WeightBearing.WBAT.rank]
    return sorted(held, key=lambda limit: (-limit.status.rank, limit.limb.rank))


def _limb_lines(limits: Sequence[LimbLimit]) -> Iterator[str]:
    """Each limit once, with every limb it holds for, most restricted first."""
    limbs: dict[str, list[str]] = {}
    for limit in _restricted(limits):
        limbs.setdefault(_limit_says(limit), []).append(limb_name(limit.limb))
    for text, names in limbs.items():
        yield f"{in_words.sentence(', '.join(names))}: {text}"


def _limit_says(limit: LimbLimit) -> str:
    text = STATUS_SAYS[limit.status]
    figured = limit.status in (WeightBearing.PWB, WeightBearing.TTWB)
    if figured and limit.limit_kg:  # touch is for balance: no load, no figure
        kg, lb = in_words.at_most(limit.limit_kg), in_words.at_most(lb_from_kg(limit.limit_kg))
        text += f", at most {kg}\u00a0kg / {lb}\u00a0lb"
    return text


def _fitted(face: DoorFace, layout: Layout) -> DoorCard:
    scale = layout.scale
    room = layout.shifted("items") if face.band else layout.items
    return DoorCard(
        face=face,
        sub_size=_line(face.sub_line, layout.sub, 7.6 * scale),
        band_size=_line(face.band, layout.band, 6.4 * scale, inset=layout.band_indent),
        helpers_size=_line(face.helpers, layout.helpers, 10.0 * scale),
        bed_size=_line(f"Bed {face.bed}", layout.bed, 9.0 * scale),
        clock_size=_line(face.until[0], layout.until_clock, 10.0 * scale),
        code_size=_line(face.code, layout.code, 7.0 * scale),
        items=text_fit.fit(
            face.items, (room[2], room[3]), layout.item_sizes, text_fit.BOLD, indent=text_fit.HANG
        ),
    )


def _line(text: str, box: Box, largest: float, inset: float = 0.0) -> float:
    """The letter size at which the text stays on one line of this box."""
    return (
        text_fit.one_line(text, box[2] - 2 * inset, min(largest, box[3] / text_fit.LINE), 0.1, text_fit.BOLD)
        or 0.1
    )
