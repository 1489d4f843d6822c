"""What a nurse records by command: saved as from the screen, and refused as from the screen."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from mobicard.cli import run
from tests.records import SEEN

MORNING, FALL, EXAMINED, UP, LOOK = (
    f"2026-03-02T{clock}" for clock in ("08:00", "09:00", "09:10", "09:20", "09:40")
)
CLEAR = ("--head", "clear", "--spine", "clear", "--bones", "clear")
At = Callable[..., int]


@pytest.fixture
def at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> At:
    """Run a command as JN at a time, on a ledger with one bed, admitted and not assessed."""
    monkeypatch.setenv("MOBICARD_LEDGER", str(tmp_path / "unit.sqlite"))
    monkeypatch.setenv("MOBICARD_CONFIG", str(tmp_path / "config"))

    def one(now: str, *words: str, by: str = "JN") -> int:
        return run(["--by", by, "--now", now, *words])

    assert run(["ledger", "new"]) == 0
    assert one(MORNING, "stay", "admit", "5N-01", "--label", "RT") == 0
    return one


@pytest.fixture
def file(tmp_path: Path) -> Callable[..., str]:
    """A record file: a patient who does everything alone, ``facts`` on top."""

    def write(**facts: Any) -> str:
        path = tmp_path / "record.json"
        path.write_text(json.dumps({**SEEN, **facts}))
        return str(path)

    return write


@pytest.fixture
def changes(tmp_path: Path) -> Callable[..., str]:
    """A file of these facts alone."""

    def write(**facts: Any) -> str:
        path = tmp_path / "changes.json"
        path.write_text(json.dumps(facts))
        return str(path)

    return write


def bed(at: At, capsys: pytest.CaptureFixture[str], now: str = LOOK) -> dict[str, Any]:
    """The one bed as the unit's list tells it."""
    capsys.readouterr()
    assert at(now, "export", "--lines") == 0
    (line,) = capsys.readouterr().out.splitlines()
    found: dict[str, Any] = json.loads(line)
    return found


def refused(at: At, capsys: pytest.CaptureFixture[str], now: str, *words: str) -> str:
    """What a refused command says; and that it changed nothing."""
    before = bed(at, capsys, now)["record"]
    assert at(now, *words) == 1
    says = capsys.readouterr().err
    assert bed(at, capsys, now)["record"] == before
    return says


def test_a_record_file_is_an_assessment_of_now(
    at: At, file: Callable[..., str], capsys: pytest.CaptureFixture[str]
) -> None:
    """The file needs no bed: who and when are stamped, the level follows."""
    assert at(MORNING, "record", "5N-01", file()) == 0
    found = bed(at, capsys, MORNING)
    assert (found["plan"]["level"], found["record"]["assessed_by"]) == ("SELF", "JN")
    assert found["record"]["assessed_at"].startswith(MORNING)
    assert found["record"]["label"] == "RT"


@pytest.mark.parametrize(
    ("facts", "says"),
    [
        ({"bed": "5N-02"}, "the record of 5N-02"),
        ({"label": "MJ"}, "the record of MJ"),
        ({"standing": "stedy"}, "did you mean steady?"),
        ({"assessed_at": "2026-03-02T10:00"}, "check the time"),
    ],
)
def test_what_cannot_be_this_patients_look_now_is_refused(
    at: At, file: Callable[..., str], capsys: pytest.CaptureFixture[str], facts: dict[str, Any], says: str
) -> None:
    """Another bed's or another patient's file, a word that is no answer, a time still to come."""
    assert says in refused(at, capsys, MORNING, "record", "5N-01", file(**facts))


def test_a_save_over_a_version_that_somebody_passed_is_refused(
    at: At, file: Callable[..., str], capsys: pytest.CaptureFixture[str]
) -> None:
    """The version a script saw goes with its save; the other's save stands."""
    assert at(MORNING, "record", "5N-01", file(), "--version", "1") == 0
    says = refused(at, capsys, MORNING, "record", "5N-01", file(standing="unable"), "--version", "1")
    assert "saved 5N-01 while you were writing" in says


def test_a_change_alone_leaves_the_assessment_as_old_as_it_is(
    at: At, file: Callable[..., str], changes: Callable[..., str], capsys: pytest.CaptureFixture[str]
) -> None:
    """One move's help seen anew, the rest as last recorded and counted from then."""
    assert at(MORNING, "record", "5N-01", file()) == 0
    assert at(FALL, "record", "5N-01", changes(help={"chair": "moderate"}), "--changes") == 0
    record = bed(at, capsys, FALL)["record"]
    assert record["assessed_at"].startswith(MORNING)
    assert (record["help"]["chair"], record["help"]["walk"]) == ("moderate", "independent")


def test_the_rest_is_not_seen_again_after_an_operation(
    at: At, file: Callable[..., str], changes: Callable[..., str], capsys: pytest.CaptureFixture[str]
) -> None:
    """As on the form: what bars “same as before” bars taking all the rest as seen."""
    assert at(MORNING, "record", "5N-01", file()) == 0
    assert at(FALL, "stay", "procedure", "5N-01", "hip") == 0
    words = ("record", "5N-01", changes(standing="unable"), "--changes", "--rest-seen")
    assert "operation" in refused(at, capsys, EXAMINED, *words)


def test_a_precaution_left_off_the_list_ends_by_name_alone(
    at: At, file: Callable[..., str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Taken off without a name it is refused; not spoken of it stands; by name it ends."""
    assert at(MORNING, "record", "5N-01", file(precautions=["bed_rest"])) == 0
    assert "who says so" in refused(at, capsys, FALL, "record", "5N-01", file(precautions=[]))
    assert at(FALL, "record", "5N-01", file()) == 0
    assert bed(at, capsys)["record"]["precautions"] == ["bed_rest"]
    assert at(FALL, "record", "5N-01", file(precautions=[]), "--over", "Dr A") == 0
    assert not bed(at, capsys)["record"].get("precautions")


def test_same_is_refused_where_nothing_was_assessed(
    at: At, file: Callable[..., str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Nobody attests what nobody recorded; once recorded it is two words."""
    assert "nothing has been recorded" in refused(at, capsys, MORNING, "same", "5N-01")
    assert at(MORNING, "record", "5N-01", file()) == 0
    assert at(FALL, "same", "5N-01", by="KP") == 0
    assert bed(at, capsys)["record"]["assessed_by"] == "KP"


def test_a_fall_from_the_floor_to_the_next_look(
    at: At, file: Callable[..., str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Each step refuses what the screen would not ask yet, and the look at its end ends the fall."""
    assert at(MORNING, "record", "5N-01", file()) == 0
    assert "no fall is open" in refused(at, capsys, FALL, "up", "5N-01")
    told = ("--alertness", "alert", "--head-strike", "no", "--neck-pain", "no", "--seen")
    assert at(FALL, "fall", "5N-01", *told, "--injury", "none", "--anticoagulated", "no") == 0
    assert bed(at, capsys, FALL)["plan"]["after_fall"] is not None
    assert "--again" in refused(at, capsys, FALL, "fall", "5N-01")
    assert "examine first" in refused(at, capsys, FALL, "clear", "5N-01", "--name", "Dr A", *CLEAR)
    assert "nobody has examined" in refused(at, capsys, EXAMINED, "up", "5N-01")
    flat = ("--head", "clear", "--spine", "suspected", "--bones", "clear", "--lift", "guided")
    assert "lifted flat" in refused(at, capsys, EXAMINED, "clear", "5N-01", "--name", "Dr A", *flat)
    assert at(EXAMINED, "clear", "5N-01", "--name", "Dr A", *CLEAR, "--lift", "guided") == 0
    assert "how much help it took" in refused(at, capsys, UP, "up", "5N-01")
    assert at(UP, "up", "5N-01", "--floor", "minimal") == 0
    assert "fallen since" in refused(at, capsys, LOOK, "same", "5N-01")
    assert at(LOOK, "record", "5N-01", file()) == 0
    assert bed(at, capsys)["plan"]["after_fall"] is None


def test_a_fall_with_nothing_said_is_the_worst(
    at: At, file: Callable[..., str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Nobody is moved, and how the patient got up before says nothing of now."""
    assert at(MORNING, "record", "5N-01", file()) == 0
    assert at(FALL, "fall", "5N-01", "--at", "08:50") == 0
    found = bed(at, capsys, FALL)
    assert found["plan"]["level"] == "REMAIN"
    assert "floor" not in found["record"]["help"]
    assert found["record"]["fall_event"]["at"].startswith("2026-03-02T08:50")


def test_a_clearing_although_the_neck_hurts_is_refused(
    at: At, file: Callable[..., str], capsys: pytest.CaptureFixture[str]
) -> None:
    """It would not count: said at once, not after it was saved."""
    assert at(MORNING, "record", "5N-01", file()) == 0
    assert at(FALL, "fall", "5N-01", "--neck-pain", "yes") == 0
    assert "neck hurts" in refused(at, capsys, EXAMINED, "clear", "5N-01", "--name", "Dr A", *CLEAR)


def test_a_head_is_observed_until_stopped_by_name(
    at: At, file: Callable[..., str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Where none run it is refused; after a fall with the head struck they run until a name ends them."""
    assert at(MORNING, "record", "5N-01", file()) == 0
    assert "no head observations run" in refused(at, capsys, MORNING, "head", "5N-01", "fifteen")
    assert at(FALL, "fall", "5N-01", "--head-strike", "yes") == 0
    assert at(EXAMINED, "head", "5N-01", "fifteen") == 0
    assert bed(at, capsys)["record"]["head_watch"]["seen"] == "fifteen"
    assert at(UP, "head", "5N-01", "--stop", "Dr A") == 0
    assert bed(at, capsys)["record"]["head_watch"]["stopped_by"] == "Dr A"


def test_a_judgement_raises_freely_and_lowers_with_a_reason(
    at: At, file: Callable[..., str], capsys: pytest.CaptureFixture[str]
) -> None:
    """By the facility's word for the level; lowering without a reason, or what follows anyway, is refused."""
    assert at(MORNING, "record", "5N-01", file()) == 0
    assert "follows from the record" in refused(at, capsys, MORNING, "judge", "5N-01", "SELF")
    assert at(MORNING, "judge", "5N-01", "hoist") == 0
    assert bed(at, capsys, MORNING)["plan"]["level"] == "HOIST"
    assert at(MORNING, "judge", "5N-01", "--take-back") == 0
    assert bed(at, capsys, MORNING)["plan"]["level"] == "SELF"
    assert at(MORNING, "record", "5N-01", file(standing="supported")) == 0
    assert "needs its reason" in refused(at, capsys, MORNING, "judge", "5N-01", "NEARBY")


def test_an_order_is_kept_ended_and_confirmed_by_name(
    at: At, file: Callable[..., str], capsys: pytest.CaptureFixture[str]
) -> None:
    """As listed: still so, until when, or over and who says so; what is not there is refused."""
    assert at(MORNING, "record", "5N-01", file(precautions=["bed_rest"])) == 0
    assert "standing: bed_rest" in refused(at, capsys, MORNING, "order", "5N-01", "spinal", "--still")
    assert at(FALL, "order", "5N-01", "bed_rest", "--still") == 0
    assert at(FALL, "order", "5N-01", "bed_rest", "--until", "14:00") == 0
    (order,) = bed(at, capsys)["record"]["orders"]
    assert order["still_at"].startswith(FALL)
    assert order["until"].startswith("2026-03-02T14:00")
    assert at(FALL, "order", "5N-01", "bed_rest", "--over", "Dr A") == 0
    assert not bed(at, capsys)["record"].get("precautions")


def test_taking_over_is_in_the_audit(
    at: At, file: Callable[..., str], capsys: pytest.CaptureFixture[str]
) -> None:
    """By name and by all; nobody's beds are refused."""
    assert "no bed is assigned to KP" in refused(at, capsys, MORNING, "taken-over", "--assignment", "kp")
    assert at(MORNING, "taken-over", "5N-01", by="KP") == 0
    capsys.readouterr()
    assert at(MORNING, "ledger", "audit", "--json", "--person", "KP") == 0
    assert [line["did"] for line in json.loads(capsys.readouterr().out)] == ["took over"]
