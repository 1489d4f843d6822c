"""Every command once: from here come its key, footer word, palette line, help line and README row."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import partial

from textual.binding import Binding, BindingType


class Place(StrEnum):
    """Where a command works; the value is the place's name as shown."""

    EVERYWHERE = "Everywhere"
    BOARD = "Board"
    RECORD = "Record"
    ROUND = "Round"
    FALL = "After a fall"
    OVERRIDE = "Own judgement"
    PRINT = "Print desk"
    HANDOFF = "Handoff"
    HANDS = "Hands"
    BRIEF = "Brief"


@dataclass(frozen=True, slots=True)
class Command:
    """One thing a person can ask for. ``action`` names the screen's ``action_...`` method."""

    action: str
    keys: str
    label: str
    says: str
    footer: bool = True
    palette: bool = True

    @property
    def binding(self) -> Binding:
        """The same command as Textual binds it."""
        return Binding(self.keys, self.action, self.label, show=self.footer, tooltip=self.says)

    @property
    def short_key(self) -> str:
        """The first key in few cells, as the bottom line has it: ``^S``, ``Esc``."""
        return shown_key(self.keys.split(",")[0]).replace("Ctrl+", "^").replace("Backspace", "Bksp")

    @property
    def shown_keys(self) -> str:
        """The keys as people read them: ``Ctrl+S or F2``."""
        return " or ".join(shown_key(key) for key in self.keys.split(","))


C = Command
Q = partial(Command, footer=False)
"""A quiet one: the footer has no room for it."""

LANGUAGE = {
    "Why": "w,ctrl+y,f4",
    "Open": "i",
    "Judge": "o,ctrl+o,f6",
    "Fall": "f,ctrl+f,f10",
    "Head": "g,ctrl+g",
    "Orders": "d",
    "Print": "p",
    "Handoff": "h",
    "Save": "ctrl+s,f2",
    "Undo": "ctrl+z,f3",
    "Brief": "b,ctrl+b,f11",
    "Take back": "ctrl+u,f7",
    "Held": "ctrl+k,f8",
    "Screen": "ctrl+r,f9",
    "Lock": "ctrl+l,f12",
    "Back": "escape,q",
    "Quit": "ctrl+q",
}
"""What is found in several places, by its footer word: its keys mean this wherever they mean anything.

Letters answer questions in the Record and after a fall; there a Ctrl key does it, and a function key where
the terminal gives it to programs. A browser keeps Ctrl+N, Ctrl+T and Ctrl+W: none of these is used.
"""

COMMANDS: dict[Place, tuple[Command, ...]] = {
    Place.EVERYWHERE: (
        C("help", "question_mark,f1", "Help", "What every key does in this place", palette=False),
        Q("command_palette", "ctrl+p", "Find", "Find any command by its words", palette=False),
        Q("next_theme", "ctrl+r,f9", "Screen", "Light, dark or high-contrast screen"),
        Q("lock", "ctrl+l,f12", "Lock", "Hide the screen until somebody signs in again"),
        Q("held", "ctrl+k,f8", "Held", "Settle a save that waited on this station while the ledger was away"),
        Q("take_back", "ctrl+u,f7", "Take back", "Take back your last save, for ten minutes after it"),
        Q("leave", "ctrl+q", "Quit", "Leave mobicard; asks if answers are unsaved"),
    ),
    Place.BOARD: (
        C("open", "enter,i", "Open", "The whole record of the marked bed"),
        C("round", "r", "Round", "Go through your beds one after the other"),
        C("fall", LANGUAGE["Fall"], "Fall", "Somebody has fallen: the steps, one question at a time"),
        C("print", "p", "Print", "The print desk: doors that no longer match"),
        C("handoff", "h", "Handoff", "What the next shift needs to know"),
        C("brief", "b", "Brief", "How a move of the marked bed is done now; then the move's letter"),
        C("why", LANGUAGE["Why"], "Why", "Why the marked bed has its level"),
        C("admit", "n", "New", "A new patient in a bed"),
        C("filter", "slash", "Filter", "Show only the beds that contain what you type"),
        C("sort", "s", "Sort", "Sort by bed, level, due, door or fall risk, one after the other"),
        C("override", LANGUAGE["Judge"], "Judge", "Set another level by your own judgement, with a reason"),
        Q("head", "g", "Head", "Note a head observation, or stop them by name"),
        Q("hands", "t", "Hands", "Who helps whom, when, and with which lift"),
        Q("orders", "d", "Orders", "Orders of the marked bed: until when, or over and who says so"),
        Q("assign", "a", "Assign", "Who looks after the marked bed"),
        Q("mine", "m", "Mine", "Only the beds assigned to you, or all again"),
        Q("move", "v", "Move", "Move the patient of the marked bed to another bed"),
        Q("discharge", "x", "Discharge", "The patient of the marked bed has left"),
        Q(
            "correct",
            "c",
            "Correct",
            "What was recorded for the marked bed, old -> new; undo a wrong entry",
        ),
        Q(
            "operation",
            "e",
            "Operation",
            "The marked patient had an operation: look again before moving",
        ),
        Q("readmit", "u", "Readmit", "Take up again the stay of a patient who had left"),
        Q("card", "y", "Card", "Scan or type the code of a card: does it still hold?"),
        Q("census", "l", "List", "Take in a bed list: admissions, moves, discharges"),
        Q("clear", "escape", "Back", "Drop the filter and the typed bed number", palette=False),
    ),
    Place.RECORD: (
        C("save", "ctrl+s,f2", "Save", "Save what was answered"),
        C("leave_form", "escape", "Back", "Back to the board; asks if answers are unsaved"),
        C("next_section", "tab", "Section", "To the next section", palette=False),
        Q("previous_section", "shift+tab", "Back a section", "To the section before", palette=False),
        C("undo", "ctrl+z,f3", "Undo", "Take back the last answer"),
        Q("clear_answer", "backspace,delete", "Blank", "Not assessed: take the marked answer away"),
        C("to_card", "right", "Card", "To the derived card, to open its reasons"),
        Q("to_form", "left", "Form", "Back to the questions"),
        Q("why", "ctrl+y,f4", "Why", "Why: the derived card and its reasons over the whole screen, or both"),
        C("find", "slash", "Seek", "Go to a question by a word of it"),
        C("confirm_last", "ctrl+e,f5", "Same", "The marked section was seen again and is as last recorded"),
        Q("override", "ctrl+o,f6", "Judge", "Set another level by your own judgement, with a reason"),
        C("fall", "ctrl+f,f10", "Fall", "This patient has fallen, or go on after a fall"),
        Q("brief", "ctrl+b,f11", "Brief", "How a move is done as last recorded; then the move's letter"),
    ),
    Place.ROUND: (
        C("same", "s", "Same", "Same as before, seen just now; Enter then records it and goes on"),
        C("answer", "a", "Ask", "Answer only what is asked for at this bed"),
        C("change", "c", "Change", "Choose the one fact that changed"),
        C("whole", "i", "Open", "The whole record of this bed"),
        C("later", "right", "Later", "Leave this bed for later; on to the next"),
        C("back_bed", "left", "Before", "To the bed before"),
        C("why", LANGUAGE["Why"], "Why", "Why this bed has its level"),
        C("whose", "m", "Beds", "Whose beds: yours, all, or somebody else's"),
        Q("order", "r", "Order", "Falls, overdue and due beds first, or the order of the unit"),
        C("end", "e", "End", "What the round changed, and which doors need a new card"),
        Q("fall", LANGUAGE["Fall"], "Fall", "This patient has fallen, or go on after a fall"),
        Q("head", "g", "Head", "Note a head observation, or stop them by name"),
        Q("override", LANGUAGE["Judge"], "Judge", "Set another level by your own judgement, with a reason"),
        C("orders", "d", "Orders", "Orders of this bed: still so, until when, or over and who says so"),
        Q("brief", "b", "Brief", "How a move of this bed is done now; then the move's letter"),
        C("pause", "escape", "Back", "Back to the board; the round waits where it stands", palette=False),
    ),
    Place.FALL: (
        C("undo", "ctrl+z,f3,backspace,left", "Undo", "Take the last answer back"),
        C("go_on", "enter", "Go on", "Once the patient is up: assess again", palette=False),
        C("save", "ctrl+s,f2", "Save", "Record the fall as far as it is known"),
        C("why", "ctrl+y,f4", "Why", "Why the patient may or may not be moved"),
        C(
            "examine_again",
            "ctrl+e,f5",
            "Examined",
            "The patient was examined again: neck, findings, how up",
        ),
        Q("head", "ctrl+g", "Head", "Note a head observation, or stop them by name"),
        Q("another", "ctrl+f,f10", "Fall", "The patient has fallen again"),
        C("leave_fall", "escape", "Back", "Back; asks what to do with answers not recorded", palette=False),
    ),
    Place.OVERRIDE: (
        C("withdraw", "backspace,delete", "Withdraw", "Take the judgement in force back"),
        C("why", "ctrl+y,f4", "Why", "Why the bed has its derived level"),
        C("leave_override", "escape", "Back", "Back without judging", palette=False),
    ),
    Place.PRINT: (
        C("pick", "space", "Pick", "Pick the marked door, or not"),
        C("pick_all", "a", "All", "Pick every door, or none"),
        C("preview", "v", "View", "The marked door's card as it will hang"),
        C("print_cards", "p", "Print", "Print the cards of the picked doors, or all that are to print"),
        C("hung", "u", "Hung", "The printed cards hang and the old ones are down"),
        Q("every_door", "e", "Every", "Every door, or only those with something to do"),
        C("folder", "t", "To folder", "The folder the pages are written to"),
        C("queue", "s", "Send to", "The printer the pages are sent to, or none"),
        Q("kinds", "c", "Cards", "Door cards, bedside cards, or both; the shift's briefs behind"),
        Q("size", "z", "Size", "The size of the door cards"),
        C("leave_desk", "escape", "Back", "Back to the board", palette=False),
    ),
    Place.HANDOFF: (
        C("turn_view", "v", "View", "All of it, or the bed under the mark alone"),
        C("next_bed", "right", "Next", "The next bed, alone"),
        C("previous_bed", "left", "Before", "The bed before, alone"),
        C("read", "r", "Read back", "You have said this bed back and take it over"),
        C("read_all", "a", "All read", "You have said all of them back and take them over"),
        C("question", "u", "Question", "A question left open at this bed, or the open ones settled"),
        C("whose", "m", "Beds", "Whose beds: the unit, or those of one person"),
        C("since", "s", "Since", "What changed since when: the shift, your last time here, any time"),
        C("leave_handoff", "escape", "Back", "Back to all of it, then to the board", palette=False),
    ),
    Place.HANDS: (
        C("reached", "y", "Done", "The marked move was done"),
        C("partly", "a", "A part", "The marked move was done in part"),
        C("not_done", "n", "Not", "The marked move was not done, and why"),
        C("turn_view", "v", "View", "The timeline by person or by bed"),
        C("replan", "r", "Again", "Plan the rest of the shift again from now"),
        C("brief", "b", "Brief", "How the marked move is done now"),
        C("leave_hands", "escape", "Back", "Back to the board", palette=False),
    ),
    Place.BRIEF: (
        C("done", "y", "Done", "It went as planned"),
        C("more_help", "m", "More help", "It took more than planned: how many people"),
        C("stopped", "s", "Stopped", "It was stopped, and why"),
        C("refused", "r", "Refused", "The patient refused, and why"),
        C("people", "a", "Who", "Who helps, with statures for the bed's height"),
        C("why", LANGUAGE["Why"], "Why", "Why each line stands, and its source"),
        C("brief", "b", "Brief", "Another move of this bed"),
        C("leave_brief", "escape", "Back", "Back without noting how it went", palette=False),
    ),
}
"""Every command of every place, in the order footer and help show them."""


def bindings(place: Place) -> list[BindingType]:
    """The place's commands as key bindings, for a screen's ``BINDINGS``."""
    return [command.binding for command in COMMANDS[place]]


def commands_at(place: Place) -> Iterator[Command]:
    """The place's own commands, then those that work everywhere."""
    yield from COMMANDS[place]
    if place is not Place.EVERYWHERE:
        yield from COMMANDS[Place.EVERYWHERE]


def key_for(place: Place, action: str) -> str:
    """The key a sentence names for a command of a place, as its bottom line has it first."""
    return next(shown_key(one.keys.split(",")[0]) for one in COMMANDS[place] if one.action == action)


_NAMES = {"slash": "/", "question_mark": "?", "escape": "Esc", "backspace": "Backspace", "shift": "Shift"}


def shown_key(key: str) -> str:
    """A key as people read it: ``Ctrl+S``."""
    parts = key.split("+")
    named = [_NAMES.get(part, part.upper() if len(part) == 1 and len(parts) > 1 else part) for part in parts]
    return "+".join(part if len(part) == 1 else part[0].upper() + part[1:] for part in named)
