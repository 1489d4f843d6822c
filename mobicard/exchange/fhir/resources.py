"""The resources of one stay: who and when on each, addresses that stay the same, our own extensions.

What lasts as long as the stay (Patient, Encounter, Flags, devices, goals) has one address in it. What was
seen or derived at one look has one for that look, so that a new assessment never overwrites an old one.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from uuid import NAMESPACE_URL, uuid5
from zoneinfo import ZoneInfo

from mobicard.derive import Plan
from mobicard.exchange.fhir import codes
from mobicard.exchange.fhir.codes import coding, concept
from mobicard.facts import Record
from mobicard.facts.record import THREE_VALUED
from mobicard.facts.words import Precaution

Json = dict[str, Any]

_KEPT = (
    "bed", "label", "assessed_at", "assessed_by", "turn_every_h", "toilet_every_h", "fall_event",
    "head_watch", "pressure_drop", "operation", "readings_cleared", "child", "proficient_with",
    "orders", "ended", "appointments", "override", "legs", "sore_sites", "pregnancy_weeks",
)  # fmt: skip
"""Facts that travel in our own extension of Patient."""


@dataclass(frozen=True, slots=True)
class Told:
    """What was once told of a stay: the record, what followed, when (aware), and whether it was withdrawn."""

    record: Record
    plan: Plan | None
    at: datetime
    withdrawn_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class FhirStay:
    """One stay to send: its pseudonymous key, its facts, and the plan where one is wanted.

    Aware times: ``admitted_at``, ``left_at``, ``recorded_at`` of this record. ``told`` is all that was told
    before, oldest first; what does not hold any more is taken back.
    """

    stay: str
    record: Record
    plan: Plan | None = None
    admitted_at: datetime | None = None
    moved_at: datetime | None = None
    left_at: datetime | None = None
    recorded_at: datetime | None = None
    told: tuple[Told, ...] = ()


class Resources:
    """The resources of one stay, from the record as JSON spells it."""

    def __init__(
        self, stay: FhirStay, zone: ZoneInfo | None, *, labels: bool, relative: bool = False
    ) -> None:
        self.stay = stay
        self.zone = zone
        self.labels = labels
        self.relative = relative
        self.facts = stay.record.as_json()
        if not labels:
            self.facts.pop("label", None)

    @property
    def look(self) -> str:
        """The look these facts are of, by its ward time; a change said without a new look keeps it."""
        return str(self.facts.get("assessed_at", "none"))

    def id(self, name: str) -> str:
        """The same id for the same thing of the same stay, each time."""
        return str(uuid5(NAMESPACE_URL, f"{codes.CANONICAL}:{self.stay.stay}:{name}"))

    def of_look(self, name: str) -> str:
        """A name that is told apart from the same of another look."""
        return f"{self.look}:{name}"

    def bed_id(self) -> str:
        """The bed's own id, whoever lies in it."""
        return str(uuid5(NAMESPACE_URL, f"{codes.CANONICAL}:bed:{self.facts['bed']}"))

    def reference(self, kind: str, id_: str) -> Json:
        """A reference inside this bundle: by address in a collection, by kind and id for a server."""
        return {"reference": f"{kind}/{id_}" if self.relative else f"urn:uuid:{id_}"}

    @property
    def subject(self) -> Json:
        return self.reference("Patient", self.id("patient"))

    @property
    def whose(self) -> Json:
        """Of which patient and which stay a resource is."""
        return {"subject": self.subject, "encounter": self.reference("Encounter", self.id("encounter"))}

    @property
    def sends_fall_risk(self) -> bool:
        """Whether the answers go out as an Observation of their own."""
        asked = self.facts.get("fall_risk")
        return asked is not None and codable(asked)

    def named(self, id_: str, body: Json) -> Json:
        """The resource with its id, and an identifier where its kind takes several."""
        kind = body["resourceType"]
        rest = {key: value for key, value in body.items() if key != "resourceType"}
        if kind in ("Observation", "Flag", "DeviceUseStatement", "Goal", "CarePlan"):
            rest = {"identifier": [{"system": codes.STATEMENT, "value": id_}], **rest}
        return {"resourceType": kind, "id": id_, **rest}

    def statement(self, name: str, body: Json) -> tuple[str, Json]:
        """The id and the whole resource of what goes by this name in this stay."""
        return self.id(name), self.named(self.id(name), body)

    def when(self, field: str, at: str | datetime | None) -> Json:
        """A dateTime field; the hour goes to our extension when no time zone is known."""
        if at is None:
            return {}
        moment = datetime.fromisoformat(at) if isinstance(at, str) else at
        if moment.tzinfo is None and self.zone is None:
            hour = {"extension": [{"url": codes.CLOCK, "valueString": moment.isoformat()}]}
            return {field: moment.date().isoformat(), f"_{field}": hour}
        return {field: self.instant(moment)}

    def instant(self, moment: datetime) -> str:
        """A moment with its offset: an aware one in UTC or, where it is known, in the ward's zone."""
        if moment.tzinfo is None:
            return moment.replace(tzinfo=self.zone).isoformat()
        return moment.astimezone(self.zone or UTC).isoformat()

    def period(self, start: str | datetime | None, end: str | datetime | None = None) -> Json:
        """A Period, or nothing where neither end is known."""
        found = {**self.when("start", start), **self.when("end", end)}
        return {"period": found} if found else {}

    def observation(self, body: Json) -> Json:
        """An Observation of this look: of whom, by whom, seen when, and made known when."""
        by, recorded = self.facts.get("assessed_by"), self.stay.recorded_at
        time = (
            {}
            if "effectiveDateTime" in body
            else self.when("effectiveDateTime", self.facts.get("assessed_at"))
        )
        look = {"url": codes.LOOK, "valueString": self.look}
        return {
            "resourceType": "Observation",
            "extension": [look, *body.pop("extension", ())],
            "status": body.pop("status", "final"),
            "category": [concept(coding(codes.OBSERVATION_CATEGORY, body.pop("category", "exam")))],
            "code": body.pop("code"),
            **self.whose,
            **time,
            **({"issued": self.instant(recorded)} if recorded else {}),
            **({"performer": [{"display": by}]} if by else {}),
            **body,
        }

    def patient(self) -> Json:
        extensions = [
            own_extension(name, self.facts[name]) for name in _KEPT if self.facts.get(name) not in (None, "")
        ]
        asked = (name for name in THREE_VALUED if name not in _KEPT and self.facts.get(name) in ([], {}))
        extensions += [own_extension(name, self.facts[name]) for name in asked]
        spoken = self.facts.get("communication", {})
        fall_risk = self.facts.get("fall_risk")
        if fall_risk and not codable(fall_risk):
            extensions.append(own_extension("fall_risk", fall_risk))
        interpreter = (
            [{"url": codes.INTERPRETER, "valueBoolean": spoken["interpreter"]}]
            if "interpreter" in spoken
            else []
        )
        body: Json = {
            "resourceType": "Patient",
            "extension": [*interpreter, {"url": codes.RECORD, "extension": extensions}],
            "identifier": [{"system": codes.STAY, "value": self.stay.stay}],
            "active": self.stay.left_at is None,
        }
        if "language" in spoken:
            body["communication"] = [
                {"language": concept(coding(codes.BCP_47, spoken["language"])), "preferred": True}
            ]
        return body

    def flags(self) -> Iterable[tuple[str, Json]]:
        for name in self.facts.get("precautions", ()):
            says = Precaution(name).value.replace("_", " ")
            yield (
                f"precaution.{name}",
                self.flag(concept(coding(codes.PRECAUTION, name), text=f"Precaution: {says}")),
            )

    def flag(self, code: Json) -> Json:
        """An active warning of category safety."""
        by = self.facts.get("assessed_by")
        return {
            "resourceType": "Flag",
            "status": "active",
            "category": [concept(coding(codes.FLAG_CATEGORY, "safety"))],
            "code": code,
            **self.whose,
            **self.period(self.facts.get("assessed_at")),
            **({"author": {"display": by}} if by else {}),
        }

    def device(self, use: str, kind: Json, status: str = "active", why: Iterable[str] = ()) -> Json:
        """A DeviceUseStatement with its device inside."""
        said = {
            "aid": "aid at the bed",
            "line": "line or drain",
            "on_before_up": "on before up",
            "equipment": "move",
        }
        return {
            "resourceType": "DeviceUseStatement",
            "contained": [{"resourceType": "Device", "id": "device", "type": kind}],
            "status": status,
            "subject": self.subject,
            **self.when("recordedOn", self.facts.get("assessed_at")),
            "device": {"reference": "#device"},
            "reasonCode": [
                concept(coding(codes.USE, use), text=said[use]),
                *(concept(text=each) for each in why),
            ],
        }


def own_extension(name: str, value: Any) -> Json:
    """A part of our record extension: plain text and figures as such, the rest as JSON text."""
    if isinstance(value, bool):
        return {"url": name, "valueBoolean": value}
    if isinstance(value, int | float):
        return {"url": name, "valueDecimal": value}
    if isinstance(value, str) and re.fullmatch(r"[ \r\n\t\S]+", value) and not value.startswith("json:"):
        return {"url": name, "valueString": value}
    return {"url": name, "valueString": "json:" + json.dumps(value, sort_keys=True)}


def codable(fall_risk: Mapping[str, Any]) -> bool:
    """Whether every answer fits R4's codes and integers; else the whole travels in our extension."""

    def code(text: str) -> bool:
        return bool(re.fullmatch(r"[a-z][a-z0-9_.]*", text))

    answers = fall_risk["answers"]
    return all(code(key) for key in answers) and all(
        code(value) if isinstance(value, str) else abs(value) < 2**31 for value in answers.values()
    )
