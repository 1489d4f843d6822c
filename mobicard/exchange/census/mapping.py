"""Which column of a bed list holds which fact: by its heading, or by a small TOML file.

A mapping file says only what the headings do not say by themselves::

    [columns]                          # heading as it stands in the file
    bed = "{Unit}-{Room}{Bed}"         # or one heading: bed = "Location"
    visit = "Account No"
    [options]
    weight_unit = "lb"                 # kg | lb, for figures without a unit
    dates = "dmy"                      # dmy | mdy, for 03/04/2026
    [words]                            # the file's own words in its status column
    discharge = ["heimgegangen"]
    empty = ["frei"]
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from mobicard.facts.toml_text import read_toml

FACTS = (
    "bed", "unit", "room", "label", "name", "first_name", "visit", "weight", "status",
    "from_bed", "admitted_at", "discharged_at",
)  # fmt: skip
"""What a census column can hold."""

_HEADINGS: dict[str, str] = {
    "bed": "bed|bed id|bed no|bed number|bed label|bedspace|bed space|to bed|new bed|current bed|room bed"
    "|rm bed|unit room bed|location|bett|bettplatz|bettnr|lit|cama|letto",
    "unit": "unit|ward|nursing unit|nurs unit|point of care|dept|department|floor|station|abteilung"
    "|unidad|planta|servicio",
    "room": "room|rm|room no|room number|zimmer|zimmernr|habitacion|hab|chambre",
    "label": "label|alias|initials|pt initials|patient initials|pseudonym|kurzel|initialen|iniciales",
    "name": "name|patient name|pt name|patient|pt|last name|surname|family name|nachname|familienname"
    "|paciente|apellido|apellidos|nom",
    "first_name": "first name|given name|firstname|forename|vorname|nombre|prenom",
    "visit": "visit key|visit|visit id|visit no|visit number|encounter|encounter id|encounter no"
    "|encounter number|csn|stay|stay id|account|account no|account number|acct|acct no|fin|case|case no"
    "|case number|patient id|pt id|mrn|medical record number|fallnummer|fallnr|fall nr"
    "|aufnahmenummer|episodio|numero de episodio",
    "weight": "weight|wt|body weight|gewicht|peso|poids",
    "status": "status|event|action|adt|adt event|bed status|change|movement|estado|bettstatus|statut",
    "from_bed": "from bed|prior bed|previous bed|old bed|prior location|previous location"
    "|transferred from|from",
    "admitted_at": "admitted|admitted at|admit date|admission date|admit dt|admit date time|admit time"
    "|adm date|admission",
    "discharged_at": "discharged|discharged at|discharge date|disch date|discharge date time"
    "|discharge time|dc date",
}
"""Headings as compared by ``heading_key``, the surest first: of two that fit, the surer one is used."""

_WORDS: dict[str, str] = {
    "discharge": "discharge|discharged|disch|dc|d c|a03|left|gone|deceased|transferred out|ama|entlassen"
    "|entlassung|verstorben|alta|alta medica|egreso|egresado|fallecido|sorti|sortie|decede",
    "empty": "empty|vacant|available|avail|open|free|clean|dirty|cleaning|blocked|closed|unoccupied|reserved"
    "|frei|leer|gesperrt|gereinigt|reinigung|reserviert|unbelegt|libre|vacio|vacia|vacante|disponible"
    "|limpia|sucia|limpieza|bloqueada|desocupada|vide",
    "present": "admit|admitted|admission|adm|a01|a02|a08|in|inpatient|observation|obs|occupied|present"
    "|transfer|transferred|transferred in|move|moved|update|same|active|current|yes"
    "|belegt|besetzt|aufgenommen|aufnahme|stationar|ocupada|ocupado|ingresado|ingreso|occupe|occupee",
}


class MappingRefused(ValueError):  # noqa: N818 - said to people as a refusal
    """A mapping file that cannot be used; the text says what stands there and what to write."""


@dataclass(frozen=True, slots=True)
class CensusMapping:
    """What a mapping file says. ``CensusMapping()`` leaves everything to the headings."""

    columns: Mapping[str, str] = field(default_factory=dict)
    weight_unit: str | None = None
    dates: str | None = None
    delimiter: str | None = None
    encoding: str | None = None
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    only: str | None = None
    """The one unit that is meant; said on the command line, not in the file."""

    @classmethod
    def from_toml(cls, text: str) -> CensusMapping:
        """A mapping from TOML text. Raises MappingRefused with the key that cannot be used."""
        try:
            data = read_toml(text)
        except tomllib.TOMLDecodeError as wrong:
            raise MappingRefused(f"the mapping file is not TOML: {wrong}") from None
        _only(data, ("columns", "options", "words"), "the mapping file")
        columns = _table(data, "columns")
        _only(columns, FACTS, "[columns]")
        options = _table(data, "options")
        _only(options, ("weight_unit", "dates", "delimiter", "encoding"), "[options]")
        words = _table(data, "words")
        _only(words, tuple(_WORDS), "[words]")
        for place, table in (("columns", columns), ("options", options)):
            for key, value in table.items():
                if not isinstance(value, str):
                    raise MappingRefused(f"{place}.{key} is {value!r}; write it as text in quotation marks")
        _choice(options, "weight_unit", ("kg", "lb"))
        _choice(options, "dates", ("dmy", "mdy"))
        return cls(
            columns=columns, words={key: _texts(key, value) for key, value in words.items()}, **options
        )

    def state_of(self, word: str) -> str | None:
        """``present``, ``discharge`` or ``empty`` for a word of the status column; None when unknown."""
        known = heading_key(word)
        for state, own in self.words.items():
            if known in {heading_key(each) for each in own}:
                return state
        return _STATE_OF.get(known)


def heading_key(text: str) -> str:
    """A heading or word as compared: no accents, no case, punctuation as single spaces."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().casefold()
    return re.sub(r"[^a-z0-9{}]+", " ", plain).strip()


_FACT_OF = {
    heading: (fact, rank)
    for fact, names in _HEADINGS.items()
    for rank, heading in enumerate(names.split("|"))
}
_STATE_OF = {word: state for state, words in _WORDS.items() for word in words.split("|")}


def means_empty(word: str) -> bool:
    """Whether a word, as ``heading_key`` gives it, says that nobody lies there."""
    return _STATE_OF.get(word) == "empty"


def columns_by_heading(headings: Sequence[str]) -> dict[str, int]:
    """Fact -> column for headings that say by themselves what they hold."""
    found: dict[str, tuple[int, int]] = {}
    for place, heading in enumerate(headings):
        key = heading_key(heading)
        without_unit = re.sub(r" (in )?(kg|kgs|lb|lbs|pounds|kilos?)$", "", key)
        fact, rank = _FACT_OF.get(key) or _FACT_OF.get(without_unit) or ("", 0)
        if fact and (fact not in found or rank < found[fact][0]):
            found[fact] = (rank, place)
    return {fact: place for fact, (_, place) in found.items()}


def unit_in_heading(heading: str) -> str | None:
    """``kg`` or ``lb`` when a weight's heading says which."""
    words = heading_key(heading).split()
    if {"lb", "lbs", "pounds"} & set(words):
        return "lb"
    return "kg" if {"kg", "kgs", "kilos", "kilo"} & set(words) else None


def _table(data: Mapping[str, Any], key: str) -> dict[str, Any]:
    table = data.get(key, {})
    if not isinstance(table, dict):
        raise MappingRefused(f"{key} is {table!r}; write it as a table, starting with a line [{key}]")
    return table


def _only(table: Mapping[str, Any], known: Sequence[str], where: str) -> None:
    for key in table:
        if key not in known:
            raise MappingRefused(f"“{key}” is not known in {where}; known are {', '.join(known)}")


def _choice(options: Mapping[str, str], key: str, known: Sequence[str]) -> None:
    if key in options and options[key] not in known:
        raise MappingRefused(f"options.{key} is “{options[key]}”; write {' or '.join(known)}")


def _texts(key: str, value: Any) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(each, str) for each in value):
        raise MappingRefused(f'words.{key} is {value!r}; write a list of words, like ["gone"]')
    return tuple(value)
