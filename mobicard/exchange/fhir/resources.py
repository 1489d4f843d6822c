"""The resources of one stay: who and when on each, addresses that stay the same, our own extensions."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
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
    "orders", "ended", "goals", "appointments", "override", "legs", "sore_sites", "pregnancy_weeks",
)  # fmt: skip
"""Facts that travel in our own extension of Patient."""


@dataclass(frozen=True, slots=True)
class FhirStay:
    """One stay to send: its pseudonymous key, its facts, and the plan where one is wanted."""

    stay: str
    record: Record
    plan: Plan | None = None


class Resources:
    """The resources of one stay, from the record as JSON spells it."""

    def __init__(self, stay: FhirStay, zone: ZoneInfo | None, *, labels: bool) -> None:
        self.stay = stay
        self.zone = zone
        self.facts = stay.record.as_json()
        if not labels:
            self.facts.pop("label", None)
        self.patient = self.url("patient")

    def url(self, name: str) -> str:
        """The same address for the same thing of the same stay, each time."""
        return uuid5(NAMESPACE_URL, f"{codes.OWN}:{self.stay.stay}:{name}").urn

    def named(self, name: str, body: Json) -> Json:
        kind = body["resourceType"]
        rest = {key: value for key, value in body.items() if key != "resourceType"}
        return {"resourceType": kind, "id": self.url(name).removeprefix("urn:uuid:"), **rest}

    @property
    def subject(self) -> Json:
        return {"reference": self.patient}

    @property
    def sends_fall_risk(self) -> bool:
        """Whether the answers go out as an Observation of their own."""
        asked = self.facts.get("fall_risk")
        return asked is not None and codable(asked)

    def when(self, field: str, at: str | datetime | None) -> Json:
        """A dateTime field; the hour goes to our extension when no time zone is known."""
        if at is None:
            return {}
        moment = datetime.fromisoformat(at) if isinstance(at, str) else at
        if moment.tzinfo is None and self.zone is None:
            hour = {"extension": [{"url": codes.CLOCK, "valueString": moment.isoformat()}]}
            return {field: moment.date().isoformat(), f"_{field}": hour}
        if moment.tzinfo is None:
            moment = moment.replace(tzinfo=self.zone)
        return {field: moment.isoformat()}

    def observation(self, body: Json) -> Json:
        """An Observation of this patient, by whoever assessed, when it was assessed."""
        by = self.facts.get("assessed_by")
        time = (
            {}
            if "effectiveDateTime" in body
            else self.when("effectiveDateTime", self.facts.get("assessed_at"))
        )
        return {
            "resourceType": "Observation",
            "status": body.pop("status", "final"),
            **({"category": body.pop("category")} if "category" in body else {}),
            "code": body.pop("code"),
            "subject": self.subject,
            **time,
            **({"performer": [{"display": by}]} if by else {}),
            **body,
        }

    def whose(self) -> Json:
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
        return {
            "resourceType": "Flag",
            "status": "active",
            "category": [concept(coding(codes.FLAG_CATEGORY, "safety"))],
            "code": code,
            "subject": self.subject,
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
