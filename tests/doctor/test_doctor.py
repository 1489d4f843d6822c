"""The doctor: set-ups broken on purpose, each explained, with what to do, and never a traceback."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from mobicard.doctor import Finding, Machine, Setup, files, findings_of, run_doctor, store
from mobicard.doctor.files import templates as page_checks
from mobicard.doctor.run import Check
from mobicard.facts.words import Level
from mobicard.ledger import Ledger, NewEntry, disk
from mobicard.paper import templates
from mobicard.paper.pdf import PdfUnavailable
from mobicard.ward import Settings
from tests.nobody import as_nobody

NOW = datetime(2026, 3, 2, 14, 0, tzinfo=UTC)


def healthy_machine() -> Machine:
    """A machine with everything in place, whatever the one that runs the tests has."""
    return Machine(
        page_library=lambda: None,
        find_library=lambda name: f"lib{name}.so.0",
        find_program=lambda name: f"/usr/bin/{name}",
        printers=lambda: ("ward-4w",),
        free_bytes=lambda _: 10**11,
        mounts=lambda: "/dev/sda1 / ext4 rw 0 0\n",
        terminal=lambda: (80, 24),
        encoding=lambda: "utf-8",
        environment={"TERM": "xterm-256color"},
        now=lambda: NOW,
        zone_fault=lambda: None,
    )


@pytest.fixture
def setup(tmp_path: Path) -> Setup:
    """A set-up in order: the facility's own inventory, a ledger with one entry, a machine with everything."""
    config = tmp_path / "config"
    config.mkdir()
    inventory = config / "inventory.toml"
    inventory.write_text(
        '[[item]]\nclass = "full_body_lift"\ncount = 1\nsafe_load = "440 lb"\nwhere = "bay"\n',
        encoding="utf-8",
    )
    place = tmp_path / "data" / "ledger.sqlite"
    with Ledger.open(place) as ledger:
        record = {"record": {"bed": "4W-1", "standing": "steady"}}
        ledger.append(
            NewEntry(stay="s1", kind="admit", at=NOW, by="JN", body={"bed": "4W-1", "label": "RT"}),
            NewEntry(stay="s1", kind="record", at=NOW, by="JN", body=record),
        )
    return Setup(config, inventory=inventory, ledger=str(place), machine=healthy_machine())


def worst(findings: list[Finding]) -> list[Finding]:
    return [finding for finding in findings if finding.result != "ok"]


def written(setup: Setup, name: str, text: str) -> Path:
    path = setup.config_dir / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def test_a_set_up_in_order_has_nothing_to_put_right(setup: Setup) -> None:
    assert worst(run_doctor(setup)) == []
    assert {finding.what for finding in run_doctor(setup)} >= {
        "policy",
        "scheme",
        "ledger",
        "printer",
        "fonts",
    }


def policy_not_toml(setup: Setup) -> Setup:
    return replace(setup, policy=written(setup, "policy.toml", "[shift\nstarts = 7"))


def policy_unknown_key(setup: Setup) -> Setup:
    return replace(setup, policy=written(setup, "policy.toml", "[shift]\ngrace_minutes = 10"))


def policy_gone(setup: Setup) -> Setup:
    return replace(setup, policy=setup.config_dir / "elsewhere.toml")


def policy_zone(setup: Setup) -> Setup:
    return replace(setup, policy=written(setup, "policy.toml", '[shift]\ntimezone = "Mars/Olympus"'))


def policy_no_shift(setup: Setup) -> Setup:
    return replace(setup, policy=written(setup, "policy.toml", '[shift]\nstarts = ["07:00", "07:00"]'))


def policy_eased(setup: Setup) -> Setup:
    return replace(setup, policy=written(setup, "policy.toml", "[loads]\nhelper_limit_lb = 50"))


def head_watched_less(setup: Setup) -> Setup:
    return replace(setup, policy=written(setup, "policy.toml", "[head_watch]\nevery_min = [30, 60, 240]"))


def policy_not_text(setup: Setup) -> Setup:
    path = setup.config_dir / "policy.toml"
    path.write_bytes(b"\xff\xfe\x00")
    return replace(setup, policy=path)


def scheme_too_pale(setup: Setup) -> Setup:
    return replace(setup, scheme=written(setup, "scheme.toml", '[levels.HOIST]\ncolour = "#FFFFFF"'))


def scheme_unknown_level(setup: Setup) -> Setup:
    return replace(setup, scheme=written(setup, "scheme.toml", '[levels.CARRY]\nword = "CARRY"'))


def inventory_unknown_class(setup: Setup) -> Setup:
    text = '[[item]]\nclass = "crane"\ncount = 1\nwhere = "bay"\n'
    return replace(setup, inventory=written(setup, "inventory.toml", text))


def inventory_without_lift(setup: Setup) -> Setup:
    text = '[[item]]\nclass = "gait_belt"\ncount = 4\nwhere = "drawer"\n'
    return replace(setup, inventory=written(setup, "inventory.toml", text))


def instrument_without_items(setup: Setup) -> Setup:
    written(setup, "instruments/own.toml", 'id = "own"\nname = "Own"\nsource = "us"\nlicence = "ours"\n')
    return setup


OWN = """
id = "{id}"
name = "Own"
source = "us"
licence = "ours"
bands = [{{name = "low", least = {least}}}]
[[item]]
key = "fall"
asks = "Fell?"
answers = [{{value = false, points = 0}}, {{value = true, points = 1}}]
"""


def instrument_twice(setup: Setup) -> Setup:
    written(setup, "instruments/a.toml", OWN.format(id="own", least=0))
    written(setup, "instruments/b.toml", OWN.format(id="own", least=0))
    return setup


def instrument_without_low_band(setup: Setup) -> Setup:
    written(setup, "instruments/own.toml", OWN.format(id="own", least=1))
    return setup


def instrument_takes_a_packaged_place(setup: Setup) -> Setup:
    written(setup, "instruments/own.toml", OWN.format(id="morse", least=0))
    return setup


PATIENT_LINES = "\n".join(f'{key} = "x"' for key in (*Level, "after_fall"))


def phrases_short(setup: Setup) -> Setup:
    written(setup, "phrases/pt.toml", 'language = "pt"\nname = "P"\ndirection = "ltr"\n[lines]\nSELF = "x"\n')
    return setup


def phrases_unchecked(setup: Setup) -> Setup:
    text = f'language = "pt"\nname = "P"\ndirection = "ltr"\n[lines]\n{PATIENT_LINES}\n'
    written(setup, "phrases/pt.toml", text)
    return setup


def phrases_twice(setup: Setup) -> Setup:
    text = f'language = "pt"\nname = "P"\ndirection = "ltr"\nchecked_by = "us"\n[lines]\n{PATIENT_LINES}\n'
    written(setup, "phrases/a.toml", text)
    written(setup, "phrases/b.toml", text)
    return setup


def staff_broken(setup: Setup) -> Setup:
    return replace(setup, staff=written(setup, "staff.toml", "[[staff]]\ninitials = 3\n"))


def misspelt_file(setup: Setup) -> Setup:
    written(setup, "polcy.toml", "")
    return setup


def own_templates(setup: Setup) -> Path:
    """A copy of the packaged pages to break."""
    folder = setup.config_dir / "templates"
    (folder / "fonts").mkdir(parents=True)
    for path in [*templates.folder().glob("*.*"), *templates.folder().glob("fonts/*.woff2")]:
        (folder / path.relative_to(templates.folder())).write_bytes(path.read_bytes())
    return folder


def template_broken(setup: Setup) -> Setup:
    folder = own_templates(setup)
    (folder / "door.html").write_text("<p>\n{% for card in cards %}</p>")
    return replace(setup, templates=folder)


def template_missing(setup: Setup) -> Setup:
    folder = own_templates(setup)
    (folder / "door.html").unlink()
    return replace(setup, templates=folder)


def font_broken(setup: Setup) -> Setup:
    folder = own_templates(setup)
    next((folder / "fonts").glob("*.woff2")).write_bytes(b"<html>not found</html>")
    return replace(setup, templates=folder)


def templates_gone(setup: Setup) -> Setup:
    return replace(setup, templates=setup.config_dir / "nowhere")


def ledger_damaged(setup: Setup) -> Setup:
    place = Path(str(setup.ledger))
    for beside in place.parent.glob(place.name + "-*"):
        beside.unlink()
    place.write_bytes(b"SQLite format 3\x00" + b"\x99" * 5000)
    return setup


def ledger_rewritten(setup: Setup) -> Setup:
    """Somebody changed an entry behind the program's back, triggers and all."""
    with sqlite3.connect(str(setup.ledger)) as connection:
        for (trigger,) in connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall():
            connection.execute(f"DROP TRIGGER {trigger}")
        connection.execute("UPDATE entry SET by = 'XX'")
    return setup


def ledger_address(setup: Setup) -> Setup:
    return replace(setup, ledger="mysql://ward/ledger")


def ledger_open_to_all(setup: Setup) -> Setup:
    Path(str(setup.ledger)).chmod(0o644)
    return setup


def ledger_below_a_file(setup: Setup) -> Setup:
    return replace(setup, ledger=str(written(setup, "file.txt", "") / "ledger.sqlite"))


def on(setup: Setup, **answers: Any) -> Setup:
    return replace(setup, machine=replace(setup.machine, **answers))


def ledger_on_shared_drive(setup: Setup) -> Setup:
    folder = Path(str(setup.ledger)).parent
    return on(setup, mounts=lambda: f"/dev/sda1 / ext4 rw 0 0\nserver:/x {folder} nfs4 rw 0 0\n")


def no_pango() -> object:
    raise PdfUnavailable("no")


def printer_renamed(setup: Setup) -> Setup:
    return replace(setup, printer="ward-5e")


BROKEN: list[tuple[Callable[[Setup], Setup], str, str, str, str]] = [
    (policy_not_toml, "policy", "fail", "is not TOML", "correct that line"),
    (policy_unknown_key, "policy", "fail", "grace_minutes", "correct or take out that line"),
    (policy_gone, "policy", "fail", "cannot be read (No such file", "check the path"),
    (policy_zone, "policy", "fail", "Mars/Olympus", "America/Chicago"),
    (policy_no_shift, "policy", "fail", "different times", "when each shift starts"),
    (policy_not_text, "policy", "fail", "not UTF-8", "save it as UTF-8"),
    (head_watched_less, "policy", "warn", "head_watch.every_min 240 (default 120)", "has decided so"),
    (policy_eased, "policy", "warn", "loads.helper_limit_lb 50 (default 35)", "has decided so"),
    (scheme_too_pale, "scheme", "fail", "wanted", "change those colours"),
    (scheme_unknown_level, "scheme", "fail", "CARRY", "house scheme again"),
    (inventory_unknown_class, "inventory", "fail", "crane", "correct that entry"),
    (inventory_without_lift, "inventory", "warn", "no full-body lift", "where to borrow one"),
    (lambda setup: replace(setup, inventory=None), "inventory", "warn", "stands in", "inventory.toml"),
    (instrument_without_items, "instruments", "fail", "own.toml", "correct that place"),
    (instrument_twice, "instruments", "fail", "both call themselves “own”", "another id"),
    (instrument_without_low_band, "instruments", "fail", "no band below 1", "least = 0"),
    (instrument_takes_a_packaged_place, "instruments", "warn", "takes the place", "another id"),
    (phrases_short, "phrases", "fail", "no line for NEARBY", "correct that place"),
    (phrases_unchecked, "phrases", "warn", "nobody is named", "checked_by"),
    (phrases_twice, "phrases", "fail", "are both for “pt”", "keep one"),
    (staff_broken, "staff list", "fail", "staff.toml", "correct those lines"),
    (misspelt_file, "folder", "warn", "polcy.toml is not read", "rename it policy.toml"),
    (template_broken, "templates", "fail", "door.html, line", "correct that line"),
    (template_missing, "templates", "fail", "door.html is missing", "put the file back"),
    (templates_gone, "templates", "fail", "is no folder", "check the path"),
    (font_broken, "fonts", "fail", "is no font", "install mobicard again"),
    (ledger_damaged, "ledger", "fail", "ledger.sqlite", "restore a backup"),
    (ledger_rewritten, "ledger", "fail", "Entry 1", "backup"),
    (ledger_address, "ledger", "fail", "mysql", "PostgreSQL address"),
    (ledger_below_a_file, "ledger", "fail", "is a file", "choose another place"),
    (ledger_open_to_all, "ledger rights", "warn", "other users", "chmod 600"),
    (ledger_on_shared_drive, "ledger disk", "fail", "nfs4", "own disk"),
    (lambda setup: on(setup, free_bytes=lambda _: 2**20), "disk", "fail", "1 MB free", "make room now"),
    (lambda setup: on(setup, free_bytes=lambda _: 100 * 2**20), "disk", "warn", "100 MB", "make room soon"),
    (lambda setup: on(setup, page_library=no_pango), "page library", "fail", "no PDF", "apt-get install"),
    (lambda setup: on(setup, find_library=lambda _: None), "page library", "warn", "slow", "apt-get install"),
    (printer_renamed, "printer", "fail", "there are ward-4w", "lpstat -e"),
    (lambda setup: on(setup, printers=tuple), "printer", "warn", "no print queue", "add a printer"),
    (lambda setup: on(setup, find_program=lambda _: None), "printer", "warn", "lp", "cups-client"),
    (lambda setup: on(setup, terminal=lambda: (79, 24)), "terminal", "warn", "79 columns", "window larger"),
    (lambda setup: on(setup, environment={"TERM": "dumb"}), "terminal", "warn", "TERM", "xterm-256color"),
    (lambda setup: on(setup, encoding=lambda: "ascii"), "letters", "warn", "ascii", "LANG=C.UTF-8"),
    (lambda setup: on(setup, zone_fault=lambda: "TZ=Mars"), "clock", "fail", "TZ=Mars", "shift.timezone"),
    (
        lambda setup: on(setup, now=lambda: datetime(1970, 1, 1, tzinfo=UTC)),
        "clock",
        "fail",
        "1970",
        "set the clock",
    ),
    (
        lambda setup: on(setup, now=lambda: NOW - timedelta(minutes=6)),
        "clock",
        "fail",
        "behind",
        "set the clock",
    ),
]


@pytest.mark.parametrize(("broken", "what", "result", "says", "do"), BROKEN)
def test_each_broken_set_up_is_explained_with_what_to_do(
    setup: Setup, broken: Callable[[Setup], Setup], what: str, result: str, says: str, do: str
) -> None:
    found = [finding for finding in worst(run_doctor(broken(setup))) if finding.what == what]
    assert [finding.result for finding in found] == [result]
    assert says in found[0].says
    assert do in found[0].do


@pytest.mark.parametrize(("broken", "what", "result", "says", "do"), BROKEN)
def test_one_broken_thing_is_not_blamed_on_another(
    setup: Setup, broken: Callable[[Setup], Setup], what: str, result: str, says: str, do: str
) -> None:
    """Only what was broken is found, so nobody mends what is whole."""
    del result, says, do
    assert {finding.what for finding in worst(run_doctor(broken(setup)))} == {what}


def test_a_stricter_policy_is_no_matter(setup: Setup) -> None:
    stricter = "[loads]\nhelper_limit_lb = 30\n[handling]\nlift_helpers = 3\n"
    assert worst(run_doctor(replace(setup, policy=written(setup, "policy.toml", stricter)))) == []


def test_a_check_that_trips_is_a_finding_and_the_others_go_on(setup: Setup) -> None:
    def trips() -> tuple[str, ...]:
        raise OSError("printer on fire")

    found = run_doctor(on(setup, printers=trips))
    assert [(each.what, each.result) for each in worst(found)] == [("printer", "fail")]
    assert "printer on fire" in worst(found)[0].says
    assert found[-1].what == "clock"


def test_a_ledger_that_is_not_there_yet_is_not_made(setup: Setup, tmp_path: Path) -> None:
    place = tmp_path / "new" / "ledger.sqlite"
    assert worst(run_doctor(replace(setup, ledger=str(place)))) == []
    assert not place.parent.exists()


def test_a_clock_a_few_minutes_behind_the_newest_entry_is_no_matter(setup: Setup) -> None:
    assert worst(run_doctor(on(setup, now=lambda: NOW - timedelta(minutes=5)))) == []


def test_the_least_terminal_is_enough(setup: Setup) -> None:
    assert worst(run_doctor(on(setup, terminal=lambda: (80, 24)))) == []
    assert worst(run_doctor(on(setup, terminal=lambda: None))) == []


def test_a_stations_own_settings_are_looked_at(tmp_path: Path) -> None:
    class Here:
        settings = Settings.found(
            config_dir=tmp_path, policy=tmp_path / "gone.toml", ledger=str(tmp_path / "l.sqlite")
        )

    found = {finding.what: finding for finding in findings_of(Here())}
    assert (found["policy"].result, found["ledger"].result) == ("fail", "ok")


PARTS = sorted(path.name for path in templates.folder().glob("*.*") if path.suffix in (".html", ".css"))


@pytest.mark.parametrize("name", PARTS)
def test_every_page_and_part_that_is_missing_is_named(setup: Setup, name: str) -> None:
    """Whatever is taken from the folder, a page or a part some page is made of."""
    folder = own_templates(setup)
    (folder / name).unlink()
    said = [one.result for one in page_checks(replace(setup, templates=folder)) if name in one.says]
    assert said == ["fail"]


def test_every_page_the_product_fills_is_looked_for() -> None:
    """A page rendered somewhere and not in the list would not be missed."""
    product = Path(templates.__file__).parents[1]
    rendered = {
        name
        for file in product.rglob("*.py")
        for name in re.findall(r'render\(\s*"([\w-]+\.html)"', file.read_text(encoding="utf-8"))
    }
    assert rendered == set(templates.PAGES)


def test_a_place_where_no_ledger_can_be_made_is_said(setup: Setup, open_folder: Path) -> None:
    """Not "made on first use" by one who may not write there."""
    open_folder.chmod(0o555)
    setup = replace(setup, ledger=str(open_folder / "deep" / "ledger.sqlite"))
    with as_nobody():
        (says,) = run_doctor(setup, [("ledger", store.ledger)])[1:]
    assert says.result == "fail"
    assert f"{open_folder} may not be written by you" in says.says


@pytest.mark.parametrize(("name", "check"), [("instruments", files.instruments), ("phrases", files.phrases)])
def test_a_folder_of_the_facility_that_is_hidden_is_said(
    setup: Setup, open_folder: Path, name: str, check: Check
) -> None:
    """What cannot be seen is not taken for not there."""
    (open_folder / name).mkdir(mode=0o000)
    with as_nobody():
        (says,) = run_doctor(replace(setup, config_dir=open_folder), [(name, check)])
    assert (says.result, "cannot be looked at (Permission denied)" in says.says) == ("fail", True)


def test_a_disk_without_locks_is_said(setup: Setup, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(disk, "lacks", lambda folder: f"the file system of {folder} keeps no locks")
    (says,) = [one for one in run_doctor(setup) if one.what == "ledger disk"]
    assert (says.result, "keeps no locks" in says.says) == ("fail", True)


def test_the_wards_own_time_is_shown(setup: Setup) -> None:
    """In its zone, so that a person can hold it against the clock on the wall."""
    policy = setup.config_dir / "policy.toml"
    policy.write_text('[shift]\ntimezone = "America/Chicago"\n', encoding="utf-8")
    (says,) = [one for one in run_doctor(replace(setup, policy=policy)) if one.what == "clock"]
    assert says.says == "2026-03-02 14:00 UTC, 08:00 on the ward"
