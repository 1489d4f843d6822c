"""What was said of a stay and does not hold any more: ended, amended or entered in error, never silent.

A look that was true when it was made stays as it is: its Observations have their own time. What lasts until
it is lifted (Flags, devices, goals) ends when it was first left out, or when the patient left. A plan is
revoked by the next look. What an entry said that was withdrawn is entered in error, unless it was also said
by one that stands.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from mobicard.exchange.fhir import codes
from mobicard.exchange.fhir.codes import coding, concept
from mobicard.exchange.fhir.facts import limb_order
from mobicard.exchange.fhir.resources import Resources, Told
from mobicard.exchange.fhir.statements import Statement, statements

Json = dict[str, Any]


@dataclass(slots=True)
class _Said:
    """One resource as it was told: its body, whether an entry that stands says it, and until when.

    ``changed_at`` is when anything was last said of it, or withdrawn: a server may have it from a telling
    that does not count any more.
    """

    body: Json
    at: datetime
    stands: bool
    ended_at: datetime | None
    changed_at: datetime
    corrected: bool = False
    spellings: set[str] = field(default_factory=set)


def with_what_was_said(now: Resources, since: datetime | None = None) -> Iterator[Statement]:
    """What holds of the stay, then what held and does not; of the latter only what changed ``since``."""
    before = _said(now)
    sent = set()
    left = now.stay.left_at
    for id_, body in (*statements(now), *_orders_lifted(now)):
        sent.add(id_)
        begun = _since_first(body, before.get(id_), left)
        held = _ended(begun, now, left) if left else begun
        yield id_, _as_changed(held, before.get(id_))
    for id_, said in before.items():
        if id_ not in sent and (since is None or max(said.changed_at, said.ended_at or said.at) >= since):
            yield id_, _not_any_more(said, now)


def _said(now: Resources) -> dict[str, _Said]:
    found: dict[str, _Said] = {}
    standing = [one.at for one in now.stay.told if one.withdrawn_at is None]
    for told in now.stay.told:
        later = [at for at in standing if at > told.at]
        for id_, body in statements(_as_told(now, told)):
            found[id_] = _merged(found.get(id_), told, body, min(later, default=now.stay.left_at))
    return found


def _as_told(now: Resources, told: Told) -> Resources:
    then = replace(now.stay, record=told.record, plan=told.plan, recorded_at=told.at, left_at=None, told=())
    return Resources(then, now.zone, labels=now.labels, relative=now.relative)


def _merged(old: _Said | None, told: Told, body: Json, next_at: datetime | None) -> _Said:
    wrong = told.withdrawn_at is not None
    if old is None:
        said = _Said(body, told.at, not wrong, told.withdrawn_at if wrong else next_at, told.at)
    elif wrong and old.stands:
        said = old
    else:
        said = replace(old, body=_since_first(body, old, told.at), at=told.at, stands=not wrong)
        said.ended_at = told.withdrawn_at if wrong else next_at
    said.changed_at = max(said.changed_at, told.at, told.withdrawn_at or told.at)
    said.corrected = said.corrected or wrong
    said.spellings.add(_spelt(body))
    return said


def _since_first(body: Json, before: _Said | None, until: datetime | None) -> Json:
    """A Flag that was told without a break until then began when it was first told."""
    if body["resourceType"] != "Flag" or before is None or not before.stands or before.ended_at != until:
        return body
    start = {name: value for name, value in before.body.get("period", {}).items() if name.endswith("start")}
    return {**body, "period": {**body.get("period", {}), **start}}


def _spelt(body: Json) -> str:
    """What a resource says, whenever it was made known."""
    return json.dumps({key: value for key, value in body.items() if key not in ("issued", "status")})


def _as_changed(body: Json, said: _Said | None) -> Json:
    """An Observation that says otherwise than it did for the same look tells that it was changed."""
    if body["resourceType"] != "Observation" or body["status"] != "final" or said is None:
        return body
    if said.spellings <= {_spelt(body)}:
        return body
    return {**body, "status": "corrected" if said.corrected else "amended"}


def _not_any_more(said: _Said, now: Resources) -> Json:
    body = said.body
    of_this_look = {"url": codes.LOOK, "valueString": now.look} in body.get("extension", ())
    if not said.stands or (body["resourceType"] == "Observation" and of_this_look):
        return _wrong(body)
    return _ended(body, now, said.ended_at)


def _wrong(body: Json) -> Json:
    if body["resourceType"] == "Provenance":
        return body
    field_ = "lifecycleStatus" if body["resourceType"] == "Goal" else "status"
    return {**body, field_: "entered-in-error"}


def _ended(body: Json, now: Resources, at: datetime | None) -> Json:
    """The resource as it stands once it does not hold any more; an Observation stays true of its time."""
    end = now.when("end", at)
    match body["resourceType"]:
        case "Flag":
            return {**body, "status": "inactive", "period": {**body.get("period", {}), **end}}
        case "DeviceUseStatement":
            return {**body, "status": "completed", **({"timingPeriod": end} if end else {})}
        case "Goal":
            day = {"statusDate": end["end"][:10]} if end else {}
            return {**body, "lifecycleStatus": "cancelled", **day}
        case "CarePlan":
            return _revoked(body, end)
    return body


def _revoked(plan: Json, end: Json) -> Json:
    """A plan ends when it is revoked, or when it would have ended by itself before that."""
    period = {**plan.get("period", {})}
    if end and (("end" not in period) or _later(period["end"], end["end"])):
        period.pop("_end", None)
        period |= end
    moves = [{"detail": {**one["detail"], "status": "stopped"}} for one in plan["activity"]]
    return {**plan, "status": "revoked", "period": period, "activity": moves}


def _later(one: str, other: str) -> bool:
    moments = [datetime.fromisoformat(each) for each in (one, other)]
    if any(each.tzinfo is None for each in moments):
        return one[:10] >= other[:10]
    return moments[0] > moments[1]


def _orders_lifted(now: Resources) -> Iterator[Statement]:
    """Of each limb that had an order and has none: that it has none any more."""
    had = [
        limb.value
        for told in now.stay.told
        if told.withdrawn_at is None
        for limb in told.record.weight_bearing
    ]
    for limb in dict.fromkeys(had):
        if limb not in now.facts.get("weight_bearing", {}):
            value = concept(coding(codes.STATUS, codes.NO_ORDER), text="no order any more")
            body = now.observation({**limb_order(limb), "valueCodeableConcept": value})
            yield now.statement(now.of_look(f"weight_bearing.{limb}"), body)
