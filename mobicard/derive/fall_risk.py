"""Fall risk: scores by the instrument's own file; the unanswered widens the range, never lowers the band.

A score informs; it never clears (NICE NG249, 2025). It lowers no help.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cache, lru_cache
from importlib.resources import files
from itertools import product
from types import MappingProxyType
from typing import Final

from mobicard.derive.instrument import Instrument, InstrumentRefused
from mobicard.derive.model import Conflict, FallRisk
from mobicard.facts.record import Record
from mobicard.rules.policy import Policy

PACKAGED: Final = ("morse", "stratify", "schmid")

Value = bool | int | str | None


def instruments(policy: Policy | None = None) -> Mapping[str, Instrument]:
    """Every instrument by id: the packaged ones, then the facility's own from the policy.

    Raises InstrumentRefused where the policy's own cannot be read.
    """
    own = policy.fall_risk.instruments if policy else {}
    return _with_own(json.dumps(own, sort_keys=True, default=str)) if own else _packaged()


@lru_cache(maxsize=8)
def _with_own(tables: str) -> Mapping[str, Instrument]:
    own = {id_: Instrument.from_table({"id": id_, **table}) for id_, table in json.loads(tables).items()}
    return MappingProxyType({**_packaged(), **own})


@cache
def _packaged() -> Mapping[str, Instrument]:
    folder = files("mobicard.rules").joinpath("instruments")
    texts = (folder.joinpath(f"{name}.toml").read_text(encoding="utf-8") for name in PACKAGED)
    return MappingProxyType({found.id: found for found in map(Instrument.from_toml, texts)})


def score(
    instrument: str | Instrument, answers: Mapping[str, Value], bands: Mapping[str, int] | None = None
) -> FallRisk:
    """The score of these answers: ``lowest`` to ``score`` (least and most possible) and the band of the most.

    ``bands`` (band name -> least score) stands in for the instrument's own. An answer of None is unanswered.
    Raises ValueError in words for an unknown instrument, item or answer.
    """
    found = _instrument(instrument)
    problems = tuple(_problems(found, answers))
    if problems:
        raise ValueError("; ".join(says for _, says in problems))
    given = {key: value for key, value in answers.items() if value is not None}
    lows, highs = zip(*(_range(found, group, given) for group in found.groups), strict=True)
    highest = sum(highs)
    return FallRisk(
        instrument=found.id,
        score=highest,
        lowest=sum(lows),
        band=_band(found, highest, bands),
        unanswered=tuple(key for key in found.items if key not in given),
        source=found.source,
        note=found.note,
    )


def assess(record: Record, policy: Policy) -> tuple[FallRisk | None, tuple[Conflict, ...]]:
    """The fall risk of a record, and a conflict for each answer its instrument does not know.

    An answer it does not know counts as unanswered, so the range takes it at its worst. A fall recorded on
    the stay counts, though the answers are from before it. Never raises.
    """
    if record.fall_risk is None:
        return None, ()
    named = record.fall_risk.instrument
    try:
        found = instruments(policy).get(named)
    except InstrumentRefused as bad:
        says = f"The facility's fall-risk instrument cannot be read: {bad}"
        return None, (Conflict(says, ("policy.fall_risk",)),)
    if found is None:
        says = f"Fall risk: no instrument “{named}” is known here."
        return None, (Conflict(says, ("fall_risk.instrument",)),)
    problems = tuple(_problems(found, record.fall_risk.answers))
    bad_keys = {key for key, _ in problems}
    good = {key: value for key, value in record.fall_risk.answers.items() if key not in bad_keys}
    conflicts = tuple(
        Conflict(f"Fall risk: {says}.", (f"fall_risk.answers.{key}",)) for key, says in problems
    )
    bands = policy.fall_risk.bands.get(named)
    if record.fall_event is None:
        return score(found, good, bands), conflicts
    counted = score(found, {**good, **_fallen(found)}, bands)
    return replace(counted, note=f"Counted with the fall; score again. {counted.note}".strip()), conflicts


def _fallen(instrument: Instrument) -> dict[str, Value]:
    """The answers a fall on this stay gives, whatever was answered before it."""
    return {key: item.after_fall for key, item in instrument.items.items() if item.after_fall is not None}


def _instrument(instrument: str | Instrument) -> Instrument:
    if isinstance(instrument, Instrument):
        return instrument
    known = _packaged()
    if instrument not in known:
        raise ValueError(f"“{instrument}” is no fall-risk instrument here; write one of {', '.join(known)}")
    return known[instrument]


def _problems(instrument: Instrument, answers: Mapping[str, Value]) -> Iterable[tuple[str, str]]:
    for key, value in answers.items():
        item = instrument.items.get(key)
        if item is None:
            yield key, f"“{key}” is no item of {instrument.name}; it asks {', '.join(instrument.items)}"
        elif value is not None and item.answer(value) is None:
            allowed = ", ".join(answer.spelled for answer in item.answers)
            yield key, f"“{key}” cannot be “{_spelled(value)}”; write one of {allowed}"


def _spelled(value: Value) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def _range(instrument: Instrument, group: tuple[str, ...], given: Mapping[str, Value]) -> tuple[int, int]:
    """Least and most points of items scored together, over every way to answer what is unanswered."""
    if len(group) == 1:
        item = instrument.items[group[0]]
        answer = item.answer(given.get(group[0]))
        return (answer.points, answer.points) if answer is not None else item.span
    choices = []
    for key in group:
        item = instrument.items[key]
        answer = item.answer(given[key]) if key in given else None
        choices.append((answer,) if answer is not None else item.answers)
    points = [
        instrument.combined_points(dict(zip(group, chosen, strict=True))) + sum(one.points for one in chosen)
        for chosen in product(*choices)
    ]
    return min(points), max(points)


def _band(instrument: Instrument, points: int, bands: Mapping[str, int] | None) -> str:
    table = bands if bands else {band.name: band.least for band in instrument.bands}
    reached = [(least, name) for name, least in table.items() if points >= least]
    return max(reached)[1] if reached else min((least, name) for name, least in table.items())[1]
