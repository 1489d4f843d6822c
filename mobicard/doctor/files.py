"""Checks of the facility's own files: policy, scheme, inventory, instruments, phrases, staff, templates."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from difflib import get_close_matches
from pathlib import Path
from typing import TypeVar
from zoneinfo import ZoneInfo

from pydantic import ValidationError

from mobicard import inflow
from mobicard.derive import fall_risk
from mobicard.derive.equipment import UNRATED, Inventory, InventoryRefused
from mobicard.derive.instrument import Instrument, InstrumentRefused
from mobicard.doctor.finding import Finding, fail, ok, warn
from mobicard.doctor.subject import Setup
from mobicard.facts import problems_of
from mobicard.facts.words import Equipment
from mobicard.hands.supply import Span, SupplyRefused, read_staff
from mobicard.paper.phrases import Phrases, PhrasesRefused
from mobicard.rules.policy import Policy
from mobicard.ward.station.settings import SettingsRefused, own_files

T = TypeVar("T")

_DAY = timedelta(days=1)
_KEEP = "until then commands that need it stop with this sentence; nothing recorded is touched"


def policy(setup: Setup) -> Iterator[Finding]:
    """The numbers a facility may set."""
    read = _read("policy", setup.policy, Policy.from_toml, Policy)
    if isinstance(read, Finding):
        yield read
        return
    zone = read.shift.timezone
    if zone and not _zone_known(zone):
        yield fail(
            "policy",
            f"{_place(setup.policy)}: shift.timezone “{zone}” is no time zone this machine knows",
            "write a name like America/Chicago, or install tzdata",
        )
    elif len(set(read.shift.starts)) < len(read.shift.starts) or not read.shift.starts:
        yield fail(
            "policy",
            f"{_place(setup.policy)}: shift.starts must be different times, at least one",
            'write when each shift starts, like starts = ["07:00", "19:00"]',
        )
    else:
        yield ok("policy", f"{_place(setup.policy)} is read")
    if eased := list(_eased(read)):
        yield warn(
            "policy",
            f"{_place(setup.policy)} is less cautious than the default: {'; '.join(eased)}",
            "keep it only if the facility has decided so; each default's source stands in the packaged file",
        )


def ward_zone(setup: Setup) -> ZoneInfo | None:
    """The zone the policy names; None leaves it to the machine."""
    read = _read("policy", setup.policy, Policy.from_toml, Policy)
    name = None if isinstance(read, Finding) else read.shift.timezone
    return ZoneInfo(name) if name and _zone_known(name) else None


_MORE_IS_LESS_CAUTIOUS = (
    "shift.grace_min", "shift.validity_shifts", "loads.helper_limit_lb", "handling.manual_max_helpers",
    "handling.standing_max_helpers",
    "handling.heavy_lb", "weight_bearing.touch_kg", "vitals.drop_sbp", "vitals.drop_dbp",
    "head_watch.early_min", "head_watch.every_min",
)  # fmt: skip
_LESS_IS_LESS_CAUTIOUS = (
    "handling.lift_helpers", "handling.lift_helpers_heavy", "handling.log_roll_spinal",
    "handling.log_roll_cervical", "handling.floor_by_hand", "handling.floor_flat",
    "head_watch.lasts_min",
)  # fmt: skip


def _eased(policy: Policy) -> Iterator[str]:
    """Values that ask for less help than the packaged default, each with both figures."""
    packaged = Policy()
    for name in (*_MORE_IS_LESS_CAUTIOUS, *_LESS_IS_LESS_CAUTIOUS):
        section, _, key = name.partition(".")
        for own, usual in zip(*(_figures(each, section, key) for each in (policy, packaged)), strict=True):
            if own > usual if name in _MORE_IS_LESS_CAUTIOUS else own < usual:
                yield f"{name} {own:g} (default {usual:g})"


def _figures(policy: Policy, section: str, key: str) -> tuple[float, ...]:
    value = getattr(getattr(policy, section), key)
    return value if isinstance(value, tuple) else (value,)


def scheme(setup: Setup) -> Iterator[Finding]:
    """Level words, colours and shapes, held to the thresholds."""
    from mobicard.scheme import SchemeRefused, load

    try:
        read = _read("scheme", setup.scheme, load, load)
    except SchemeRefused as refused:
        short = "; ".join([*refused.problems, *(str(figure) for figure in refused.figures)][:4])
        yield fail(
            "scheme",
            f"{_place(setup.scheme)}: {short}",
            "change those colours or words, or take the lines out to have the house scheme again",
        )
        return
    yield read if isinstance(read, Finding) else ok("scheme", f"{_place(setup.scheme)} meets every threshold")


def inventory(setup: Setup) -> Iterator[Finding]:
    """What equipment the unit has, and whether it is rated."""
    read = _read("inventory", setup.inventory, Inventory.from_toml, Inventory.default)
    if isinstance(read, Finding):
        yield read
        return
    if setup.inventory is None:
        yield warn(
            "inventory",
            "the packaged list stands in for the unit's own equipment",
            f"list what the unit has in {setup.config_dir / 'inventory.toml'}, with each safe working load",
        )
        return
    yield ok("inventory", f"{setup.inventory}: {len(read.items)} kinds of equipment")
    if not read.of(Equipment.FULL_BODY_LIFT):
        yield warn(
            "inventory",
            f"{setup.inventory} has no full-body lift",
            "plans that need one will say so as a conflict; list it, or where to borrow one",
        )
    unrated = [
        item.name for item in read.items if item.safe_load_kg is None and item.equipment not in UNRATED
    ]
    if unrated:
        yield warn(
            "inventory",
            f"no safe working load for {', '.join(unrated[:6])}",
            "write it from the plate on the device; unrated equipment is never chosen for a known weight",
        )


def instruments(setup: Setup) -> Iterator[Finding]:
    """The facility's own fall-risk instruments, one TOML file each."""
    seen: dict[str, Path] = {}
    own = _own("instruments", setup, Instrument.from_toml)
    if isinstance(own, Finding):
        yield own
        return
    for path, read in own:
        if isinstance(read, Finding):
            yield read
        elif read.id in seen:
            yield fail(
                "instruments",
                f"{path} and {seen[read.id]} both call themselves “{read.id}”",
                "give one of them another id, or take it away",
            )
        else:
            seen[read.id] = path
            yield _one_instrument(path, read)
    if not seen:
        yield ok("instruments", f"the packaged ones: {', '.join(fall_risk.PACKAGED)}")


def _own(what: str, setup: Setup, from_toml: Callable[[str], T]) -> list[tuple[Path, T | Finding]] | Finding:
    """The facility's own files of one kind, each read, or the finding why not; of the folder, if hidden."""
    folder = setup.config_dir / what
    try:
        return [(path, _read(what, path, from_toml, None)) for path in own_files(folder)]
    except SettingsRefused as hidden:
        return fail(what, str(hidden), f"chmod a+rx {folder}")


def _one_instrument(path: Path, read: Instrument) -> Finding:
    if read.id in fall_risk.PACKAGED:
        return warn(
            "instruments",
            f"{path} takes the place of the packaged instrument “{read.id}”",
            "if that is not meant, give it another id",
        )
    lowest = min(band.least for band in read.bands)
    if lowest > 0:
        return fail(
            "instruments",
            f"{path}: no band below {lowest} points, so a low score has no name",
            "add a band with least = 0",
        )
    return ok("instruments", f"{path}: {read.name}")


def phrases(setup: Setup) -> Iterator[Finding]:
    """The facility's own lines for the patient, one TOML file a language."""
    seen: dict[str, Path] = {}
    own = _own("phrases", setup, Phrases.from_toml)
    if isinstance(own, Finding):
        yield own
        return
    for path, read in own:
        if isinstance(read, Finding):
            yield read
        elif read.language in seen:
            says = f"{path} and {seen[read.language]} are both for “{read.language}”"
            yield fail("phrases", says, "keep one of them")
        elif read.checked_by is None:
            says = f"{path}: nobody is named who checked the translation; cards say so"
            yield warn("phrases", says, "have it checked and write checked_by")
        else:
            yield ok("phrases", f"{path}: {read.name}, checked by {read.checked_by}")
        if not isinstance(read, Finding):
            seen.setdefault(read.language, path)
    if not seen:
        yield ok("phrases", "the packaged patient lines; their translations are marked for checking")


def staff(setup: Setup) -> Iterator[Finding]:
    """The shift's people, where a staff list is kept."""
    if setup.staff is None:
        return
    day = datetime(2026, 1, 1)  # any day: only what the list says is looked at
    try:
        read = _read("staff list", setup.staff, lambda text: read_staff(text, Span(day, day + _DAY)), None)
    except SupplyRefused as refused:
        read = fail("staff list", f"{setup.staff}: {refused}", "correct that line")
    if isinstance(read, Finding):
        yield read
    elif read.problems:
        yield fail("staff list", f"{setup.staff}: {'; '.join(read.problems[:4])}", "correct those lines")
    else:
        yield ok("staff list", f"{setup.staff}: {len(read.staff)} people")


_LOOKED_FOR = ("policy.toml", "scheme.toml", "inventory.toml", "staff.toml")


def folder(setup: Setup) -> Iterator[Finding]:
    """Files in the facility's folder that nothing looks for: most often a misspelt name."""
    named = {path.name for path in (setup.policy, setup.scheme, setup.inventory, setup.staff) if path}
    for path in sorted(setup.config_dir.glob("*.toml")):
        if path.name not in {*_LOOKED_FOR, *named}:
            near = get_close_matches(path.name, _LOOKED_FOR, n=1)
            hint = f"rename it {near[0]}" if near else f"looked for are {', '.join(_LOOKED_FOR)}"
            yield warn("folder", f"{path} is not read: nothing looks for that name", hint)


_SIGNATURES = {".woff2": (b"wOF2",), ".ttf": (b"\x00\x01\x00\x00", b"OTTO", b"true")}


def templates(setup: Setup) -> Iterator[Finding]:
    """The page templates: all there, and each one readable as a template."""
    folder = _template_folder(setup)
    if isinstance(folder, Finding):
        yield folder
        return
    from jinja2 import Environment, FileSystemLoader, TemplateSyntaxError

    from mobicard.paper.door.drawn import is_the_page

    missing = _missing_pages(folder)
    if missing:
        yield fail(
            "templates",
            f"{folder}: {', '.join(missing)} {'is' if len(missing) == 1 else 'are'} missing",
            "put the file back from the package, or install mobicard again",
        )
    environment = Environment(loader=FileSystemLoader(folder), autoescape=True)
    broken = False
    for path in sorted([*folder.glob("*.html"), *folder.glob("*.css")]):
        try:
            environment.get_template(path.name)
        except TemplateSyntaxError as wrong:
            broken = True
            yield fail(
                "templates",
                f"{wrong.filename or path}, line {wrong.lineno}: {wrong.message}",
                "correct that line, or put the packaged file back",
            )
        except UnicodeDecodeError:
            broken = True
            yield fail("templates", f"{path} is not UTF-8 text", "save it as UTF-8")
    if not missing and not broken:
        how = "drawn straight into the PDF" if is_the_page(folder) else "changed, so laid out"
        yield ok("templates", f"{folder}: every page is there and can be filled; door.html is {how}")


_NAMES_ANOTHER = re.compile(r"{%-?\s*(?:extends|include|import|from)\s+[\"']([^\"']+)[\"']")


def _missing_pages(folder: Path) -> list[str]:
    """The pages that are not there, and the parts that those which are there name."""
    from mobicard.paper.templates import PAGES

    wanted = list(PAGES)
    for name in wanted:
        if (folder / name).is_file():
            text = (folder / name).read_text(encoding="utf-8", errors="replace")
            wanted += [part for part in _NAMES_ANOTHER.findall(text) if part not in wanted]
    return [name for name in wanted if not (folder / name).is_file()]


def fonts(setup: Setup) -> Iterator[Finding]:
    """The carried fonts: without any font the page library would stop dead."""
    folder = _template_folder(setup)
    if isinstance(folder, Finding):
        return
    found = [path for path in sorted((folder / "fonts").glob("*")) if path.suffix in _SIGNATURES]
    bad = [path.name for path in found if not path.read_bytes()[:4].startswith(_SIGNATURES[path.suffix])]
    if not found or bad:
        yield fail(
            "fonts",
            f"{folder / 'fonts'}: {'no font file' if not found else ', '.join(bad) + ' is no font'}",
            "install mobicard again; its fonts come with it",
        )
    else:
        yield ok("fonts", f"{len(found)} font files come with the pages")


def _template_folder(setup: Setup) -> Path | Finding:
    from mobicard.paper.templates import folder

    if setup.templates is not None:
        if setup.templates.is_dir():
            return setup.templates
        return fail("templates", f"{setup.templates} is no folder", "check the path")
    try:
        return folder()
    except FileNotFoundError as gone:
        return fail("templates", str(gone), "install mobicard again")


def _read(
    what: str, path: Path | None, read: Callable[[str], T], default: Callable[[], T] | None
) -> T | Finding:
    """What the file says, or the finding why not; the packaged default where no file is named."""
    try:
        if path is None:
            assert default is not None
            return default()
        return read(inflow.read_text(path))
    except OSError as gone:
        says, do = f"{path}: cannot be read ({gone.strerror})", "check the path and who may read it"
    except UnicodeDecodeError:
        says, do = f"{path}: is not UTF-8 text", "save it as UTF-8"
    except tomllib.TOMLDecodeError as broken:
        says, do = f"{path}: is not TOML: {broken}", "correct that line; text stands in quotation marks"
    except ValidationError as refused:
        said = "; ".join(str(problem) for problem in problems_of(refused)[:4])
        says, do = f"{_place(path)}: {said}", f"correct or take out that line; {_KEEP}"
    except InventoryRefused as bad:
        says, do = f"{path}: {bad}", f"correct that entry; {_KEEP}"
    except (InstrumentRefused, PhrasesRefused) as bad:
        says, do = f"{path}: {bad}", f"correct that place; {_KEEP}"
    return fail(what, says, do)


def _zone_known(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        return False
    return True


def _place(path: Path | None) -> str:
    return str(path) if path else "the packaged default"
