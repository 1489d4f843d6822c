"""The print desk by keyboard: what no longer matches, a card shown, pages written by a worker, doors hung."""

from __future__ import annotations

from pathlib import Path

import pytest

from mobicard.paper import pdf
from mobicard.paper.door.face import BedCard
from mobicard.paper.door.says import door_face
from mobicard.paper.printer import queue as printer
from mobicard.terminal.print_desk.screen import PrintDesk
from mobicard.terminal.print_desk.work import PrintChoice
from mobicard.ward import Door
from tests.terminal.staff import signed_in


@pytest.fixture
def pages(ward, tmp_path: Path) -> Path:
    """The folder the desk writes to."""
    folder = tmp_path / "pages"
    PrintChoice(str(folder), kinds="door").keep(ward.drafts.folder)
    return folder


async def go_desk(nurse) -> PrintDesk:
    """From the Board to the print desk."""
    await nurse.press("p")
    screen = nurse.app.screen
    assert isinstance(screen, PrintDesk)
    return screen


async def test_it_lists_what_no_longer_matches(opened, pages):
    """Every door whose card is old or missing, with what to hang and what to take down; no other."""
    async with opened(size=(100, 40)) as nurse:
        await go_desk(nurse)
        for view in nurse.ward.board():
            if view.door is Door.CURRENT:
                assert view.bed not in nurse.screen
            elif view.assessed:
                assert f"hang {view.door_code}" in nurse.screen
                assert f"take down {view.hung_code}" in nurse.screen


async def test_a_card_of_an_ended_stay_is_to_be_taken_down(opened, ward, pages):
    """The patient has left: the door's card stands first, only to be taken down, and is noted as down."""
    code = ward.find("5N-01").hung_code
    ward.stays.discharge(ward.find("5N-01"))
    async with opened() as nurse:
        desk = await go_desk(nurse)
        assert f"take down {code}: the patient has left" in nurse.screen
        await nurse.press("space", "u", "y")
        assert code not in nurse.screen
        assert all(job.take_down != code for job in desk.jobs)


async def test_the_card_is_shown_as_it_will_hang(opened, ward, pages):
    """V: the words of the printed door card, its level's word spaced out, its code."""
    async with opened(size=(100, 40)) as nurse:
        desk = await go_desk(nurse)
        await nurse.press("v")
        job = desk.jobs[0]
        face = door_face(BedCard(job.plan, job.record), ward.settings.scheme, ward.policy, ward.now)
        shown = " ".join(nurse.screen.split())
        numbers = (number.says for number in face.numbers)
        for words in (" ".join(face.word), face.sub_line, *numbers, *face.items, face.code):
            assert " ".join(words.split())[:40] in shown


async def test_picked_doors_are_printed_then_hung(opened, pages):
    """Space, P: pages and slip on disk, the door prepared; K, Y: it hangs, noted with who."""
    async with opened(size=(100, 40)) as nurse:
        desk = await go_desk(nurse)
        bed = desk.jobs[1].bed
        await nurse.press("down", "space", "p")
        assert sorted(path.name for path in pages.iterdir()) == [
            "door-cards.html",
            "door-cards.pdf",
            "slip.html",
            "slip.pdf",
        ]
        assert (pages / "door-cards.pdf").read_bytes().startswith(b"%PDF")
        assert bed in (pages / "door-cards.html").read_text()
        assert nurse.bed(bed).door is Door.PREPARED
        assert nurse.bed(desk.jobs[0].bed).door is Door.OUT_OF_DATE
        await nurse.press("u")
        assert "Does this door look so now?" in nurse.screen
        await nurse.press("y")
        assert nurse.bed(bed).door is Door.CURRENT
        assert bed not in {job.bed for job in desk.jobs}


async def test_a_door_not_printed_cannot_be_hung(opened, pages):
    """K on a picked door whose card was not printed: refused, the door stays old."""
    async with opened() as nurse:
        desk = await go_desk(nurse)
        await nurse.press("space", "u")
        assert "not printed yet" in nurse.screen
        assert nurse.bed(desk.jobs[0].bed).door is Door.OUT_OF_DATE


async def test_a_card_that_became_old_while_printing_is_not_hung(opened, ward, pages):
    """The plan changed after printing: hanging is refused with the bed's name."""
    async with opened(size=(100, 40)) as nurse:
        desk = await go_desk(nurse)
        place, bed = next((n, job.bed) for n, job in enumerate(desk.jobs) if job.bed != "5N-17")
        await nurse.press(*["down"] * place, "space", "p")
        await nurse.press("u")
        view = ward.find(bed)
        changed = {**view.record.as_json().get("weight_bearing", {}), "right_arm": {"status": "TTWB"}}
        ward.save(view.stay, view.record.changed(weight_bearing=changed), view.version)
        await nurse.press("y")
        assert f"{bed}: the plan changed after this card was printed" in nurse.screen
        assert nurse.bed(bed).door is Door.OUT_OF_DATE


async def test_without_pdf_the_pages_are_html_and_it_is_said(opened, pages, monkeypatch):
    """A machine that cannot write PDF: HTML pages, and the one line that says how to mend it."""

    def refused(*_args: object) -> None:
        raise pdf.PdfUnavailable("install the fonts library")

    monkeypatch.setattr(pdf, "write_pdf", refused)
    async with opened(size=(100, 40)) as nurse:
        desk = await go_desk(nurse)
        await nurse.press("space", "p")
        assert "Only HTML pages were written" in nurse.screen
        assert "install the fonts library" in nurse.screen
        assert sorted(path.suffix for path in pages.iterdir()) == [".html", ".html"]
        assert nurse.bed(desk.jobs[0].bed).door is Door.PREPARED


async def test_what_the_printer_says_is_shown(opened, pages, ward, monkeypatch):
    """With a queue chosen the slip goes first; once it is refused no card is sent nor noted as printed."""
    sent: list[tuple[str, str]] = []

    def send(path: Path, queue: str, copies: int) -> printer.PrintAnswer:
        sent.append((path.name, queue))
        return printer.PrintAnswer("refused", "the tray is empty")

    monkeypatch.setattr(printer, "send", send)
    monkeypatch.setattr(printer, "printers", lambda: ("corridor",))
    async with opened(size=(100, 40)) as nurse:
        await go_desk(nurse)
        await nurse.press("s", "1", "space", "p")
        assert sent == [("slip.pdf", "corridor")]
        assert "the tray is empty" in nurse.screen
        assert Door.PREPARED not in {view.door for view in ward.board()}
        assert PrintChoice.kept(ward.drafts.folder).queue == "corridor"


async def test_a_print_service_that_is_silent_is_said(opened, pages, monkeypatch):
    """It is not taken for one that knows no printer; the screen goes on meanwhile."""

    def silent() -> tuple[str, ...]:
        raise printer.PrinterSilent(5)

    monkeypatch.setattr(printer, "printers", silent)
    async with opened(size=(100, 40)) as nurse:
        await go_desk(nurse)
        await nurse.press("s")
        assert "The print service did not answer within 5 s" in nurse.screen
        assert "no printer: the pages stay in the folder" in nurse.screen


async def test_a_folder_that_cannot_be_written_is_said(opened, ward, tmp_path):
    """A file stands where the folder should be: said in words, nothing noted as printed."""
    (tmp_path / "pages").write_text("in the way")
    PrintChoice(str(tmp_path / "pages"), kinds="door").keep(ward.drafts.folder)
    async with opened(size=(100, 40)) as nurse:
        desk = await go_desk(nurse)
        await nurse.press("space", "p")
        assert "cannot be written" in nurse.screen
        assert nurse.bed(desk.jobs[0].bed).door is Door.OUT_OF_DATE


async def test_the_shifts_briefs_are_printed_behind_the_bedside_cards(opened, ward, tmp_path, monkeypatch):
    """Chosen with C and kept; in the file behind each card; the queue gets them once."""
    sent: list[str] = []

    def send(path: Path, queue: str, copies: int) -> printer.PrintAnswer:
        sent.append(path.name)
        return printer.PrintAnswer("printed", "printed", "corridor-7")

    monkeypatch.setattr(printer, "send", send)
    folder = tmp_path / "pages"
    PrintChoice(str(folder), queue="corridor", kinds="both").keep(ward.drafts.folder)
    async with opened(size=(100, 40)) as nurse:
        await go_desk(nurse)
        await nurse.press("c")
        assert "bedside cards, the shift's briefs behind" in nurse.screen
        await nurse.press("c")
        assert "door and bedside cards, the shift's briefs behind" in nurse.screen
        await nurse.press("space", "p")
        names = {path.name for path in folder.iterdir()}
        assert {"bedside-cards.pdf", "bedside-briefs.pdf"} <= names
        assert "bedside-cards.pdf" in sent
        assert "bedside-briefs.pdf" not in sent
    assert PrintChoice.kept(ward.drafts.folder).kinds == "all"


async def test_a_reader_prints_nothing(opened, ward, pages):
    """The role is told so in words."""
    signed_in(ward, "reader")
    async with opened() as nurse:
        await go_desk(nurse)
        await nurse.press("p")
        assert "printed by a nurse or a clerk" in nurse.screen
        assert not pages.exists()


async def test_what_waits_in_the_queue_is_asked_about_before_it_hangs(opened, pages, ward, monkeypatch):
    """The queue has the cards and printed none: who notes them as hung is asked whether they were seen."""

    def send(path: Path, queue: str, copies: int) -> printer.PrintAnswer:
        return printer.PrintAnswer("waiting", "the printer is stopped", "corridor-7")

    monkeypatch.setattr(printer, "send", send)
    monkeypatch.setattr(printer, "printers", lambda: ("corridor",))
    async with opened(size=(100, 40)) as nurse:
        await go_desk(nurse)
        await nurse.press("s", "1", "space", "p")
        assert "the printer is stopped" in nurse.screen
        await nurse.press("u")
        assert "The queue had not printed these" in nurse.screen
