"""The facility's own files (policy, scheme, inventory, instruments, phrases), read or refused in words."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar
from zoneinfo import ZoneInfo

from platformdirs import user_config_path
from pydantic import ValidationError

from mobicard import inflow
from mobicard.facts import problems_of
from mobicard.facts.toml_text import read_toml
from mobicard.rules.policy import Policy

if TYPE_CHECKING:
    from mobicard.derive.equipment import Inventory
    from mobicard.paper.phrases import Phrases
    from mobicard.scheme import Scheme

T = TypeVar("T")


class SettingsRefused(Exception):  # noqa: N818 - said to people as a refusal
    """A facility file that cannot be used: which file, where in it, what to do."""

    def __init__(self, path: Path, says: str) -> None:
        self.path, self.says = path, says
        super().__init__(f"{path}: {says}")


@dataclass(frozen=True)
class Settings:
    """What a station works with. Paths that are None mean the packaged defaults."""

    config_dir: Path
    policy_path: Path | None = None
    scheme_path: Path | None = None
    inventory_path: Path | None = None
    staff_path: Path | None = None
    ledger_url: str | None = None
    _kept: dict[str, object] = field(default_factory=dict, repr=False, compare=False)

    @classmethod
    def found(
        cls,
        *,
        config_dir: Path | None = None,
        policy: Path | None = None,
        scheme: Path | None = None,
        inventory: Path | None = None,
        staff: Path | None = None,
        ledger: str | None = None,
        unit: str | None = None,
    ) -> Settings:
        """Settings from what was named, else the folder ``$MOBICARD_CONFIG`` (or the user's own).

        What lies in the folder's ``units/UNIT`` goes before what lies in the folder itself.

        Raises SettingsRefused where it cannot be seen whether the facility has files of its own.
        """
        named = os.environ.get("MOBICARD_CONFIG")
        folder = config_dir or (Path(named) if named else user_config_path("mobicard", appauthor=False))

        def pick(given: Path | None, name: str) -> Path | None:
            return given or (own and _own_file(own / name)) or _own_file(folder / name)

        own = unit_folders(folder).get(unit.casefold()) if unit else None

        return cls(
            folder,
            pick(policy, "policy.toml"),
            pick(scheme, "scheme.toml"),
            pick(inventory, "inventory.toml"),
            pick(staff, "staff.toml"),
            ledger,
        )

    @property
    def policy(self) -> Policy:
        """The facility's policy over the defaults, its own instruments in it. Raises SettingsRefused."""
        return self._once("policy", self._policy)

    @property
    def stock(self) -> str:
        """The paper this facility prints on: “a4” or “letter”. Raises SettingsRefused."""
        named = self.policy.door.stock
        return named if named != "locale" else _common_paper(os.environ)

    @property
    def scheme(self) -> Scheme:
        """The house scheme, or the facility's if it meets the thresholds. Raises SettingsRefused."""
        from mobicard import scheme

        return self._once("scheme", lambda: self._read(self.scheme_path, scheme.load, scheme.load))

    @property
    def inventory(self) -> Inventory:
        """The unit's equipment. Raises SettingsRefused."""
        from mobicard.derive.equipment import Inventory

        return self._once(
            "inventory", lambda: self._read(self.inventory_path, Inventory.from_toml, Inventory.default)
        )

    @property
    def phrases(self) -> Mapping[str, Phrases]:
        """The facility's own patient lines, ``phrases/*.toml``, by language. Raises SettingsRefused."""
        return self._once("phrases", self._phrases)

    def _phrases(self) -> Mapping[str, Phrases]:
        from mobicard.paper.phrases import Phrases

        own: dict[str, Phrases] = {}
        for path in own_files(self.config_dir / "phrases"):
            read = self._read(path, Phrases.from_toml, None)
            if read.language in own:
                raise SettingsRefused(path, f"there are lines for “{read.language}” in another file already")
            own[read.language] = read
        return own

    def _policy(self) -> Policy:
        policy = self._read(self.policy_path, Policy.from_toml, Policy)
        _check_zone(self.policy_path, policy)
        own: dict[str, Any] = {}
        for path in own_files(self.config_dir / "instruments"):
            table = self._read(path, _instrument_table, None)
            own[str(table.get("id", path.stem))] = table
        if not own:
            return policy
        falls = policy.fall_risk
        known = {**falls.instruments, **own}
        return policy.model_copy(update={"fall_risk": falls.model_copy(update={"instruments": known})})

    def _once(self, name: str, make: Callable[[], T]) -> T:
        if name not in self._kept:
            self._kept[name] = make()
        return self._kept[name]  # type: ignore[return-value]

    def _read(self, path: Path | None, read: Callable[[str], T], default: Callable[[], T] | None) -> T:
        if path is None:
            assert default is not None
            return default()
        try:
            return read(inflow.read_text(path))
        except OSError as gone:
            raise SettingsRefused(path, f"cannot be read ({gone.strerror}); check the path") from None
        except UnicodeDecodeError:
            raise SettingsRefused(path, "is not UTF-8 text; save it as UTF-8") from None
        except tomllib.TOMLDecodeError as broken:
            raise SettingsRefused(path, f"is not valid TOML: {broken}") from None
        except ValidationError as refused:
            says = "; ".join(str(problem) for problem in problems_of(refused))
            raise SettingsRefused(path, says) from None
        except ValueError as refused:
            raise SettingsRefused(path, str(refused)) from None


def _common_paper(environ: Mapping[str, str]) -> str:
    """The paper common in the land the locale names; A4 where it names none."""
    from mobicard.paper.sheet_sizes import LETTER_LANDS

    name = next((environ[key] for key in ("LC_ALL", "LC_PAPER", "LANG") if environ.get(key)), "")
    land = re.match(r"[A-Za-z]{2,3}_([A-Z]{2})", name)
    return "letter" if land and land[1] in LETTER_LANDS else "a4"


def _own_file(path: Path) -> Path | None:
    """The path where something is there. A policy that is only hidden must not pass for none."""
    try:
        path.stat()
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as hidden:
        raise _hidden(path, hidden) from None
    return path


def unit_folders(folder: Path) -> dict[str, Path]:
    """The folders of single units in a facility's folder, by their names in small letters, in order."""
    try:
        return {path.name.casefold(): path for path in sorted((folder / "units").iterdir()) if path.is_dir()}
    except (FileNotFoundError, NotADirectoryError):
        return {}
    except OSError as hidden:
        raise _hidden(folder / "units", hidden) from None


def own_files(folder: Path) -> list[Path]:
    """The facility's own TOML files in a folder, in order. Raises SettingsRefused where they are hidden."""
    try:
        return sorted(path for path in folder.iterdir() if path.suffix == ".toml")
    except (FileNotFoundError, NotADirectoryError):
        return []
    except OSError as hidden:
        raise _hidden(folder, hidden) from None


def _hidden(path: Path, why: OSError) -> SettingsRefused:
    return SettingsRefused(
        path,
        f"cannot be looked at ({why.strerror}), so nobody knows whether the facility has set it; "
        "name a folder with --config or MOBICARD_CONFIG",
    )


def _check_zone(path: Path | None, policy: Policy) -> None:
    name = policy.shift.timezone
    try:
        ZoneInfo(name or "UTC")
    except (KeyError, ValueError, OSError):
        if path is not None and name:
            says = f"shift.timezone “{name}” is no time zone this machine knows; write a name like "
            raise SettingsRefused(path, f"{says}America/Chicago, or install tzdata") from None


def _instrument_table(text: str) -> dict[str, Any]:
    """An instrument file as a table, refused here if it does not hang together."""
    from mobicard.derive.instrument import Instrument

    Instrument.from_toml(text)
    return read_toml(text)
