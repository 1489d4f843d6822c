"""``mobicard practise``: an invented patient, what would you do, and then what is derived and why."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

import click

from mobicard.cli.commands.brief.one_move import task_named
from mobicard.cli.station import Station, has_keyboard, print_json
from mobicard.derive.brief.practice import Answered, Case, beside, case, derived, of_the_questions, told
from mobicard.facts.moves import MOVES
from mobicard.facts.words import Level
from mobicard.scheme.scheme import Scheme


@click.command("practise")
@click.option("--case", "number", type=click.IntRange(0), help="The case's number; else the time's.")
@click.option("--move", help="Only this move, like chair or turn.")
@click.option("--show", is_flag=True, help="Ask nothing: the patient, then what is derived.")
@click.option("--json", "as_json", is_flag=True, help="The case and what is derived, as JSON.")
@click.pass_obj
def practise(station: Station, number: int | None, move: str | None, show: bool, as_json: bool) -> None:
    """Practise on an invented patient: level, people, gear, bed height and side, then the derivation.

    Nothing is kept: no answer, no score, no name. The same number gives the same patient.

    \b
    mobicard practise
    mobicard practise --move chair --case 7
    """
    now = station.now
    found = case(_number(number, now), station.policy, now, task_named(move) if move else None)
    if as_json:
        return print_json(_as_json(found, station))
    for line in _patient(found):
        click.echo(line)
    asks = has_keyboard() and not show
    said = _ask(station.settings.scheme) if asks else Answered()
    for line in _derived(found, station, said, asked=asks):
        click.echo(line)
    return None


def _number(number: int | None, now: datetime) -> int:
    return number if number is not None else (now.minute * 60 + now.second) * 1000 + now.microsecond // 1000


def _patient(found: Case) -> Iterator[str]:
    yield f"Case {found.number}: {MOVES[found.task].says}. An invented patient:"
    yield from (f"  {line}" for line in told(found.record, found.task))
    people = ", ".join(f"{one.name} {one.stature_cm:g} cm" for one in found.helpers)
    yield f"  helpers at hand: {people}"


def _ask(scheme: Scheme) -> Answered:
    """Five questions; Enter leaves one out."""
    words = {look.word.casefold(): level for level, look in scheme.looks.items()}
    level = click.prompt(f"Level ({', '.join(words)})", default="", show_default=False)
    helpers = click.prompt("How many people, you included", default="", show_default=False)
    gear = click.prompt("Gear", default="", show_default=False)
    height = click.prompt("Bed height, cm", default="", show_default=False)
    side = click.prompt("To which side of the patient (left, right)", default="", show_default=False)
    return Answered(
        _level(level, words), _figure(helpers), gear.strip()[:60], _figure(height), side.strip()[:10] or None
    )


def _level(text: str, words: dict[str, Level]) -> Level | None:
    """The level whose word begins so; None for nothing that fits one alone."""
    said = text.strip().casefold()
    fits = [level for word, level in words.items() if said and word.startswith(said)]
    return fits[0] if len(fits) == 1 else None


def _figure(text: str) -> int | None:
    digits = text.strip()[:4]
    return int(digits) if digits.isdecimal() else None


def _derived(found: Case, station: Station, said: Answered, *, asked: bool) -> Iterator[str]:
    from mobicard.paper.brief.text import brief_text

    plan, brief = derived(found, station.policy, station.now)
    yield ""
    yield f"{'':<8}{'you':<16}derived" if asked else "Derived:"
    for name, yours, ours in beside(said, plan, brief):
        yield f"{name:<8}{yours:<16}{ours}" if asked else f"{name:<8}{ours}"
    yield ""
    yield "Because:"
    for reason in plan.tasks[found.task].reasons:
        yield f"  - {reason.says} ({reason.rule}; {reason.source})"
    yield from (f"  - {line.says} ({line.rule}; {line.source})" for line in of_the_questions(brief))
    yield ""
    yield from brief_text(brief, station.settings.scheme)
    yield "Invented: no patient, no score. Decision support only."


def _as_json(found: Case, station: Station) -> dict[str, object]:
    plan, brief = derived(found, station.policy, station.now)
    return {
        "case": found.number,
        "move": found.task.value,
        "record": found.record.as_json(),
        "plan": plan.tasks[found.task].as_json(),
        "brief": brief.as_json(),
    }
