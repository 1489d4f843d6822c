"""A round trip through a FHIR server that nobody here wrote: what was sent comes back equal, bed by bed."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.request import Request, urlopen

import pytest

from mobicard.cli import run
from mobicard.exchange.fhir.bundle_in import from_bundle
from mobicard.facts import read_record

pytest.importorskip("sekmet", reason="the FHIR server of the test extra is not installed")

Json = dict[str, Any]
KINDS = (
    *("Patient", "Observation", "Flag", "DeviceUseStatement", "Goal"),
    *("Encounter", "CarePlan", "Location", "Provenance"),
)
NOW, LATER = "2026-03-02T08:00", "2026-03-02T08:30"


@pytest.fixture
def server(tmp_path: Path) -> Iterator[str]:
    """An empty server on loopback, its data in a folder of its own."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    address = f"http://127.0.0.1:{port}/fhir"
    command = [sys.executable, "-m", "sekmet.cli", "serve", "--host", "127.0.0.1", "--port", str(port)]
    folder = tmp_path / "server"
    folder.mkdir()
    known = {**os.environ, "SEKMET_BASE_URL": address, "SEKMET_PORT": str(port)}
    log = (folder / "log").open("wb")
    with log, subprocess.Popen(command, cwd=folder, env=known, stdout=log, stderr=log) as process:
        try:
            _wait(address, process, folder / "log")
            yield address
        finally:
            process.terminate()


def _wait(address: str, process: subprocess.Popen[bytes], log: Path) -> None:
    end = time.monotonic() + 60
    while time.monotonic() < end and process.poll() is None:
        try:
            call(f"{address}/metadata")
        except OSError:
            time.sleep(0.2)
        else:
            return
    pytest.fail(f"the server did not come up: {log.read_text(errors='replace')[-2000:]}")


def call(url: str, body: Json | None = None) -> Json:
    data = None if body is None else json.dumps(body).encode()
    kind = {"Content-Type": "application/fhir+json", "Accept": "application/fhir+json"}
    with urlopen(Request(url, data=data, headers=kind), timeout=60) as answer:
        found: Json = json.load(answer)
        return found


def exported(ledger: Path, *words: str, now: str = NOW) -> str:
    """What ``mobicard export`` writes."""
    out = ledger.with_name("out")
    before = ["--ledger", str(ledger), "--by", "JN", "--now", now]
    assert run([*before, "export", *words, "--out", str(out), "--force"]) == 0
    return out.read_text(encoding="utf-8")


def put(server: str, text: str) -> set[str]:
    """Send a transaction; the answers of the server."""
    return {entry["response"]["status"][:3] for entry in call(server, json.loads(text))["entry"]}


def given_back(server: str) -> Json:
    """All that the server has, page by page, as it gives it back."""
    entries: list[Json] = []
    for kind in KINDS:
        url: str | None = f"{server}/{kind}?_count=500"
        while url:
            page = call(url)
            entries += page.get("entry", [])
            url = next((link["url"] for link in page["link"] if link["relation"] == "next"), None)
    return {"resourceType": "Bundle", "type": "searchset", "entry": entries}


def known(ledger: Path, now: str = NOW) -> dict[str, Any]:
    """The records by bed as the ledger has them, without the initials, which stay at home."""
    lines = [json.loads(line)["record"] for line in exported(ledger, "--lines", now=now).splitlines()]
    return {line["bed"]: read_record({**line, "label": None}) for line in lines}


def test_a_unit_comes_back_from_a_server_equal_and_who_left_is_gone(server: str, tmp_path: Path) -> None:
    """24 beds sent and read back; one discharged, the change sent twice, read back again."""
    assert run(["demo", "--out", str(tmp_path / "unit"), "--now", NOW, "--ledger-only"]) == 0
    ledger = tmp_path / "unit" / "demo.sqlite"
    assert put(server, exported(ledger, "--fhir-transaction")) == {"201"}
    read = from_bundle(given_back(server))
    assert (read.ignored, read.left) == ((), ())
    assert {record.bed: record for _, record in read.records} == known(ledger)
    assert len(read.records) == 24

    before = ["--ledger", str(ledger), "--by", "JN", "--now", LATER]
    assert run([*before, "stay", "discharge", "5N-02"]) == 0
    change = exported(ledger, "--fhir-transaction", "--since", "08:15", now=LATER)
    put(server, change)
    assert put(server, change) == {"200"}
    read = from_bundle(given_back(server))
    assert (read.ignored, len(read.left)) == ((), 1)
    assert {record.bed: record for _, record in read.records} == known(ledger, LATER)
    assert len(read.records) == 23
