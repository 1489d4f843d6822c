"""``mobicard plan``: the plan of a record file, why, what if, and the rules themselves."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import click

from mobicard import inflow
from mobicard.cli.station import (
    Refused,
    Station,
    answer,
    cannot_be_read,
    print_json,
    print_line,
    read_input,
)
from mobicard.facts import Record, RecordRefused, read_from_outside
from mobicard.facts.moves import MOVES
from mobicard.facts.refusal import PLAN_ID, RECORD_ID, named, why_not_read, without_spelling
from mobicard.facts.text import harmless
from mobicard.facts.toml_text import read_toml
from mobicard.facts.words import Task


@click.command("plan")
@click.argument("file", required=False, type=click.Path(path_type=Path, allow_dash=True, dir_okay=False))
@click.option("--json", "as_json", is_flag=True, help="Print the whole plan as JSON.")
@click.option("--policy", type=click.Path(path_type=Path, dir_okay=False), help="The facility's policy file.")
@click.option("--now", metavar="ISO", help="Plan as at this ward time, like 2026-03-02T07:10.")
@click.option("--why", "why", type=click.Choice([task.value for task in Task]), help="Say why, for one task.")
@click.option(
    "--if",
    "what_if",
    metavar="FACT=VALUE|WISH",
    multiple=True,
    help="Beside it, the plan with a fact changed; or what a wish takes.",
)
@click.option("--rules", is_flag=True, help="Print every rule, its sentence and its source.")
@click.option("--codes", is_flag=True, help="Observed help in the published codes (Section GG, ICF).")
@click.option(
    "--fhir", is_flag=True, help="FILE is a FHIR bundle of ours: read it back, a JSON line a record."
)
@click.option(
    "--lines", is_flag=True, help="Read JSON lines, write one plan a line (FILE or standard input)."
)
@click.pass_obj
def command(
    station: Station,
    file: Path | None,
    as_json: bool,
    policy: Path | None,
    now: str | None,
    why: str | None,
    what_if: tuple[str, ...],
    rules: bool,
    codes: bool,
    fhir: bool,
    lines: bool,
) -> None:
    """Derive the handling plan of a record FILE (JSON or TOML; - for standard input).

    \b
    mobicard plan examples/03-hip-day-two.json
    mobicard plan examples/03-hip-day-two.json --why chair
    mobicard plan examples/03-hip-day-two.json --if standing=unable
    mobicard plan examples/03-hip-day-two.json --if "walk with 1"
    """
    _one_at_a_time({"if": what_if, "rules": rules, "codes": codes, "fhir": fhir, "lines": lines, "why": why})
    _one_at_a_time({"json": as_json, "why": why})
    station.use_policy(policy)
    station.use_now(now)
    if rules:
        return _rules(as_json)
    if file is None:
        raise click.UsageError("name a record file, or - for standard input (or --rules)")
    if lines:
        return _stream(station, file)
    if fhir:
        return _from_bundle(station, file)
    if codes:
        return _codes(record_from(file))
    record = record_from(file)
    if what_if:
        wishes = len(what_if) == 1 and "=" not in what_if[0]
        return (_wished if wishes else _beside)(station, record, what_if, as_json)
    return _say(station, record, why, as_json)


def _one_at_a_time(asked: Mapping[str, object]) -> None:
    """Two kinds of answer at once would leave one of them out unsaid."""
    said = [f"--{name}" for name, wanted in asked.items() if wanted]
    if len(said) > 1:
        raise click.UsageError(f"{' and '.join(said)} are different answers; ask for one at a time")


def _say(station: Station, record: Record, why: str | None, as_json: bool) -> None:
    """The plan itself: its reasons, its JSON, or text for a person."""
    from mobicard.derive import plan_for

    plan = plan_for(record, station.policy, station.now, station.settings.inventory)
    if why:
        from mobicard.derive.why import explain

        click.echo(explain(plan, Task(why)))
    elif as_json:
        print_json(named(PLAN_ID, plan.as_json()))
    else:
        from mobicard.cli.plan_text import plan_text

        click.echo(plan_text(plan, record, station.settings.scheme))


def record_from(file: Path) -> Record:
    """The record in a file. Raises Refused with every field that cannot be taken."""
    return record_of(facts_from(file), file)


def facts_from(file: Path) -> Mapping[str, Any]:
    """The named facts in a file (JSON or TOML), not yet checked. Raises Refused."""
    facts = _parsed(read_input(file), file)
    if unknown := why_not_read(facts):
        raise Refused(f"{file}: this record cannot be taken:\n  {unknown[0]} {unknown[1]}")
    return without_spelling(facts)


def record_of(facts: Mapping[str, Any], file: Path) -> Record:
    """The record these facts make. Raises Refused with every field that cannot be taken."""
    try:
        return read_from_outside(facts)
    except RecordRefused as refused:
        problems = "\n".join(f"  {problem}" for problem in refused.problems)
        raise Refused(f"{file}: this record cannot be taken:\n{problems}") from None


def _parsed(text: str, file: Path) -> Mapping[str, Any]:
    try:
        data = read_toml(text) if file.suffix == ".toml" else _json(text)
    except RecursionError:
        raise Refused(f"{file}: is nested too deeply to be a record") from None
    except ValueError as broken:
        kind = "TOML" if file.suffix == ".toml" else "JSON"
        raise Refused(f"{file}: cannot be read as {kind} ({broken}); a record is JSON or TOML") from None
    if not isinstance(data, dict):
        raise Refused(f"{file}: holds no record; a record is a set of named facts, starting with the bed")
    return data


def _json(text: str) -> Any:
    """JSON in which every key stands once: a doubled one would silently win over the first."""
    from mobicard.exchange.json_lines import no_number, once

    return json.loads(text, parse_constant=no_number, object_pairs_hook=once)


def _rules(as_json: bool) -> None:
    from mobicard.derive.why import rules_listing
    from mobicard.rules.by_patient.whom import INTENDED_USE

    listing = rules_listing()
    told = (f"{rule.id}\n    {rule.says}\n    Source: {rule.source}\n" for rule in listing)
    lines = (f"{INTENDED_USE}\n", *told, f"{len(listing)} rules")
    answer(as_json, [rule.as_json() for rule in listing], lines)


def _beside(station: Station, record: Record, what_if: tuple[str, ...], as_json: bool) -> None:
    from mobicard.derive.why import what_if as compare

    facts = {}
    for one in what_if:
        name, sign, value = one.partition("=")
        if not sign or not name.strip():
            raise click.UsageError(f"--if wants FACT=VALUE, like standing=supported; got “{one}”")
        facts[name.strip()] = value.strip()
    try:
        before, after, text = compare(record, facts, station.policy, station.now, station.settings.inventory)
    except RecordRefused as refused:
        raise Refused("\n".join(str(problem) for problem in refused.problems)) from None
    except ValueError as wrong:
        raise click.UsageError(f"--if: {wrong}") from None
    answer(as_json, {"before": before.as_json(), "after": after.as_json(), "if": facts}, [text])


def _wished(station: Station, record: Record, what_if: tuple[str, ...], as_json: bool) -> None:
    """What would have to be found otherwise for a wish to hold."""
    from mobicard.derive.what_would_change import read_wish, what_would_change

    (text,) = what_if
    try:
        wish = read_wish(text)
    except ValueError as wrong:
        raise click.UsageError(f"--if: {wrong}") from None
    sets = what_would_change(record, wish, station.policy, station.now, station.settings.inventory)
    told = [[one.as_json() for one in needed] for needed in sets]
    answer(as_json, {"wish": text, "sets": told}, _wish_lines(text, told))


def _wish_lines(text: str, sets: list[list[dict[str, Any]]]) -> Iterator[str]:
    if sets == [[]]:
        yield f"{text}: the plan allows it already."
    elif not sets:
        yield f"{text}: no three facts found better would be enough."
    else:
        yield f"{text}: it would take one of these. Record only what was seen."
        for needed in sets:
            yield "  - " + "; ".join(f"{one['fact']}: {one['now']} -> {one['then']}" for one in needed)


def _stream(station: Station, file: Path) -> None:
    from mobicard.exchange.json_lines import plans_from_lines

    bad = 0
    for plan in plans_from_lines(_lines(file), station.policy, station.now, station.settings.inventory):
        bad += "error" in plan
        print_line(plan)
    if bad:
        raise Refused(f"{bad} line{'s' if bad > 1 else ''} could not be planned; each is named in the output")


def _lines(file: Path) -> Iterator[str]:
    try:
        for line in inflow.lines(file):
            yield line.decode(errors="replace")
    except OSError as gone:
        raise cannot_be_read(file, gone) from None


def _from_bundle(station: Station, file: Path) -> None:
    """One JSON line for each record of a FHIR bundle: the record as read back, and its plan."""
    from mobicard.derive import plan_for
    from mobicard.exchange.fhir.bundle_in import FhirRefused, from_bundle

    try:
        found = from_bundle(_json(read_input(file)))
    except (ValueError, FhirRefused) as refused:
        raise Refused(f"{file}: {refused}") from None
    for stay, record in found.records:
        plan = plan_for(record, station.policy, station.now, station.settings.inventory)
        line = {
            "stay": stay,
            "record": named(RECORD_ID, record.as_json()),
            "plan": named(PLAN_ID, plan.as_json()),
        }
        print_line(line)
    for stay in found.left:
        click.echo(harmless(f"stay {stay}: the patient has left"), err=True)
    for ignored in found.ignored:
        click.echo(harmless(f"passed over: {ignored}"), err=True)
    if found.ignored:
        many = len(found.ignored)
        raise Refused(f"{many} {'things were' if many > 1 else 'thing was'} passed over; each is named above")


def _codes(record: Record) -> None:
    """Observed help beside the published codes, move by move."""
    from mobicard.derive.functional_codes import gg_code, icf_qualifier

    for task, seen in record.help.items():
        code, qualifier = gg_code(seen, record.helpers_used.get(task)), icf_qualifier(task, seen)
        item = f"GG0170{MOVES[task].gg_item}" if MOVES[task].gg_item else "no item"
        beside = f"ICF {qualifier.full}" if qualifier else "no ICF qualifier: not done"
        people = f", {code.helpers} helpers" if code.helpers else ""
        click.echo(f"{MOVES[task].says:<27} {seen.value:<26} {item:<8} {code.code}{people}   {beside}")
