"""Our own codes are defined where they say: each that goes out is in a CodeSystem that is shipped."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
from fhir.resources.R4B.bundle import Bundle as R4BBundle
from fhirclient.models.bundle import Bundle as R4Bundle

from mobicard.cli import run
from mobicard.exchange.fhir import codes
from mobicard.exchange.fhir.definitions import as_bundle, definitions
from tests.exchange.test_fhir import OFFICIAL, PATIENT, sent


def below(node: Any) -> Iterator[dict[str, Any]]:
    """Every object anywhere below."""
    if isinstance(node, dict):
        yield node
    for each in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
        yield from below(each)


@pytest.fixture(scope="module")
def defined() -> dict[str, dict[str, Any]]:
    return {each["url"]: each for each in definitions()}


@pytest.mark.parametrize("one", definitions(), ids=lambda one: one["id"])
def test_each_definition_is_right_by_the_official_r4_schema(one: dict[str, Any]) -> None:
    assert [error.message[:200] for error in OFFICIAL.iter_errors(one)] == []


def test_model_libraries_of_r4_and_r4b_take_the_definitions() -> None:
    bundle = json.loads(json.dumps(as_bundle()))
    assert len(R4Bundle(bundle, strict=True).entry) == len(definitions())
    assert len(R4BBundle.model_validate(bundle).entry) == len(definitions())


def test_each_code_that_goes_out_is_defined(defined: dict[str, dict[str, Any]]) -> None:
    carried = {
        (each["system"], each["code"])
        for each in below(sent({**PATIENT, "goals": [{"task": "walk", "times_per_shift": 2}]}))
        if str(each.get("system", "")).startswith(f"{codes.CANONICAL}/CodeSystem/")
    }
    known = {(url, concept["code"]) for url, each in defined.items() for concept in each.get("concept", ())}
    assert len(carried) > 50
    assert carried <= known


def test_each_extension_that_goes_out_is_defined(defined: dict[str, dict[str, Any]]) -> None:
    used = {
        each["url"] for each in below(sent(PATIENT)) if str(each.get("url", "")).startswith(codes.CANONICAL)
    }
    assert used == {codes.RECORD, codes.LOOK, codes.CLOCK, codes.PLACE, codes.NOTICE}
    assert used <= {url for url, each in defined.items() if each["resourceType"] == "StructureDefinition"}


def test_no_two_codes_of_a_system_are_the_same(defined: dict[str, dict[str, Any]]) -> None:
    """R4 CodeSystem, csd-1: codes are unique within a code system."""
    for each in defined.values():
        listed = [concept["code"] for concept in each.get("concept", ())]
        assert len(listed) == len(set(listed)), each["url"]


def test_the_command_writes_them(capsys: pytest.CaptureFixture[str]) -> None:
    """Without a ledger: they are the same for every unit."""
    assert run(["export", "--fhir-definitions"]) == 0
    assert json.loads(capsys.readouterr().out) == as_bundle()
