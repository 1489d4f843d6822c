"""The unit's equipment: is what a plan demands here, and is it rated for this patient?"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any, Final, Self

from mobicard.derive.model import Conflict, Gear
from mobicard.facts import Record
from mobicard.facts.lines import LineKind
from mobicard.facts.toml_text import read_toml
from mobicard.facts.units import both_masses, read_mass
from mobicard.facts.words import Equipment, WeightBearing

UNRATED: Final = frozenset({Equipment.GAIT_BELT})
"""Classes that carry no patient's weight, so need no rating."""

SOURCE: Final = "FDA patient-lift page: lift and sling rated for the weight, never above the lowest part"


class InventoryRefused(ValueError):  # noqa: N818 - said to people as a refusal, not as an error
    """An inventory that cannot be read; the message says which entry and what to write."""


@dataclass(frozen=True, slots=True)
class Device:
    """One kind of equipment on the unit: its class, how many, rated load (kg), and where it stands."""

    equipment: Equipment
    name: str
    count: int
    safe_load_kg: float | None
    where: str
    bariatric: bool = False

    def carries(self, weight_kg: float) -> bool:
        """Whether its safe working load is known and not below this weight; what needs no rating carries."""
        if self.equipment in UNRATED:
            return True
        return self.safe_load_kg is not None and self.safe_load_kg >= weight_kg


@dataclass(frozen=True, slots=True)
class EquipmentCheck:
    """The item chosen for each class, what cannot be had (conflicts), and sentences for the card."""

    chosen: Mapping[Equipment, Device] = field(default_factory=dict)
    conflicts: tuple[Conflict, ...] = ()
    notes: tuple[str, ...] = ()
    gear: Mapping[Equipment, Gear] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Inventory:
    """What the unit has."""

    items: tuple[Device, ...]

    @classmethod
    def from_toml(cls, text: str) -> Self:
        """An inventory from TOML text: one [[item]] each, as in the packaged inventory.toml.

        Raises InventoryRefused, naming the entry.
        """
        try:
            entries = read_toml(text)
        except tomllib.TOMLDecodeError as bad:
            raise InventoryRefused(f"the inventory is not readable as TOML: {bad}") from None
        unknown = set(entries) - {"item"}
        if unknown:
            raise InventoryRefused(f"“{min(unknown)}” is unknown in an inventory; it holds only [[item]]")
        listed = entries.get("item", [])
        if not isinstance(listed, list):
            raise InventoryRefused("write each piece of equipment under [[item]], with two brackets")
        return cls(tuple(_item(number, entry) for number, entry in enumerate(listed, start=1)))

    @classmethod
    @cache
    def default(cls) -> Self:
        """The packaged inventory: a stand-in until the unit has listed its own."""
        return cls.from_toml(files("mobicard.rules").joinpath("inventory.toml").read_text(encoding="utf-8"))

    def of(self, equipment: Equipment) -> tuple[Device, ...]:
        """The items of a class the unit has at least one of, lowest rating first, unrated last."""
        have = [item for item in self.items if item.equipment is equipment and item.count > 0]
        return tuple(sorted(have, key=lambda item: (item.safe_load_kg or float("inf"), item.name)))


def check(
    plan_equipment: Iterable[Equipment], weight_kg: float | None, inventory: Inventory | None = None
) -> EquipmentCheck:
    """Match each class a plan demands with an item that is here and rated for the weight (kg).

    A patient too heavy for the usual item gets the next higher rated one, said aloud in ``notes``; where none
    is rated or none is here a conflict says what to ask for. Without a weight no rating can be checked.
    """
    stock = inventory or Inventory.default()
    chosen: dict[Equipment, Device] = {}
    conflicts: list[Conflict] = []
    notes: list[str] = []
    gear: dict[Equipment, Gear] = {}
    for equipment in sorted(set(plan_equipment), key=lambda item: item.rank):
        item, conflict, note = _match(equipment, weight_kg, stock)
        if item is not None:
            chosen[equipment] = item
        gear[equipment] = _gear(equipment, item or next(iter(stock.of(equipment)[::-1]), None), weight_kg)
        conflicts += [conflict] if conflict else []
        notes += [note] if note else []
    return EquipmentCheck(chosen, tuple(conflicts), tuple(notes), gear)


def _gear(equipment: Equipment, item: Device | None, weight_kg: float | None) -> Gear:
    """What the unit has of a class; the highest rated piece where none is rated for the weight."""
    if item is None:
        return Gear("", None, "", cleared=False)
    cleared = equipment in UNRATED or (weight_kg is not None and item.carries(weight_kg))
    return Gear(item.name, item.safe_load_kg, item.where, cleared)


@lru_cache(maxsize=4096)
def has_rated(equipment: Equipment, weight_kg: float | None, inventory: Inventory | None = None) -> bool:
    """Whether the unit has this equipment rated for the weight (kg); has it at all where none is known."""
    have = (inventory or Inventory.default()).of(equipment)
    return bool(have) and (weight_kg is None or any(item.carries(weight_kg) for item in have))


def _match(
    equipment: Equipment, weight_kg: float | None, stock: Inventory
) -> tuple[Device | None, Conflict | None, str | None]:
    have, name = stock.of(equipment), words(equipment)
    if not have:
        rated = weight_kg is not None and equipment not in UNRATED
        asked = f"one rated for at least {both_masses(weight_kg or 0)}" if rated else "one"
        return None, Conflict(f"No {name} on the unit: ask for {asked}.", ("inventory",)), None
    if equipment in UNRATED:
        return have[0], None, None
    if weight_kg is None:
        return have[0], None, f"Weight not recorded: the rating of the {name} was not checked."
    for item in have:
        if item.carries(weight_kg):
            return item, None, _changed(item, have[0], name)
    return None, _none_rated(have, name, weight_kg), None


def _changed(item: Device, usual: Device, name: str) -> str | None:
    if item is usual:
        return None
    where = f" ({item.where})" if item.where else ""
    rated = both_masses(item.safe_load_kg or 0)
    return f"Too heavy for the usual {name}: use the {item.name}, rated {rated}{where}."


def _none_rated(have: tuple[Device, ...], name: str, weight_kg: float) -> Conflict:
    rated = [item.safe_load_kg for item in have if item.safe_load_kg is not None]
    most = f"rated only to {both_masses(max(rated))}" if rated else "of no recorded rating"
    return Conflict(
        f"The {name} on the unit is {most}, the patient weighs {both_masses(weight_kg)}: "
        f"ask for a bariatric {name} rated for it.",
        ("weight_kg", "inventory"),
    )


WORDS: Final = {
    Equipment.GAIT_BELT: "gait belt",
    Equipment.SEATED_TRANSFER_AID: "seated transfer board",
    Equipment.LATERAL_TRANSFER_AID: "lateral transfer aid",
    Equipment.FRICTION_REDUCING_SHEET: "friction-reducing sheet",
    Equipment.POWERED_STANDING_AID: "powered standing aid",
    Equipment.FULL_BODY_LIFT: "full-body lift",
    Equipment.AIR_ASSISTED_LATERAL_DEVICE: "air-assisted lateral device",
    Equipment.REPOSITIONING_SLING: "repositioning sling",
    Equipment.SUPINE_SLING: "supine sling",
    Equipment.FLAT_LIFT: "flat-lifting device or scoop",
    Equipment.FRONT_WHEELED_WALKER: "front-wheeled walker",
    Equipment.PLATFORM_WALKER: "platform walker",
    Equipment.FOUR_WHEELED_WALKER: "four-wheeled walker",
    Equipment.CRUTCHES: "pair of crutches",
    Equipment.CANE: "cane",
    Equipment.WHEELCHAIR: "wheelchair",
}


def words(equipment: Equipment) -> str:
    """The class in ward words, such as ``full-body lift``."""
    return WORDS[equipment]


# -- Reading an inventory ---------------------------------------------------------------------------------

_KEYS: Final = {"class", "name", "count", "safe_load", "safe_load_kg", "where", "bariatric"}


def _item(number: int, entry: Any) -> Device:
    at = f"inventory item {number}"
    if not isinstance(entry, dict):
        raise InventoryRefused(f"{at} is not a set of named facts")
    unknown = set(entry) - _KEYS
    if unknown:
        raise InventoryRefused(f"{at}: “{min(unknown)}” is unknown; write {', '.join(sorted(_KEYS))}")
    equipment = _class(at, entry.get("class"))
    count = entry.get("count", 1)
    if not isinstance(count, int) or isinstance(count, bool) or count < 0:
        raise InventoryRefused(f"{at}: “count” is a whole number from 0, not {count}")
    name, where = entry.get("name", words(equipment)), entry.get("where", "")
    if not isinstance(name, str) or not isinstance(where, str):
        raise InventoryRefused(f"{at}: “name” and “where” are text in quotes")
    bariatric = entry.get("bariatric", False)
    if not isinstance(bariatric, bool):
        raise InventoryRefused(f"{at}: “bariatric” is true or false")
    return Device(equipment, name, count, _safe_load(at, entry), where, bariatric)


def _class(at: str, value: object) -> Equipment:
    try:
        return Equipment(str(value))
    except ValueError:
        raise InventoryRefused(f"{at}: “{value}” is no class; write one of {', '.join(Equipment)}") from None


def _safe_load(at: str, entry: Mapping[str, Any]) -> float | None:
    if "safe_load" in entry and "safe_load_kg" in entry:
        raise InventoryRefused(f"{at}: both “safe_load” and “safe_load_kg” are given; keep one")
    value = entry.get("safe_load_kg")
    if "safe_load" in entry:
        try:
            value = read_mass(str(entry["safe_load"]))
        except ValueError as bad:
            raise InventoryRefused(f"{at}: {bad}") from None
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value <= 1000:
        raise InventoryRefused(f"{at}: a safe working load of {value} kg cannot be; copy it from the label")
    return float(value)


def seat_sling(record: Record) -> str:
    """The kind of sling that lifts this patient to a seat."""
    absent = any(order.status is WeightBearing.ABSENT_LIMB for order in record.weight_bearing.values())
    held = "head-support " if record.has_line(LineKind.AIRWAY) else ""
    return f"{held}amputee sling, never split-leg" if absent else f"{held}sling of the lift's maker"
