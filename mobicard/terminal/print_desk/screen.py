"""The print desk: which doors no longer match, their cards as they will hang, printing, what hangs now."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual import events, work
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option
from textual.worker import get_current_worker

from mobicard.ledger import LedgerError
from mobicard.terminal.asking import Choose, Write
from mobicard.terminal.commands import Place, bindings
from mobicard.terminal.looks import Part, badge, hang, safe
from mobicard.terminal.place import PlaceScreen
from mobicard.terminal.print_desk.preview import Preview
from mobicard.terminal.print_desk.work import (
    KINDS,
    SIZES,
    JobsRead,
    PrintChoice,
    PrintDone,
    PrintFailed,
    PrintStep,
    QueuesRead,
    print_cards,
    read_jobs,
    read_queues,
)
from mobicard.ward import DoorJob, WardRefused


class PrintDesk(PlaceScreen):
    """Holds the doors as read, which are picked, and how far the printing is."""

    PLACE = Place.PRINT
    BINDINGS = bindings(Place.PRINT)

    def __init__(self) -> None:
        super().__init__()
        self.jobs: Sequence[DoorJob] = ()
        self.stale: frozenset[str] = frozenset()
        self.picked: set[str] = set()
        self.every = False
        self.printing = ""
        self.last: tuple[str, ...] = ()

    def body(self) -> ComposeResult:
        yield Static("Reading the doors ...", id="desk-says")
        yield OptionList(id="doors", compact=True, markup=False)
        yield Static("", id="desk-press")

    def on_mount(self) -> None:
        self.press = PrintChoice.kept(self.ward.drafts.folder)
        self.query_one("#doors").focus()
        self.read_ledger()

    @property
    def unsaved(self) -> str:
        return "cards are being printed" if self.printing else ""

    def refuse(self, says: str) -> None:
        """Said above the doors: nothing may cover what is to hang."""
        self.last = (says,)
        self._tell()

    def say(self, says: str) -> None:
        self.refuse(says)

    # -- reading -----------------------------------------------------------------------------------

    def looked_up(self) -> JobsRead:
        return read_jobs(self.ward, self.every)

    def minute_passed(self) -> None:
        self.read_ledger()

    def on_jobs_read(self, message: JobsRead) -> None:
        self.jobs, self.stale = message.jobs, message.stale
        self.picked &= {job.stay for job in self.jobs}
        self.paint()

    def on_bed_saved(self) -> None:
        self.read_ledger()

    # -- what is shown -----------------------------------------------------------------------------

    @property
    def _doors(self) -> OptionList:
        return self.query_one("#doors", OptionList)

    @property
    def marked(self) -> DoorJob | None:
        """The door under the mark."""
        place = self._doors.highlighted
        return self.jobs[place] if place is not None and place < len(self.jobs) else None

    def state(self, job: DoorJob) -> str:
        """What is to be done at a door, in two words."""
        if job.hang is None:
            return "take down"
        if job.stay not in self.stale:
            return "matches"
        return "to hang" if job.prepared else "to print"

    def _what(self, job: DoorJob) -> str:
        if job.hang is None:
            return f"take down {job.take_down}: the patient has left"
        if job.take_down:
            return job.says
        return f"{job.hang} hangs" if self.state(job) == "matches" else job.says

    def paint(self) -> None:
        """Show the doors again; the mark stays where it is."""
        place = self._doors.highlighted
        self._doors.set_options([Option(self._row(job), id=job.stay) for job in self.jobs])
        if self.jobs:
            self._doors.highlighted = min(place or 0, len(self.jobs) - 1)
        self._tell()

    def _row(self, job: DoorJob) -> Content:
        parts: list[Part] = [("[x] " if job.stay in self.picked else "[ ] ", "bold"), (f"{job.bed:<9} ", "")]
        if job.level is not None:
            parts += [badge(self.station.scheme.looks[job.level], self.station.depth, width=6), ("  ", "")]
        parts += [(f"{self.state(job):<11} ", "bold"), (safe(self._what(job)), "")]
        return Content.assemble(*parts).truncate(max(self.app.size.width - 3, 20), ellipsis=True)

    def _tell(self) -> None:
        to_print = sum(1 for job in self.jobs if self.state(job) == "to print")
        to_hang = sum(1 for job in self.jobs if self.state(job) == "to hang")
        down = sum(1 for job in self.jobs if job.hang is None)
        says = f"{to_print} to print, {to_hang} printed and to hang, {down} only to take down"
        if self.every:
            says += f", {sum(1 for job in self.jobs if self.state(job) == 'matches')} match"
        if not self.jobs:
            says = "Every door matches: nothing to print, nothing to take down."
        head: list[Part] = [(says, "bold")]
        if self.printing:
            head.append((f"\n{self.printing}", "bold reverse"))
        head += [(f"\n{line}", "") for line in self.last]
        width = max(self.app.size.width - 2, 20)
        self.query_one("#desk-says", Static).update(hang(head, width))
        press = self.press
        where = f"{press.kinds_say}, {press.size_says(self.ward.settings.stock)}, to {press.folder}"
        where += f" and printer {press.queue}" if press.queue else "; no printer"
        self.query_one("#desk-press", Static).update(hang([("Prints ", "bold"), (safe(where), "")], width))
        self.banner.state = f"{len(self.picked)} picked" if self.picked else ""

    def on_resize(self, event: events.Resize) -> None:
        super().on_resize(event)
        if self.is_mounted and self.jobs:
            self.call_after_refresh(self.paint)

    # -- choosing ----------------------------------------------------------------------------------

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        self.action_preview()

    def action_pick(self) -> None:
        if self.marked is not None:
            self.picked ^= {self.marked.stay}
            place = self._doors.highlighted or 0
            self.paint()
            self._doors.highlighted = min(place + 1, len(self.jobs) - 1)

    def action_pick_all(self) -> None:
        every = {job.stay for job in self.jobs}
        self.picked = set() if self.picked == every else every
        self.paint()

    def action_preview(self) -> None:
        if self.marked is not None:
            self.app.push_screen(Preview(self.marked))

    def action_every_door(self) -> None:
        self.every = not self.every
        self.read_ledger()

    def _chosen(self, fits: Callable[[DoorJob], bool]) -> list[DoorJob]:
        """The picked doors that fit; without any picked, all that fit."""
        return [job for job in self.jobs if fits(job) and (not self.picked or job.stay in self.picked)]

    # -- printing ----------------------------------------------------------------------------------

    def action_print_cards(self) -> None:
        if not self.ward.may("prepared"):
            self.refuse("Cards are printed by a nurse or a clerk; your role reads.")
        elif self.printing:
            self.refuse("Cards are being printed; wait until they are done.")
        else:
            wanted = self._chosen(
                lambda job: job.hang is not None and (bool(self.picked) or not job.prepared)
            )
            if wanted:
                self.with_initials(lambda: self._print(wanted))
            else:
                self.say("No door needs a card. Pick doors with Space to print them all the same.")

    def _print(self, jobs: Sequence[DoorJob]) -> None:
        self.printing = f" Printing {len(jobs)} doors ... "
        self.last = ()
        self._tell()
        beds = [job.bed for job in jobs]
        self.run_worker(lambda: self._work(beds), thread=True, exclusive=True, group="print")

    def _work(self, beds: Sequence[str]) -> None:
        def step(says: str, done: int, whole: int) -> None:
            self.post_message(PrintStep(f" {says.replace('-', ' ')}: {done} of {whole} "))

        self.post_message(print_cards(self.ward, beds, self.press, step))

    def on_print_step(self, message: PrintStep) -> None:
        if self.printing:
            self.printing = message.says
            self._tell()

    def on_print_done(self, message: PrintDone) -> None:
        self.printing = ""
        files = ", ".join(path.name for path in message.files)
        many = "1 door" if message.doors == 1 else f"{message.doors} doors"
        self.last = (f"Printed for {many}: {files}", *message.says, "When they hang: U")
        self.picked = set()
        self.read_ledger()

    def on_print_failed(self, message: PrintFailed) -> None:
        self.printing = ""
        self.refuse(message.says)

    # -- hanging -----------------------------------------------------------------------------------

    def action_hung(self) -> None:
        if not self.ward.may("hung"):
            self.refuse("What hangs is said by a nurse or a clerk; your role reads.")
            return
        unprinted = [job.bed for job in self._chosen(lambda job: self.state(job) == "to print")]
        if self.picked and unprinted:
            self.refuse(f"{', '.join(unprinted)}: the new card is not printed yet. P prints it.")
            return
        jobs = self._chosen(lambda job: job.prepared or job.hang is None)
        if not jobs:
            self.say("No printed card waits to be hung.")
            return
        self.with_initials(lambda: self._ask_hung(jobs))

    def _ask_hung(self, jobs: Sequence[DoorJob]) -> None:
        lines = "\n".join(f"{job.bed}: {safe(self._what(job))}" for job in jobs[:14])
        more = f"\nand {len(jobs) - 14} more" if len(jobs) > 14 else ""

        def sure(key: str | None) -> None:
            if key == "y":
                self._note_hung(jobs)

        asks = f"Do these {len(jobs)} doors look so now?" if len(jobs) > 1 else "Does this door look so now?"
        choices = [("y", "yes: the new cards hang, the old ones are down"), ("n", "not yet")]
        waits = ", ".join(self.ward.doors.waiting(jobs))
        note = (
            f"\nThe queue had not printed these when they were sent, have you seen them? {waits}"
            if waits
            else ""
        )
        self.app.push_screen(Choose(asks, choices, lines + more + note), sure)

    def _note_hung(self, jobs: Sequence[DoorJob]) -> None:
        try:
            count = self.ward.doors.confirm_hung(jobs)
        except (WardRefused, LedgerError) as refused:
            self.refuse(refused.says)
        else:
            self.say(f"{count} door{'' if count == 1 else 's'} noted as hung by {self.ward.by}.")
        self.picked = set()
        self.read_ledger()

    # -- where and how -----------------------------------------------------------------------------

    def action_folder(self) -> None:
        def given(text: str | None) -> None:
            if text:
                self.press.folder = text
                self._kept()

        self.app.push_screen(Write("The folder for the pages", self.press.folder, limit=300), given)

    @work(thread=True, exclusive=True, group="queues")
    def action_queue(self) -> None:
        """Ask for the queues, in a thread."""
        answer = read_queues()
        if not get_current_worker().is_cancelled:
            self.post_message(answer)

    def on_queues_read(self, message: QueuesRead) -> None:
        names = message.names
        choices = [("n", "no printer: the pages stay in the folder")]
        choices += [(str(number), name) for number, name in enumerate(names, 1)]

        def given(key: str | None) -> None:
            if key:
                self.press.queue = "" if key == "n" else names[int(key) - 1]
                self._kept()

        if self.is_current:
            self.app.push_screen(Choose("Which printer?", choices, message.says), given)

    def action_kinds(self) -> None:
        names = list(KINDS)
        self.press.kinds = names[(names.index(self.press.kinds) + 1) % len(names)]
        self._kept()

    def action_size(self) -> None:
        self.press.size = (self.press.size + 1) % len(SIZES)
        self._kept()

    def _kept(self) -> None:
        self.press.keep(self.ward.drafts.folder)
        self._tell()

    def action_leave_desk(self) -> None:
        if self.printing:
            self.refuse("Cards are being printed; wait until they are done.")
        else:
            self.dismiss()
