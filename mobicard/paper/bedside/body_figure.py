"""The body figure: a neutral outline seen from the front, each limb marked with what it may bear."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from html import escape

from mobicard.derive.model import LimbLimit
from mobicard.facts.units import both_masses
from mobicard.facts.words import Limb, WeightBearing
from mobicard.paper.pdf.svg_path import operators

VIEW_BOX = "0 0 200 320"
"""The drawing's own units; 1 unit is about half a centimetre of a body."""

_HEAD = "M100 8C112 8 118 17 118 29C118 41 110 50 100 50C90 50 82 41 82 29C82 17 88 8 100 8Z"
_TRUNK = (
    "M91 47V55C89 62 72 63 63 69C67 88 71 104 71 120C71 136 67 148 66 166L100 172L134 166"
    "C133 148 129 136 129 120C129 104 133 88 137 69C128 63 111 62 109 55V47Z"
)
_VIEWERS_RIGHT_ARM = (
    "M138 70C148 74 151 82 152 93L161 136L168 168C172 180 169 190 164 190"
    "C158 190 156 181 155 172L146 140L134 98Z"
)
_VIEWERS_RIGHT_LEG = (
    "M101 174L134 168C136 190 131 214 129 232C130 250 127 270 125 288C128 296 136 302 135 308"
    "C134 312 118 312 111 309C109 300 111 294 111 286C108 268 107 250 108 234C105 214 102 196 101 174Z"
)

_STRIPE_STEP = {WeightBearing.PWB: 14, WeightBearing.TTWB: 7}
"""Units between the bars on a limb: closer bars, less weight; a limb that may bear nothing is solid."""

_ANCHOR = {
    Limb.RIGHT_ARM: (40, 132),
    Limb.LEFT_ARM: (160, 132),
    Limb.RIGHT_LEG: (72, 240),
    Limb.LEFT_LEG: (128, 240),
}
"""Where the leader of each limb's label starts; the patient's left is on the viewer's right."""

_STUMP = {
    Limb.RIGHT_ARM: (64, 74),
    Limb.LEFT_ARM: (136, 74),
    Limb.RIGHT_LEG: (82, 168),
    Limb.LEFT_LEG: (118, 168),
}
"""Where it starts when the limb is absent."""


STATUS_SAYS: dict[WeightBearing, str] = {
    WeightBearing.FWB: "full weight",
    WeightBearing.WBAT: "weight as tolerated",
    WeightBearing.PWB: "partial weight",
    WeightBearing.TTWB: "toe touch only",
    WeightBearing.NWB: "no weight",
    WeightBearing.ABSENT_LIMB: "limb absent",
}


def limb_name(limb: Limb) -> str:
    """``left leg``, as said aloud."""
    return limb.value.replace("_", " ")


def body_svg(limits: Iterable[LimbLimit], key: str) -> str:
    """One inline SVG of the body. ``key`` makes its ids unique in the page; every text in it is escaped."""
    orders = {limit.limb: limit for limit in limits}
    limbs = "".join(_limb(limb, orders.get(limb), key) for limb in Limb)
    leaders = "".join(_leader(limb, orders[limb].status is WeightBearing.ABSENT_LIMB) for limb in orders)
    said = escape(body_alternative(orders), quote=False)
    return (
        f'<svg class="body" viewBox="{VIEW_BOX}" role="img" aria-labelledby="{key}-t" '
        f'xmlns="http://www.w3.org/2000/svg"><title id="{key}-t">{said}</title>'
        f'<g fill="#fff" stroke="#000" stroke-width="2" stroke-linejoin="round">'
        f'<path d="{_HEAD}"/>{limbs}<path d="{_TRUNK}"/>{leaders}</g></svg>'
    )


def body_operators(orders: Mapping[Limb, LimbLimit], left: float, top: float, high: float) -> str:
    """The same figure as PDF operators, ``high`` mm tall with its corner at this place."""
    scale = high / 320
    parts = [_HEAD_PDF.format(operators(_HEAD))]
    parts += [_limb_pdf(limb, orders.get(limb)) for limb in Limb]
    parts.append(_HEAD_PDF.format(operators(_TRUNK)))
    parts += [_leader_pdf(limb, orders[limb].status is WeightBearing.ABSENT_LIMB) for limb in orders]
    return (
        f"q {scale:.5f} 0 0 {scale:.5f} {left:.3f} {top:.3f} cm 0 0 0 RG 2 w 1 j\n" + "\n".join(parts) + "\nQ"
    )


_HEAD_PDF = "1 1 1 rg {} B"


def _limb_pdf(limb: Limb, order: LimbLimit | None) -> str:
    status = order.status if order is not None else None
    if status is WeightBearing.ABSENT_LIMB:
        return ""
    outline = operators(_VIEWERS_RIGHT_LEG if limb.is_leg else _VIEWERS_RIGHT_ARM)
    turn = "" if limb.side == "left" else "-1 0 0 1 200 0 cm "
    fill = "0 0 0 rg" if status is WeightBearing.NWB else "1 1 1 rg"
    bars = ""
    if status in _STRIPE_STEP:
        bars = f" {outline} W n 3.5 w {operators(_bar_lines(limb, _STRIPE_STEP[status]))} S"
    return f"q {turn}{fill} {outline} B{bars} Q"


def _leader_pdf(limb: Limb, absent: bool) -> str:
    x, y = _ANCHOR[limb]
    edge = 199 if limb.side == "left" else 1
    start_x, start_y = _STUMP[limb] if absent else (x, y)
    dot = f"M{start_x - 3} {start_y}A3 3 0 1 0 {start_x + 3} {start_y}A3 3 0 1 0 {start_x - 3} {start_y}Z"
    line = operators(f"M{start_x} {start_y}L{x} {y}H{edge}")
    return f"1.5 w {line} S 0 0 0 rg {operators(dot)} f"


def body_alternative(orders: Mapping[Limb, LimbLimit]) -> str:
    """The figure in words, for a reader that does not see it."""
    said = [_said(orders[limb]) for limb in Limb if limb in orders]
    return "Body seen from the front, the patient's left on the right. " + (
        "; ".join(said) + "." if said else "No weight-bearing order recorded for any limb."
    )


def _said(limit: LimbLimit) -> str:
    """``Left leg: partial weight, at most 41.0 kg (90 lb)``; no figure where the order sets none."""
    figured = limit.limit_kg and limit.status in _STRIPE_STEP
    figure = f", at most {both_masses(limit.limit_kg or 0.0)}" if figured else ""
    return f"{limb_name(limit.limb).capitalize()}: {STATUS_SAYS[limit.status]}{figure}"


def _limb(limb: Limb, order: LimbLimit | None, key: str) -> str:
    """The limb's outline with its marking; an absent limb is not drawn."""
    status = order.status if order is not None else None
    if status is WeightBearing.ABSENT_LIMB:
        return ""
    path = _VIEWERS_RIGHT_LEG if limb.is_leg else _VIEWERS_RIGHT_ARM
    turn = "" if limb.side == "left" else ' transform="matrix(-1 0 0 1 200 0)"'
    fill = ' fill="#000"' if status is WeightBearing.NWB else ""
    bars = _bars(limb, status, path, f"{key}-{limb.value}") if status in _STRIPE_STEP else ""
    return f'<g{turn}><path d="{path}"{fill}/>{bars}</g>'


def _bars(limb: Limb, status: WeightBearing, path: str, key: str) -> str:
    step = _STRIPE_STEP[status]
    lines = _bar_lines(limb, step)
    return (
        f'<clipPath id="{key}"><path d="{path}"/></clipPath>'
        f'<path d="{lines}" stroke-width="3.5" clip-path="url(#{key})"/>'
    )


def _bar_lines(limb: Limb, step: int) -> str:
    left, right, top, bottom = (100, 140, 178, 312) if limb.is_leg else (132, 174, 80, 192)
    return "".join(f"M{left} {y}H{right}" for y in range(top, bottom, step))


def _leader(limb: Limb, absent: bool) -> str:
    """The line from the limb, or from where it would begin, to its label beside the figure."""
    x, y = _ANCHOR[limb]
    edge = 199 if limb.side == "left" else 1
    start_x, start_y = _STUMP[limb] if absent else (x, y)
    return (
        f'<path d="M{start_x} {start_y}L{x} {y}H{edge}" stroke-width="1.5" fill="none"/>'
        f'<circle cx="{start_x}" cy="{start_y}" r="3" fill="#000"/>'
    )
