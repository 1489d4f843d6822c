"""Our own code systems and extensions as FHIR R4 resources, for whoever publishes or loads them.

``definitions() -> [CodeSystem, ..., StructureDefinition, ...]``, made from the words themselves, so that a
code that goes out is always one that is defined.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from mobicard import __version__
from mobicard.derive import fall_risk
from mobicard.derive.instrument import Instrument
from mobicard.exchange.fhir import codes
from mobicard.exchange.fhir.facts import PLAIN
from mobicard.facts import Record
from mobicard.facts.moves import MOVES
from mobicard.facts.words import (
    Aid,
    Equipment,
    Help,
    Level,
    Limb,
    Precaution,
    Side,
    Task,
    WeightBearing,
    Word,
)

Json = dict[str, Any]

_FACTS: Final = (
    *PLAIN,
    *("helpers_used", "weight_bearing", "load_limit", "sbp", "dbp", "hr", "spo2", "resp_rate", "dizzy"),
    *("target_88_92", "vitals_at", "communication_hearing", "communication_vision", "communication_note"),
    *(f"pressure_{position}" for position in codes.POSITIONS),
)
_DERIVED: Final = (
    *("level", "helpers", "valid_until", "orthostatic", "drop_sbp", "drop_dbp"),
    *("fall_risk", "fall_risk_total", "fall_risk_level"),
)
_USES: Final = {
    "aid": "aid at the bed",
    "line": "line or drain",
    "on_before_up": "goes on before the patient is up",
    "equipment": "equipment for a move",
}


def definitions() -> list[Json]:
    """Every code system, then every extension."""
    return [*_code_systems(), *_extensions()]


def as_bundle() -> Json:
    """The definitions as a collection Bundle."""
    entries = [{"fullUrl": each["url"], "resource": each} for each in definitions()]
    return {"resourceType": "Bundle", "type": "collection", "entry": entries}


def _head(kind: str, url: str, title: str, says: str) -> Json:
    name = "".join(part.capitalize() for part in ("mobicard", *url.rpartition("/")[2].split("-")))
    return {
        "resourceType": kind,
        "id": url.rpartition("/")[2],
        "url": url,
        "version": __version__,
        "name": name,
        "title": title,
        "status": "active",
        "experimental": False,
        "description": says,
    }


# -- code systems ------------------------------------------------------------------------------------------


def _code_systems() -> Iterable[Json]:
    yield _system(codes.FACT, "Facts about moving a patient", _spelt(_FACTS))
    for fact in PLAIN:
        yield _system(codes.answers(fact), f"Answers to {fact.replace('_', ' ')}", _words(_answers(fact)))
    yield _system(codes.TASK, "Moves", {task.value: MOVES[task].says for task in Task})
    yield _system(codes.HELP, "Observed help", _words(Help))
    yield _system(codes.LIMB, "Limbs", _words(Limb))
    no_order = {codes.NO_ORDER: "no order any more"}
    yield _system(codes.STATUS, "Weight-bearing status", {**_words(WeightBearing), **no_order})
    yield _system(codes.PRECAUTION, "Precautions", _words(Precaution))
    yield _system(codes.DEVICE, "Aids and equipment", {**_words(Aid), **_words(Equipment)})
    yield _system(codes.USE, "What a device is there for", _USES)
    yield _system(codes.SIDE, "Sides", _words(Side))
    yield _system(codes.LEVEL, "House levels, least to most help", _words(Level))
    yield _system(codes.DERIVED, "What was derived", _spelt(_DERIVED))
    yield from _of_instruments(fall_risk.instruments())


def _of_instruments(known: Mapping[str, Instrument]) -> Iterable[Json]:
    """Those of the packaged instruments; a facility has more of its own, so these are fragments."""
    items = {item.key: item.asks for each in known.values() for item in each.items.values()}
    bands = [band.name for each in known.values() for band in each.bands]
    values = [
        answer.value
        for each in known.values()
        for item in each.items.values()
        for answer in item.answers
        if isinstance(answer.value, str)
    ]
    names = {each.id: each.name for each in known.values()}
    yield _system(codes.INSTRUMENT, "Fall-risk instruments", names, whole=False)
    yield _system(codes.ITEM, "Items of fall-risk instruments", items, whole=False)
    yield _system(codes.ITEM_ANSWER, "Answers to fall-risk items", _spelt(values), whole=False)
    yield _system(codes.BAND, "Fall-risk bands", _spelt(bands), whole=False)


def _system(url: str, title: str, meanings: Mapping[str, str], *, whole: bool = True) -> Json:
    says = f"{title}, as mobicard records them." + ("" if whole else " A facility may add its own.")
    return {
        **_head("CodeSystem", url, title, says),
        "caseSensitive": True,
        "content": "complete" if whole else "fragment",
        "concept": [{"code": code, "display": display} for code, display in meanings.items()],
    }


def _words(words: type[Word]) -> dict[str, str]:
    return _spelt(word.value for word in words)


def _spelt(names: Iterable[str]) -> dict[str, str]:
    return {name: name.replace("_", " ") for name in names}


def _answers(fact: str) -> type[Word]:
    """The words of a fact, from the record itself."""
    kind = Record.model_fields[fact].annotation
    (found,) = [each for each in _parts(kind) if isinstance(each, type) and issubclass(each, Word)]
    return found


def _parts(kind: Any) -> tuple[Any, ...]:
    inner = getattr(kind, "__args__", ())
    return (kind, *(part for each in inner for part in _parts(each)))


# -- extensions --------------------------------------------------------------------------------------------


def _extensions() -> Iterable[Json]:
    yield _record()
    for url, title, says, kind, where in (
        (
            codes.LOOK,
            "Of which look",
            "The ward time of the look that this is of, without offset; “none” where nobody has looked.",
            "string",
            ("Observation", "CarePlan", "Provenance"),
        ),
        (
            codes.CLOCK,
            "Ward time",
            "The ward's own clock, without offset, where it is apart from the look or no time zone is known.",
            "string",
            ("Element", "Observation"),
        ),
        (
            codes.PLACE,
            "Place in its list",
            "What stands in a list of the record: its place there; a server keeps no order.",
            "integer",
            ("Flag", "DeviceUseStatement", "Goal"),
        ),
        (codes.NOTICE, "Notice", "The notice that LOINC asks for beside its codes.", "string", ("Meta",)),
    ):
        yield _plain(url, title, says, kind, where)


def _structure(url: str, title: str, says: str, where: Iterable[str], elements: list[Json]) -> Json:
    return {
        **_head("StructureDefinition", url, title, says),
        "kind": "complex-type",
        "abstract": False,
        "context": [{"type": "element", "expression": kind} for kind in where],
        "type": "Extension",
        "baseDefinition": "http://hl7.org/fhir/StructureDefinition/Extension",
        "derivation": "constraint",
        "differential": {"element": elements},
    }


def _element(path: str, /, **more: Any) -> Json:
    return {"id": path, "path": path, **more}


def _plain(url: str, title: str, says: str, kind: str, where: Iterable[str]) -> Json:
    elements = [
        _element("Extension", short=title, definition=says),
        _element("Extension.extension", max="0"),
        _element("Extension.url", fixedUri=url),
        _element("Extension.value[x]", min=1, type=[{"code": kind}]),
    ]
    return _structure(url, title, says, where, elements)


def _record() -> Json:
    """The facts that R4 has no plain place for, each by its own name in the record."""
    says = (
        "Facts of the record that R4 has no plain place for, each a part whose url is its name there; "
        "a structured one is JSON text after “json:”. The names are those of the record's JSON Schema."
    )
    elements = [
        _element("Extension", short="Facts of the record", definition=says),
        _element("Extension.extension", definition="One fact."),
        _element("Extension.url", fixedUri=codes.RECORD),
        _element("Extension.value[x]", max="0"),
    ]
    return _structure(codes.RECORD, "Facts of the record", says, ["Patient"], elements)
