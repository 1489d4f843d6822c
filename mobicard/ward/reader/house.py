"""The house: each unit's beds, people, lifts and day plan, read one unit after the other."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta
from pathlib import Path

from mobicard.facts.text import in_unit, unit_of
from mobicard.hands.house.page import House
from mobicard.hands.house.unit import Lift, UnitShift, lifts_of, unit_shift
from mobicard.hands.supply import units_of
from mobicard.ward.station.settings import Settings, SettingsRefused, unit_folders
from mobicard.ward.views import WardRefused
from mobicard.ward.ward import Ward

HOLDS = timedelta(minutes=30)
"""How long the page may lie about: by then lifts have changed places. Common practice, no source."""


def house_of(ward: Ward) -> House:
    """Every unit that has an occupied bed or a folder of its own. Raises LedgerError."""
    folders = unit_folders(ward.settings.config_dir)
    beds = list(ward.ledger.places().values())
    counted = Counter(_unit(bed, folders) for bed in beds)
    names = sorted({name for name in counted if name} | {path.name for path in folders.values()})
    told = [_one(ward, name, folders.get(name.casefold())) for name in names]
    here = f"{ward.settings.config_dir / 'units'}/UNIT"
    missing = [unit.unit for unit, _, _ in told if unit.why]
    says = f"What {', '.join(missing)} has is not known: write inventory.toml and staff.toml into {here}"
    notes = [*([says] if missing else []), *(note for _, _, notes in told for note in notes)]
    return House(
        ward.now,
        ward.now + HOLDS,
        tuple(unit for unit, _, _ in told),
        tuple(lift for _, lifts, _ in told for lift in lifts),
        counted[""],
        tuple(notes),
    )


def _unit(bed: str, folders: dict[str, Path]) -> str:
    """The unit with a folder whose bed it is, the longest name first; else how the bed's name begins."""
    named = [path.name for path in folders.values() if in_unit(bed, path.name)]
    return max(named, key=len, default="") or unit_of(bed)


def _one(ward: Ward, name: str, folder: Path | None) -> tuple[UnitShift, list[Lift], list[str]]:
    """One unit, by its own files; what they lack or a refusal in them is said, the others go on."""
    try:
        return _looked_at(ward, name, folder)
    except (SettingsRefused, WardRefused) as refused:
        plans = [view.plan for view in Ward(ward.ledger, ward.settings, ward.clock, unit=name).board()]
        return unit_shift(name, plans, None, None, ward.now, own=False), [], [f"{name}: {refused}"]


def _looked_at(ward: Ward, name: str, folder: Path | None) -> tuple[UnitShift, list[Lift], list[str]]:
    settings = Settings.found(config_dir=ward.settings.config_dir, unit=name) if folder else ward.settings
    unit = Ward(ward.ledger, settings, ward.clock, unit=name)
    plans, kept = [view.plan for view in unit.board()], unit.hands.kept()
    listed = _own(settings.inventory_path, folder)
    supply = unit.hands.supply() if listed and _own(settings.staff_path, folder) else None
    day = kept or (unit.hands.make(solver=False, keep=False) if supply else None)
    every = units_of(settings.inventory)[0] if listed else ()
    lifts = lifts_of(name, every, supply.units if supply else None, kept, ward.now)
    return unit_shift(name, plans, supply, day, ward.now, own=kept is not None), lifts, []


def _own(path: Path | None, folder: Path | None) -> bool:
    """Whether a file is the unit's own: what the house has once must not be counted for every unit."""
    return path is not None and folder is not None and path.parent == folder
