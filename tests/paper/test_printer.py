"""The print queue: a real CUPS on loopback where there is one, else a stand-in `lp` on PATH."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from mobicard.paper.printer import queue as printer
from mobicard.paper.printer.queue import PrinterUnavailable, send
from tests.paper.printing import PrintService, missing, print_service

needs_cups = pytest.mark.skipif(missing() is not None, reason=missing() or "")


@pytest.fixture(scope="module")
def service() -> Iterator[PrintService]:
    with tempfile.TemporaryDirectory(prefix="mobicard-cups-", ignore_cleanup_errors=True) as folder:
        root = Path(folder)
        root.chmod(0o755)  # the job runs as another user, who must reach the service's folders
        with print_service(root) as running:
            yield running


@pytest.fixture
def here(service: PrintService, monkeypatch: pytest.MonkeyPatch) -> PrintService:
    monkeypatch.setenv("CUPS_SERVER", service.server)
    return service


@pytest.fixture
def page(tmp_path: Path) -> Path:
    pdf = tmp_path / "door-cards.pdf"
    pdf.write_bytes(b"%PDF-1.7\n" + bytes(range(256)) * 8)
    return pdf


@needs_cups
def test_a_job_arrives_whole_with_its_copies_and_paper(here: PrintService, page: Path) -> None:
    tray = here.queue("ward-a")
    answer = send(page, "ward-a", copies=2, media="A5", wait_s=20)
    assert (answer.state, answer.ok) == ("done", True), answer.says
    [arrived] = tray.glob("*.pdf")
    assert arrived.read_bytes() == page.read_bytes()
    title, copies, options = arrived.with_suffix(".txt").read_text().splitlines()
    assert (title, copies) == ("door-cards", "2")
    assert "media=A5" in options


@needs_cups
def test_lp_says_accepted_but_a_job_given_up_is_never_called_printed(here: PrintService, page: Path) -> None:
    here.queue("ward-b", "-exit1")
    accepted = here.command("lp", "-d", "ward-b", "--", str(page))
    assert "request id is ward-b-" in accepted, "lp itself takes the job: that is the trap"
    answer = send(page, "ward-b", wait_s=20)
    assert answer.state == "refused"
    assert "gave up" in answer.says
    assert "out of paper" in answer.says, "the printer's own words reach the clerk"


@needs_cups
def test_a_cancelled_job_says_so(here: PrintService, page: Path) -> None:
    here.queue("ward-c", "-exit5")
    answer = send(page, "ward-c", wait_s=20)
    assert answer.state == "refused"
    assert "cancelled" in answer.says


@needs_cups
def test_a_printer_that_stops_leaves_the_job_waiting(here: PrintService, page: Path) -> None:
    here.queue("ward-d", "-exit4")
    answer = send(page, "ward-d", wait_s=20)
    assert answer.state == "waiting"
    assert "the printer is stopped" in answer.says
    assert "not printed yet" in answer.says


@needs_cups
def test_a_queue_switched_off_is_said_at_once(here: PrintService, page: Path) -> None:
    here.queue("ward-e", enabled=False)
    slept: list[float] = []
    answer = send(page, "ward-e", wait_s=20, sleep=slept.append)
    assert answer.state == "waiting"
    assert "the printer is stopped" in answer.says
    assert slept == [], "nothing is gained by waiting for a queue that is off"


@needs_cups
def test_a_printer_that_wants_a_sign_in_says_so(here: PrintService, page: Path) -> None:
    here.queue("ward-f", "-exit2")
    answer = send(page, "ward-f", wait_s=20)
    assert answer.state == "waiting"
    assert "sign in" in answer.says


@needs_cups
def test_a_queue_that_takes_no_jobs_is_a_refusal(here: PrintService, page: Path) -> None:
    here.queue("ward-g")
    here.command("cupsreject", "ward-g")
    answer = send(page, "ward-g", wait_s=20)
    assert answer.state == "refused"
    assert "ward-g takes no jobs" in answer.says


@needs_cups
def test_an_unknown_queue_names_the_command_that_lists_them(here: PrintService, page: Path) -> None:
    here.queue("ward-h")
    answer = send(page, "no-such-queue", wait_s=5)
    assert answer.state == "refused"
    assert "no print queue no-such-queue" in answer.says
    assert "lpstat -e" in answer.says
    assert "ward-h" in printer.printers()


@needs_cups
def test_a_job_still_printing_when_the_time_is_up_is_called_waiting(here: PrintService, page: Path) -> None:
    here.queue("ward-i", "-slow")
    answer = send(page, "ward-i", wait_s=0.5)
    assert answer.state == "waiting"
    assert "still in the queue" in answer.says


@needs_cups
def test_a_queue_removed_while_it_prints_has_cancelled_the_job(here: PrintService, page: Path) -> None:
    here.queue("ward-j", "-slow")
    gone: list[str] = []

    def remove(_: float) -> None:
        time.sleep(0.2)
        gone or gone.append(here.command("lpadmin", "-x", "ward-j"))

    answer = send(page, "ward-j", wait_s=20, sleep=remove)
    assert answer.state == "refused"
    assert "cancelled" in answer.says
    assert "do not count it as printed" in answer.says
    assert send(page, "ward-j", wait_s=5).says.startswith("there is no print queue ward-j here")


@needs_cups
def test_a_service_that_goes_away_with_the_job_leaves_it_open_what_became_of_it(
    page: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It was said to be “still in the queue” of a service that no longer ran."""
    with tempfile.TemporaryDirectory(prefix="mobicard-cups-", ignore_cleanup_errors=True) as folder:
        root = Path(folder)
        root.chmod(0o755)
        with print_service(root) as passing:
            monkeypatch.setenv("CUPS_SERVER", passing.server)
            passing.queue("ward-k", "-slow")
            answer = send(page, "ward-k", wait_s=1.5, sleep=lambda _: passing.stop())
    assert (answer.state, answer.ok, answer.job) == ("unknown", False, "ward-k-1")
    assert "went away" in answer.says
    assert "Whether it is printed is not known" in answer.says


def test_no_print_service_at_all_is_said_in_words(page: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    if printer.shutil.which("lp") is None:
        pytest.skip("no lp here: apt-get install cups-client")
    monkeypatch.setenv("CUPS_SERVER", "127.0.0.1:1")
    answer = send(page, "ward-a", wait_s=5)
    assert answer.state == "refused"
    assert "does not run" in answer.says


STAND_IN = """#!/bin/sh
echo "$0 $*" >> "{log}"
case "${{0##*/}}" in
  lp) echo "request id is ward-7 (1 file(s))" ;;
  lpstat) case "$*" in -H) echo 127.0.0.1:1 ;; *-o*) {listing} ;; esac ;;
esac
"""


def _stand_in(folder: Path, listing: str) -> Path:
    """An `lp` and `lpstat` of our own, for what a real queue cannot be made to do: keep quiet about a job."""
    log = folder / "said.log"
    for name in ("lp", "lpstat"):
        tool = folder / name
        tool.write_text(STAND_IN.format(log=log, listing=listing))
        tool.chmod(0o755)
    return log


def test_a_service_that_never_tells_the_outcome_is_not_taken_for_printed(
    page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Stand-in: the job has left the list, but no IPP answer says how."""
    log = _stand_in(tmp_path, ":")
    monkeypatch.setenv("PATH", str(tmp_path), prepend=":")
    answer = send(page, "ward", copies=3, media="Letter", wait_s=1)
    assert (answer.state, answer.ok, answer.job) == ("unknown", False, "ward-7")
    assert "look at the printer" in answer.says
    assert f"lp -d ward -n 3 -t door-cards -o media=Letter -- {page}" in log.read_text()


def test_a_quiet_service_that_still_lists_the_job_is_waited_for(
    page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Stand-in: the job stays in the list."""
    _stand_in(tmp_path, 'echo "ward-7 root 1024 now"')
    monkeypatch.setenv("PATH", str(tmp_path), prepend=":")
    slept: list[float] = []
    answer = send(page, "ward", wait_s=2, sleep=slept.append)
    assert answer.state == "waiting"
    assert sum(slept) == pytest.approx(1.5)


def test_without_lp_the_pdf_stays_and_the_package_is_named(
    page: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", "/nonexistent")
    with pytest.raises(PrinterUnavailable) as none:
        send(page, "ward")
    assert "cups-client" in none.value.says


@pytest.mark.parametrize(
    ("name", "copies", "media", "says"),
    [
        ("-o raw", 1, None, "cannot be the name"),
        ("a b", 1, None, "cannot be the name"),
        ("", 1, None, "cannot be the name"),
        ("ward", 0, None, "1 to 100"),
        ("ward", 101, None, "1 to 100"),
        ("ward", 1, "A5 -o sides=two", "not a paper name"),
    ],
)
def test_what_cannot_be_asked_of_a_queue_never_reaches_it(
    page: Path, monkeypatch: pytest.MonkeyPatch, *, name: str, copies: int, media: str | None, says: str
) -> None:
    monkeypatch.setattr(printer, "_ask", lambda *_: pytest.fail("the queue was asked"))
    answer = send(page, name, copies, media)
    assert answer.state == "refused"
    assert says in answer.says


def test_a_missing_file_is_said_before_anything_is_sent(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(printer, "_ask", lambda *_: pytest.fail("the queue was asked"))
    answer = send(tmp_path / "none.pdf", "ward")
    assert answer.state == "refused"
    assert "make the page first" in answer.says


@pytest.mark.parametrize(
    ("box", "media"),
    [
        ("0 0 595.28 841.89", "A4"),
        ("0 0 841.89 595.28", "A4"),
        ("0 0 595.28 419.53", "A5"),
        ("0 0 612 792", "Letter"),
        ("0 0 612 396", "Custom.140x216mm"),
    ],
)
def test_the_queue_is_told_the_size_of_the_sheet(box: str, media: str, tmp_path: Path) -> None:
    """ISO 216 and ANSI/ASME Y14.1 sizes in points of 1/72 in; half a Letter sheet has no common name."""
    page = tmp_path / "page.pdf"
    page.write_bytes(f"%PDF-1.7 /MediaBox [{box}]".encode())
    assert printer._media_of(page) == media


def test_a_page_whose_size_cannot_be_read_goes_without_one(tmp_path: Path) -> None:
    page = tmp_path / "page.pdf"
    page.write_bytes(b"%PDF-1.7")
    assert printer._media_of(page) is None
