"""Every reader against damaged inputs: each is read or refused in words. By hand, with seed and count:

python tests/bench/mutated.py [--seed 20260302] [--count 25000] [--only NAME]

Prints, for each reader, how many were read and how many refused, the slowest of them, and each that ended in
anything else, kept in /tmp. Exit code 1 where there is one.
"""

from __future__ import annotations

import argparse
import io
import json
import os
import random
import sys
import time
import tomllib
import traceback
import zipfile
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from importlib.resources import files
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from mobicard import scheme
from mobicard.derive import Policy
from mobicard.derive.brief.helpers import read_helpers
from mobicard.derive.equipment import Inventory
from mobicard.derive.instrument import Instrument
from mobicard.exchange.census.acknowledge import Answer, parsed, reply, why_rejected
from mobicard.exchange.census.csv_list import read_census
from mobicard.exchange.census.hl7_messages import EVENTS, one_message, read_hl7
from mobicard.exchange.census.mapping import CensusMapping
from mobicard.exchange.census.preview import preview, steps
from mobicard.exchange.fhir.bundle_in import from_bundle
from mobicard.exchange.json_lines import answer_line, no_number, once
from mobicard.facts import problems_of, read_record
from mobicard.facts.toml_text import read_toml
from mobicard.hands.supply import Span, read_staff
from mobicard.paper.phrases import Phrases
from tests.damage import damaged
from tests.exchange.test_census_workbook import LIST, ods, xlsx
from tests.exchange.test_fhir import PATIENT, sent
from tests.exchange.test_mutated import LISTS
from tests.feed.sender import adt

NOW = datetime(2026, 3, 2, 8, 0)
EXAMPLES = Path(__file__).parents[2] / "examples"
SLOW_S = 30.0
"""A workbook whose reading never ends is given up after twenty."""

FEWER = {"workbook": 20, "scheme": 100}
"""How many times fewer: a workbook is read by a process of its own, of a scheme every colour is measured."""

Reader = Callable[[bytes], object]
Seeds = list[bytes]


class Refused(Exception):  # noqa: N818 - not an error of the reader
    """What a person would be told."""


ODD: tuple[Any, ...] = (
    *(None, True, 0, -1, 1e308, 2**70, "", "x", "2026-13-40T99:99", "\u0000", [], {}, [[]], [None], {"a": 1}),
    *({"coding": None}, {"coding": [None]}, {"reference": 3}, "json:{", "json:[1", "json:" + "[" * 50),
)


def disturb(dice: random.Random, node: Any) -> Any:
    """A document of the right form in which a value is another, missing, doubled or somewhere else."""
    places: list[tuple[Any, Any]] = []

    def walk(each: Any) -> None:
        for key, value in each.items() if isinstance(each, dict) else enumerate(each):
            places.append((each, key))
            if isinstance(value, dict | list):
                walk(value)

    walk(node)
    for _ in range(dice.randint(1, 4)):
        where, key = dice.choice(places)
        try:
            match dice.randrange(4):
                case 0:
                    where[key] = dice.choice(ODD)
                case 1:
                    del where[key]
                case 2:
                    other, from_ = dice.choice(places)
                    where[key] = json.loads(json.dumps(other[from_]))
                case _ if isinstance(where, list):
                    where.insert(0, where[key])
                case _:
                    where[f"{key}s"] = where[key]
        except (KeyError, IndexError):
            continue
    return node


def packed_again(dice: random.Random, seed: bytes) -> bytes:
    """A workbook with one of its parts damaged inside, so that it still unpacks."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(seed)) as old, zipfile.ZipFile(out, "w") as new:
        names = old.namelist()
        hit = dice.choice(names)
        for name in names:
            data = old.read(name)
            new.writestr(name, damaged(dice, data) if name == hit else data)
    return out.getvalue()


def in_words(read: Callable[[], object]) -> object:
    """What was read, or Refused with the words the program has for it: as cli.run and the settings say it."""
    try:
        return read()
    except ValidationError as refused:
        raise Refused("; ".join(map(str, problems_of(refused)))) from None
    except (json.JSONDecodeError, tomllib.TOMLDecodeError, UnicodeDecodeError) as refused:
        raise Refused(str(refused)) from None
    except ValueError as refused:
        if not ours(refused):
            raise RuntimeError(f"not in our words: {refused!r}") from refused
        raise Refused(str(getattr(refused, "says", refused))) from None
    except RecursionError:
        raise Refused("nested too deeply") from None


def ours(refused: BaseException) -> bool:
    """Whether the program itself raised it, and not something that it called."""
    frames = traceback.extract_tb(refused.__traceback__)
    return f"{os.sep}mobicard{os.sep}" in frames[-1].filename or frames[-1].filename == __file__


def text(data: bytes) -> str:
    return data.decode("utf-8")


def as_json(data: bytes) -> Any:
    return json.loads(text(data), parse_constant=no_number, object_pairs_hook=once)


def answered(data: bytes) -> None:
    """As the feed answers it."""
    message = parsed(one_message(data))
    answer = why_rejected(message) if message is not None else None
    reply(message, answer or Answer("AE", 207, "no"), "20260302")


def listed(data: bytes, *, only: str | None = None) -> None:
    steps(preview(read_census(data, CensusMapping(only=only)), ()))


def planned(data: bytes) -> None:
    said = answer_line(data, 1, Policy(), NOW)
    if "error" in said:
        raise ValueError(said["error"])


def packaged(name: str) -> bytes:
    return files("mobicard").joinpath(name).read_bytes()


def readers() -> Mapping[str, tuple[Reader, Seeds]]:
    records = [path.read_bytes() for path in sorted(EXAMPLES.glob("*.json"))]
    messages = [adt(event, "V1", "5N^1^A").encode() for event in (*EVENTS, "A04", "A40")]
    bundles = [json.dumps(sent(PATIENT, transaction=each)).encode() for each in (True, False)]
    mapping = (
        b'[columns]\nbed = "{Unit}-{Room}{Bed}"\n[options]\nweight_unit = "lb"\n[words]\nempty = ["frei"]\n'
    )
    toml = [b'bed = "1"\nstanding = "steady"\n[help]\nchair = "minimal"\n[fall_risk]\ninstrument = "morse"\n']
    return {
        "bed list": (listed, LISTS),
        "bed list of one unit": (lambda data: listed(data, only="5N"), LISTS),
        "workbook": (listed, [xlsx(Beds=LIST), ods(Beds=LIST)]),
        "messages": (lambda data: steps(preview(read_hl7(data), ())), messages),
        "messages of one unit": (lambda data: steps(preview(read_hl7(data, only="5N"), ())), messages),
        "answers of the feed": (answered, messages),
        "mapping": (lambda data: CensusMapping.from_toml(text(data)), [mapping]),
        "record, JSON": (lambda data: read_record(as_json(data)), records),
        "record, TOML": (lambda data: read_record(read_toml(text(data))), toml),
        "record and plan, JSON lines": (planned, records),
        "FHIR bundle": (lambda data: from_bundle(as_json(data)), bundles),
        "policy": (lambda data: Policy.from_toml(text(data)), [packaged("rules/policy.toml")]),
        "inventory": (lambda data: Inventory.from_toml(text(data)), [packaged("rules/inventory.toml")]),
        "instrument": (
            lambda data: Instrument.from_toml(text(data)),
            [packaged("rules/instruments/morse.toml")],
        ),
        "scheme": (lambda data: scheme.load(text(data)), [packaged("scheme/scheme.toml")]),
        "staff list": (
            lambda data: read_staff(text(data), Span(NOW, NOW + timedelta(hours=8))),
            [path.read_bytes() for path in sorted((EXAMPLES / "hands").glob("*.toml"))],
        ),
        "phrases": (lambda data: Phrases.from_toml(text(data)), [packaged("paper/phrases/es.toml")]),
        "helpers of a brief": (lambda data: read_helpers(text(data)), [b"JN=165,AB=5ft11in"]),
    }


def one_input(dice: random.Random, name: str, seeds: Seeds) -> bytes:
    seed = dice.choice(seeds)
    if name == "workbook":
        return packed_again(dice, seed) if dice.random() < 0.8 else damaged(dice, seed)
    if name in ("FHIR bundle", "record, JSON", "record and plan, JSON lines") and dice.random() < 0.8:
        return json.dumps(disturb(dice, json.loads(seed))).encode()
    return damaged(dice, seed)


def attack(name: str, read: Reader, seeds: Seeds, seed: int, count: int) -> int:
    """Print what came of it; gives the number of inputs that ended in anything but a value or words."""
    dice = random.Random(f"{seed} {name}")
    fine = refused = bad = 0
    slowest = 0.0
    for number in range(count):
        data = one_input(dice, name, seeds)
        start = time.perf_counter()
        try:
            in_words(lambda data=data: read(data))  # type: ignore[misc]
            fine += 1
        except Refused as words:
            refused += 1
            bad += not str(words).strip()
        except BaseException as other:
            if isinstance(other, KeyboardInterrupt):
                raise
            bad += 1
            where = Path(f"/tmp/mutated-{seed}-{number}-{name.replace(' ', '-')}")
            where.write_bytes(data)
            print(f"  {name}, input {number}: {type(other).__name__}: {str(other)[:120]}; kept at {where}")
        taken = time.perf_counter() - start
        slowest = max(slowest, taken)
        bad += taken > SLOW_S
    print(f"{name}: {count} inputs, {fine} read, {refused} refused, {bad} neither; slowest {slowest:.2f} s")
    return bad


if __name__ == "__main__":
    asked = argparse.ArgumentParser()
    asked.add_argument("--seed", type=int, default=20260302)
    asked.add_argument("--count", type=int, default=25_000)
    asked.add_argument("--only")
    given = asked.parse_args()
    wrong = [
        attack(name, read, seeds, given.seed, given.count // FEWER.get(name, 1))
        for name, (read, seeds) in readers().items()
        if given.only in (None, name)
    ]
    sys.exit(1 if any(wrong) else 0)
