"""The commands as a person at a shell meets them: what they print, and the exit codes 0, 1 and 2."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path

import pikepdf
import pytest
from pypdf import PdfReader

from mobicard.cli import run
from mobicard.facts.words import Task
from mobicard.rules.by_patient.whom import INTENDED_USE
from tests.paper.printing import missing, print_service

EXAMPLES = Path(__file__).parents[2] / "examples"
NOW = "2026-03-02T08:00"
FILES = (
    "door-cards.pdf",
    "door-cards.html",
    "bedside-cards.pdf",
    "bedside-cards.html",
    "handoff.pdf",
    "handoff.html",
)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented unit, written once."""
    out = tmp_path_factory.mktemp("demo") / "out"
    assert run(["demo", "--out", str(out), "--now", NOW]) == 0
    return out


def test_the_demo_writes_every_file_it_promises(demo: Path) -> None:
    """Ledger, cards and handoff, each with its pages."""
    assert {path.name for path in demo.iterdir()} == {*FILES, "demo.sqlite", "staff.toml"}, "no log left open"
    assert len(PdfReader(demo / "door-cards.pdf").pages) == 12
    assert len(PdfReader(demo / "bedside-cards.pdf").pages) == 2 * 24, "both sides of a sheet"
    assert len(PdfReader(demo / "handoff.pdf").pages) <= 3


def test_the_demo_overwrites_nothing(demo: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A second run into the same folder is refused with what to do."""
    assert run(["demo", "--out", str(demo)]) == 1
    assert "choose another --out" in capsys.readouterr().err


def test_two_demo_runs_give_the_same_pages(demo: Path, tmp_path: Path) -> None:
    """Same unit, same time: the same bytes, so a card printed twice is one card."""
    assert run(["demo", "--out", str(tmp_path / "again"), "--now", NOW]) == 0
    for name in FILES:
        assert (tmp_path / "again" / name).read_bytes() == (demo / name).read_bytes(), name


def test_the_demo_unit_reaches_everything(demo: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Every level and weight-bearing status, a heavy patient, a fall, an override, an overdue bed."""
    capsys.readouterr()
    assert run(["--ledger", str(demo / "demo.sqlite"), "--now", NOW, "export", "--lines"]) == 0
    beds = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    plans = [bed["plan"] for bed in beds]
    assert len(beds) == 24
    assert {plan["level"] for plan in plans} == {"SELF", "NEARBY", "LINK", "TEAM", "POWER", "HOIST", "REMAIN"}
    statuses = {limb["status"] for plan in plans for limb in plan["weight_bearing"]}
    assert statuses == {"FWB", "WBAT", "PWB", "TTWB", "NWB", "absent_limb"}
    assert any(bed["record"].get("weight_kg", 0) > 180 for bed in beds)
    assert any(plan["after_fall"] for plan in plans)
    assert any(plan["override"] and plan["override"]["lowers"] for plan in plans)
    assert any(plan["expired"] and plan["assessed_at"] for plan in plans)
    cleared = {task for plan in plans for task, one in plan["tasks"].items() if one["helpers"] is not None}
    assert len(cleared) == len(Task)


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.json")), ids=lambda path: path.stem)
def test_every_example_record_gives_a_whole_plan(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The plan's JSON has every promised key and every task, each line with its reasons."""
    assert run(["plan", str(path), "--json", "--now", NOW]) == 0
    plan = json.loads(capsys.readouterr().out)
    assert set(plan) >= {
        "level", "level_rank", "derived_level", "helpers", "tasks", "weight_bearing", "fall_risk",
        "orthostatic", "conflicts", "not_assessed", "valid_until", "expired", "code",
    }  # fmt: skip
    assert len(plan["tasks"]) == len(Task)
    assert all(reason["source"] for task in plan["tasks"].values() for reason in task["reasons"])
    assert all(task["reasons"] for task in plan["tasks"].values())


def test_there_are_at_least_twelve_examples() -> None:
    """Enough to show the house."""
    assert len(list(EXAMPLES.glob("*.json"))) >= 12


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("{", "a record is JSON or TOML"),
        ("[]", "holds no record"),
        ('{"bed": "1", "standing": "stedy"}', "did you mean steady?"),
        ('{"bed": "1", "weight_kg": 9000}', "too large to be true"),
        ('{"bed": "1", "weight": "181"}', "write it like 82 kg or 181 lb"),
        ('{"bed": "1", "weight_bearing": {"left_leg": {"status": "PWB"}}}', "PWB needs its figure"),
        ('{"bed": "1", "wieght_kg": 80}', "did you mean weight_kg?"),
        ("{}", "bed: is missing"),
    ],
)
def test_a_record_that_cannot_be_taken_is_refused_in_words(
    text: str, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit code 1, the field, what to write instead; never a traceback."""
    path = tmp_path / "record.json"
    path.write_text(text)
    assert run(["plan", str(path), "--json"]) == 1
    err = capsys.readouterr().err
    assert says in err
    assert "Traceback" not in err


def test_wrong_usage_is_exit_code_two(capsys: pytest.CaptureFixture[str]) -> None:
    """An unknown option, command or fact is a usage error, with the usage shown."""
    assert run(["plan", "--no-such-option"]) == 2
    assert run(["no-such-command"]) == 2
    assert run(["plan", str(EXAMPLES / "01-walks-alone.json"), "--if", "standing"]) == 2
    assert run(["export"]) == 2
    assert "Usage" in capsys.readouterr().err


def test_why_and_what_if_are_read_by_people(capsys: pytest.CaptureFixture[str]) -> None:
    """The reasons name rule sentences and sources; what-if shows both levels side by side."""
    path = str(EXAMPLES / "01-walks-alone.json")
    assert run(["plan", path, "--now", NOW, "--why", "chair"]) == 0
    assert "OSHA" in capsys.readouterr().out
    assert run(["plan", path, "--now", NOW, "--if", "standing=unable"]) == 0
    out = capsys.readouterr().out
    assert "SELF" in out
    assert "HOIST" in out


def test_the_rules_are_printed_from_the_code(capsys: pytest.CaptureFixture[str]) -> None:
    """Every rule with its sentence and its source."""
    assert run(["plan", "--rules", "--json"]) == 0
    rules = json.loads(capsys.readouterr().out)
    assert len(rules) > 30
    assert all(rule["says"] and rule["source"] for rule in rules)


def test_plans_stream_line_by_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A bad line is named, the others are planned, and the exit code says that one was refused."""
    path = tmp_path / "records.jsonl"
    path.write_text('{"bed": "1"}\n{"bed": "2", "arms": "three"}\n{"bed": "3"}\n')
    assert run(["plan", str(path), "--lines"]) == 1
    answers = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert ["error" in answer for answer in answers] == [False, True, False]


def test_the_clerks_walk(demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Print what changed, confirm it, and the next time nothing is left to print."""
    station = ["--ledger", str(tmp_path / "unit.sqlite"), "--now", NOW, "--by", "CLERK"]
    (tmp_path / "unit.sqlite").write_bytes((demo / "demo.sqlite").read_bytes())
    out = str(tmp_path / "cards")
    assert run([*station, "cards", "--changed", "--out", out, "--json"]) == 0
    done = json.loads(capsys.readouterr().out)
    assert 0 < len(done["doors"]) < 24
    assert any(path.endswith("slip.pdf") for path in done["files"])
    assert run([*station, "cards", "--hung", done["batch"]]) == 0
    assert run([*station, "cards", "--changed", "--out", out]) == 0
    assert "nothing to print" in capsys.readouterr().out
    assert run([*station, "check", done["doors"][0]["hang"]]) == 0
    assert run([*station, "check", "ZZZZZZ"]) == 1


def test_a_ledger_that_is_no_ledger_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A scribbled file: one sentence, exit code 1, the file untouched."""
    path = tmp_path / "bad.sqlite"
    path.write_text("this is no ledger\n" * 100)
    assert run(["--ledger", str(path), "stay", "list"]) == 1
    err = capsys.readouterr().err
    assert "Traceback" not in err
    assert "unexpected" not in err
    assert path.read_text().startswith("this is no ledger")


def test_every_command_explains_itself(capsys: pytest.CaptureFixture[str]) -> None:
    """--help works for each command and says what it does."""
    from mobicard.cli.main import COMMANDS

    for name in COMMANDS:
        assert run([name, "--help"]) == 0
        assert len(capsys.readouterr().out.splitlines()) > 5, name


def test_for_whom_it_is_is_printed_by_about_and_before_the_rules(capsys: pytest.CaptureFixture[str]) -> None:
    """One sentence, written once."""
    for command in (["about"], ["plan", "--rules"]):
        assert run(command) == 0
        assert INTENDED_USE in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completions_are_written_for_each_shell(shell: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The script names the program and the variable that asks it."""
    assert run(["shell", "completion", shell]) == 0
    out = capsys.readouterr().out
    assert "_MOBICARD_COMPLETE" in out


def test_the_manual_page_names_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    """Built from the commands themselves, so none is forgotten."""
    from mobicard.cli.main import COMMANDS

    assert run(["shell", "man"]) == 0
    page = capsys.readouterr().out
    assert page.startswith(".TH MOBICARD 1")
    for name in COMMANDS:
        assert f".SS mobicard {name}" in page.replace("\\-", "-")


def test_a_handoff_of_nobodys_beds_is_refused(
    demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Initials no bed is assigned to: an empty page would read as nothing to know; known ones are named."""
    ledger, out = str(demo / "demo.sqlite"), tmp_path / "out"
    assert run(["--ledger", ledger, "--now", NOW, "handoff", "--assignment", "ZZ", "--out", str(out)]) == 1
    says = capsys.readouterr().err
    assert "no bed is assigned to ZZ" in says
    assert "JN" in says
    assert not out.exists()


def test_letter_runs_have_a_letter_slip_and_handoff(demo: Path, tmp_path: Path) -> None:
    """ANSI/ASME Y14.1: 8.5 by 11 inches, 612 by 792 points."""
    (tmp_path / "unit.sqlite").write_bytes((demo / "demo.sqlite").read_bytes())
    station = ["--ledger", str(tmp_path / "unit.sqlite"), "--now", NOW, "--by", "CL"]
    out = str(tmp_path / "out")
    cards = [
        "cards",
        "--changed",
        "--kind",
        "door",
        "--size",
        "half-letter",
        "--up",
        "2",
        "--paper",
        "letter",
    ]
    assert run([*station, *cards, "--out", out]) == 0
    assert run([*station, "handoff", "--paper", "letter", "--out", out]) == 0
    for name in ("slip.pdf", "door-cards.pdf", "handoff.pdf"):
        with pikepdf.open(tmp_path / "out" / name) as page:
            box = [float(side) for side in page.pages[0].mediabox]
        assert sorted((round(box[2]), round(box[3]))) == [612, 792], name


def test_a_print_the_queue_refused_is_not_noted_as_printed(
    demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The files are there, the doors are not prepared: nothing can be confirmed that no printer took."""
    (tmp_path / "unit.sqlite").write_bytes((demo / "demo.sqlite").read_bytes())
    station = ["--ledger", str(tmp_path / "unit.sqlite"), "--now", NOW, "--by", "CL"]
    words = ["cards", "--changed", "--kind", "door", "--out", str(tmp_path / "out")]
    assert run([*station, *words, "--printer", "no-such-queue"]) == 1
    assert "files are written" in capsys.readouterr().err
    assert run([*station, "cards", "--hung"]) == 1
    assert "no card has been printed yet" in capsys.readouterr().err


@pytest.mark.skipif(missing() is not None, reason=str(missing()))
def test_a_queue_that_waits_is_told_from_one_that_prints(
    demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A private CUPS: jammed, exit 1 and nothing noted; off, exit 1, hung only if it came out; printed, 0."""
    (tmp_path / "unit.sqlite").write_bytes((demo / "demo.sqlite").read_bytes())
    station = ["--ledger", str(tmp_path / "unit.sqlite"), "--now", NOW, "--by", "CL"]
    words = ["cards", "--changed", "--kind", "door", "--out", str(tmp_path / "out"), "--printer"]
    with tempfile.TemporaryDirectory(prefix="mobicard-cups-", ignore_cleanup_errors=True) as folder:
        root = Path(folder)
        root.chmod(0o755)
        with print_service(root) as here:
            monkeypatch.setenv("CUPS_SERVER", here.server)
            here.queue("jam", "-exit1")
            assert run([*station, *words, "jam"]) == 1
            assert "gave up job jam-1 (the tray is out of paper); do not count it" in capsys.readouterr().err
            assert run([*station, "cards", "--hung"]) == 1
            assert "no card has been printed yet" in capsys.readouterr().err
            here.queue("off", enabled=False)
            assert run([*station, *words, "off"]) == 1
            said = capsys.readouterr().err
            assert "slip.pdf" in said
            assert "Nothing is known to be printed" in said
            assert run([*station, "cards", "--hung"]) == 1
            assert "--came-out" in capsys.readouterr().err
            tray = here.queue("on")
            assert run([*station, *words, "on"]) == 0
            assert len(list(tray.iterdir())) >= 2
            assert run([*station, "cards", "--hung"]) == 0
            assert run([*station, "cards", "--hung"]) == 0
            assert "hangs already" in capsys.readouterr().out


def test_a_bed_list_with_lines_that_cannot_be_read_says_so(tmp_path: Path) -> None:
    """A preview that could not read everything leaves with exit code 1, and changes nothing."""
    path = tmp_path / "beds.csv"
    path.write_text("Bed,Initials\n1,RA\n2,EV\n2,OF\n")
    assert run(["--ledger", str(tmp_path / "l.sqlite"), "ledger", "new"]) == 0
    assert run(["--ledger", str(tmp_path / "l.sqlite"), "census", str(path)]) == 1


def test_what_went_out_as_fhir_reads_back_equal(
    demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The unit's bundle, read again by the plan command: the same records, the same plans."""
    station = ["--ledger", str(demo / "demo.sqlite"), "--now", NOW]
    bundle = tmp_path / "unit.json"
    assert run([*station, "export", "--fhir", "--out", str(bundle)]) == 0
    capsys.readouterr()
    assert run([*station, "export", "--lines"]) == 0
    sent = {bed["record"]["bed"]: bed for bed in map(json.loads, capsys.readouterr().out.splitlines())}
    assert run(["--now", NOW, "plan", "--fhir", str(bundle)]) == 0
    back = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert len(back) == 24
    for one in back:
        for record in (one["record"], sent[one["record"]["bed"]]["record"]):
            record.pop("label", None)  # initials stay here unless asked for
        assert one["record"] == sent[one["record"]["bed"]]["record"]


def test_observed_help_is_shown_in_the_published_codes(capsys: pytest.CaptureFixture[str]) -> None:
    """CMS Section GG: contact guard is 04, not tried for safety 88, two or more helpers 01; ICF beside it."""
    assert run(["plan", str(EXAMPLES / "04-half-weight-left.json"), "--codes"]) == 0
    lines = {line[:27].strip(): line for line in capsys.readouterr().out.splitlines()}
    assert "GG0170E" in lines["Bed to chair and back"]
    assert " 04 " in lines["Bed to chair and back"]
    assert " 88 " in lines["Walk"]
    assert "ICF d4" in lines["Stand up"]


@pytest.mark.parametrize(("stay", "said", "code"), [(2, [], 0), (1, [], 1), (1, ["--leaving", "4"], 0)])
def test_more_than_three_leave_unsaid_only_after_a_second_look(
    stay: int, said: list[str], code: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Five lie in bed; the next list names two, or one."""
    beds = [f"5N-0{n}\n" for n in range(1, 6)]
    for name, rows in (("all.csv", beds), ("next.csv", beds[:stay])):
        (tmp_path / name).write_text("Bed\n" + "".join(rows), encoding="utf-8")
    here = ["--ledger", str(tmp_path / "ledger.sqlite"), "--by", "CL", "census"]
    assert run([*here[:2], "ledger", "new"]) == 0
    assert run([*here, str(tmp_path / "all.csv"), "--apply"]) == 0
    assert run([*here, str(tmp_path / "next.csv"), "--absent", "discharge", "--apply", *said]) == code
    assert ("--leaving 4" in capsys.readouterr().err) is (code == 1)


def test_a_wish_is_answered_with_what_it_would_take(capsys: pytest.CaptureFixture[str]) -> None:
    """Granted, to be had, out of reach, and no wish at all."""
    plan = ["--now", "2026-03-02T08:00", "plan", str(EXAMPLES / "03-hip-day-two.json"), "--if"]
    for wish, says in (
        ("chair by HOIST", "the plan allows it already"),
        ("walk with 1", "stepping: pivots -> walks; help.walk: minimal -> contact guard"),
        ("walk alone", "no three facts found better would be enough"),
    ):
        assert run([*plan, wish]) == 0
        assert says in capsys.readouterr().out
    assert run([*plan, "fly with 1"]) == 2
