"""The print queue: hand a PDF to the system's `lp` and wait for what the queue says about that job."""

from __future__ import annotations

import getpass
import os
import re
import shutil
import subprocess
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from mobicard.paper.printer.job_state import Job, JobState, NoAnswer, ask_job

_JOB_ID = re.compile(r"request id is (\S+-(\d+))")
_NAME = re.compile(r"[^\s/#\\'\"?<>|-][^\s/#\\'\"?<>|]{0,126}")
_MEDIA = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")

POLL_S = 0.5
"""Seconds between two questions to the queue."""

HAND_OVER_S = 20.0
"""Seconds for `lp` to take the pages; they are a few megabytes at the most."""

LOOK_S = 5.0
"""Seconds for a question to the print service of this machine; it answers within a tenth."""

CANNOT_RUN = 127
"""A print command's exit code where it is not there. Source: POSIX.1-2017, XCU 2.8.2."""

WAITS_FOR = {
    "printer-stopped": "the printer is stopped",
    "cups-held-for-authentication": "the printer wants somebody to sign in",
    "job-hold-until-specified": "the job is held",
    "job-hold-until": "the job is held",
}
"""Reasons that waiting will not cure; said at once, and the job stays in its queue."""


@dataclass(frozen=True, slots=True)
class PrintAnswer:
    """What became of a print job.

    ``state``: ``done`` (the queue has handed all of it to the printer), ``waiting`` (in the queue, not
    printed yet), ``unknown`` (nobody says whether it was printed) or ``refused``. ``says`` is for a person.
    ``job`` is the queue's own name for it; None when the queue did not say that it took it.
    """

    state: str
    says: str
    job: str | None = None

    @property
    def ok(self) -> bool:
        """Whether the queue itself says that the job is printed."""
        return self.state == "done"


class PrinterUnavailable(RuntimeError):  # noqa: N818 - said to people as it is
    """This machine has no `lp`, so nothing can be handed to a print queue."""

    def __init__(self) -> None:
        self.says = (
            "this machine has no print command (lp); the PDF is written and can be printed by hand, "
            "or install one: apt-get install cups-client"
        )
        super().__init__(self.says)


class PrinterSilent(RuntimeError):  # noqa: N818 - said to people as it is
    """The print service is there and does not answer."""

    def __init__(self, seconds: float) -> None:
        self.says = f"the print service did not answer within {seconds:g} s; ask whoever looks after it"
        super().__init__(self.says)


class PrinterGone(PrinterSilent):
    """The print service took the pages and has ended since."""

    def __init__(self) -> None:
        RuntimeError.__init__(self)
        self.says = "the print service went away; ask whoever looks after it"


def send(
    pdf: Path,
    printer: str,
    copies: int = 1,
    media: str | None = None,
    *,
    wait_s: float = 60.0,
    sleep: Callable[[float], None] = time.sleep,
) -> PrintAnswer:
    """Hand ``pdf`` to the queue ``printer`` and wait up to ``wait_s`` seconds for the job's end.

    `lp` says "accepted" even if the printer fails a second later, so the job's own state is asked for until
    it is printed, given up, held, or the time is over. ``media`` is a paper name the queue knows: ``A5``.
    Raises PrinterUnavailable without `lp`; whatever the queue refuses comes back as a PrintAnswer.
    """
    refused = _bad_request(pdf, printer, copies, media)
    if refused:
        return PrintAnswer("refused", refused)
    if shutil.which("lp") is None:
        raise PrinterUnavailable
    media = media or _media_of(pdf)
    options = ["-o", f"media={media}"] if media else []
    command = ["lp", "-d", printer, "-n", str(copies), "-t", pdf.stem, *options, "--", str(pdf)]
    try:
        code, out, err = _ask(command, HAND_OVER_S)
    except PrinterSilent as silent:
        says = f"{silent.says}. Whether it took the pages is not known: look at the printer first"
        return PrintAnswer("unknown", says)
    found = _JOB_ID.search(out)
    if code != 0 or not found:
        return PrintAnswer("refused", _refusal(printer, err or out))
    return _await(found[1], int(found[2]), printer, wait_s, sleep)


_NAMED = {(148, 210): "A5", (105, 148): "A6", (210, 297): "A4", (216, 279): "Letter"}


def _media_of(pdf: Path) -> str | None:
    """The queue's name for the size of the first page, whichever way it lies; None where unreadable."""
    found = re.search(rb"/MediaBox\s*\[([^\]]*)\]", pdf.read_bytes())
    if not found:
        return None
    left, low, right, high = (float(number) for number in found[1].split())
    short, long = sorted(round(side * 25.4 / 72) for side in (right - left, high - low))
    return _NAMED.get((short, long), f"Custom.{short}x{long}mm")


def printers() -> tuple[str, ...]:
    """The queues this machine knows; empty without any, or without CUPS. Raises PrinterSilent."""
    if shutil.which("lpstat") is None:
        return ()
    _, out, _ = _ask(["lpstat", "-e"])
    return tuple(line.strip() for line in out.splitlines() if line.strip())


def _bad_request(pdf: Path, printer: str, copies: int, media: str | None) -> str | None:
    if not _NAME.fullmatch(printer):
        return f"“{printer}” cannot be the name of a print queue; `lpstat -e` lists the names here"
    if not 1 <= copies <= 100:
        return f"{copies} copies were asked for; ask for 1 to 100"
    if media is not None and not _MEDIA.fullmatch(media):
        return f"“{media}” is not a paper name; write one like A4, A5 or Letter"
    if not pdf.is_file():
        return f"there is no file {pdf} to print; make the page first"
    return None


def _await(job: str, number: int, printer: str, wait_s: float, sleep: Callable[[float], None]) -> PrintAnswer:
    """Ask until there is an answer, no longer than ``wait_s`` and the one question then under way."""
    last, said, silent = time.monotonic() + wait_s, "", None
    server = _server()
    asks = max(1, round(wait_s / POLL_S))
    for attempt in range(asks):
        try:
            answer, said = _look(server, job, number, printer)
            silent = None
        except PrinterSilent as nothing:
            answer, silent = None, nothing
        if answer is not None:
            return answer
        if attempt + 1 == asks or time.monotonic() >= last:
            break
        sleep(POLL_S)
    if silent is not None:
        says = f"{printer} took job {job}, then {silent.says}. Whether it is printed is not known"
        return PrintAnswer("unknown", says, job)
    says = f"job {job} is still in the queue of {printer} after {wait_s:g} s{said}; look at the printer"
    return PrintAnswer("waiting", says, job)


def _look(server: str, job: str, number: int, printer: str) -> tuple[PrintAnswer | None, str]:
    """What became of the job, None while it is on its way, and the printer's word. Raises PrinterSilent."""
    try:
        state = ask_job(server, number, _user())
    except NoAnswer:
        return _left_unseen(job, printer), ""
    return _verdict(job, printer, state), _because(state)


def _user() -> str:
    """The name `lp` gave for us; a user without an entry in the list of users has none."""
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "unknown"


def _verdict(job: str, printer: str, state: Job) -> PrintAnswer | None:
    """What the service says of the job; None while it is still on its way."""
    match state.state:
        case JobState.COMPLETED:
            return PrintAnswer("done", f"{printer} has printed job {job}", job)
        case JobState.ABORTED | JobState.CANCELED:
            word = "gave up" if state.state is JobState.ABORTED else "cancelled"
            says = f"{printer} {word} job {job}{_because(state)}; do not count it as printed"
            return PrintAnswer("refused", says, job)
    stuck = next((WAITS_FOR[reason] for reason in state.reasons if reason in WAITS_FOR), None)
    if stuck is None and state.state is JobState.PENDING and _queue_stopped(printer):
        stuck = WAITS_FOR["printer-stopped"]
    if stuck is None:
        return None
    says = f"job {job} waits in the queue of {printer}: {stuck}{_because(state)}; it is not printed yet"
    return PrintAnswer("waiting", says, job)


def _queue_stopped(printer: str) -> bool:
    """Whether the queue itself is switched off; a job behind another one gets no reason of its own."""
    _, out, _ = _ask(["lpstat", "-p", printer])
    return out.startswith(f"printer {printer} disabled")


def _because(job: Job) -> str:
    return f" ({job.message.strip()})" if job.message.strip() else ""


def _left_unseen(job: str, printer: str) -> PrintAnswer | None:
    """Without IPP only the queue's list is left, which does not tell a printed job from one given up.

    Raises PrinterSilent, PrinterGone.
    """
    code, out, _ = _ask(["lpstat", "-W", "not-completed", "-o"])
    if code not in (0, CANNOT_RUN):
        raise PrinterGone
    if code == CANNOT_RUN or any(line.split()[:1] == [job] for line in out.splitlines()):
        return None
    says = f"job {job} has left the queue of {printer}, but the queue does not say whether it was printed"
    return PrintAnswer("unknown", f"{says}; look at the printer", job)


def _server() -> str:
    """Where the print service listens, as its own client says."""
    with suppress(PrinterSilent):
        _, out, _ = _ask(["lpstat", "-H"])
        if out.strip():
            return out.strip()
    return "localhost:631"


def _refusal(printer: str, text: str) -> str:
    """The queue's own words, with what to do about the common ones."""
    said = re.sub(r"^lp(stat)?:\s*(Error\s*-\s*)?", "", text.strip()).strip() or "no reason given"
    low = said.lower()
    if "does not exist" in low:
        missing = f"there is no print queue {printer} here, or the print service does not run"
        return f"{missing}; `lpstat -e` lists the names"
    if "not accepting" in low:
        return f"{printer} takes no jobs at the moment; ask whoever looks after it"
    return f"{printer} refused the job: {said}"


def _ask(command: Sequence[str], within_s: float | None = None) -> tuple[int, str, str]:
    """Run one print command in plain English: its exit code, output and error text. Raises PrinterSilent."""
    seconds = LOOK_S if within_s is None else within_s
    environment = {**os.environ, "LC_ALL": "C", "LANGUAGE": "C"}
    try:
        ran = subprocess.run(
            command,
            capture_output=True,
            text=True,
            errors="replace",
            timeout=seconds,
            env=environment,
            stdin=subprocess.DEVNULL,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise PrinterSilent(seconds) from None
    except OSError as cannot:
        return CANNOT_RUN, "", f"{command[0]} cannot be run ({cannot.strerror})"
    return ran.returncode, ran.stdout, ran.stderr
