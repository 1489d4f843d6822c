"""Twenty thousand damaged inputs over every reader: no crash, no hang, no silence. By hand.

python tests/bench/fuzz.py [--count 20000] [--seed 18] [--only READER]

Each input is given to the command that reads it, in this process. It must end within ten seconds with exit
code 0, 1 or 2, say something, put no sign that steers a screen on it, and never call anything unexpected.
What fails is kept in a folder, with the number that makes it again.
"""

from __future__ import annotations

import argparse
import io
import json
import os
import random
import re
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from types import FrameType

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from mobicard.cli import run  # noqa: E402 - run as a script, the checkout is put on the path first
from tests.damage import damaged  # noqa: E402
from tests.feed.sender import adt  # noqa: E402

LIMIT_S = 10
STEERS = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\x80-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]")
BITS = [
    b"\x00",
    b"\x1b[31m",
    b"\xff\xfe",
    b"\xe2\x80\xae",
    b"\xed\xa0\x80",
    b"\\ud800",
    b"[" * 4000,
    b'{"a":' * 400,
    b"1e999",
    b"-0",
    b"NaN",
    b"null",
    b"true",
    b'""',
    b"[]",
    b"{}",
    b"9" * 400,
    b"\r",
    b"\n",
    b",",
    b'"',
    b"|",
    b"2026-99-99T99:99",
    b"\xc2\xa0",
    b"= ",
    b"''' ",
    b"<script>",
    b"%s%n",
    b"../",
    b"\xef\xbb\xbf",
]


TOML = b'bed = "5N-1"\nweight = "181 lb"\nstanding = "steady"\n[help]\nturn = "minimal"\n'


@dataclass(frozen=True)
class Reader:
    """One way in: honest inputs to damage, and the command that reads one; ``weight`` is its share."""

    name: str
    seeds: list[bytes]
    words: Callable[[str], list[str]]
    weight: int
    suffix: str = ".json"


class Hung(BaseException):
    """An input kept a reader busy beyond its time."""


def damage(seed: bytes, dice: random.Random) -> bytes:
    """A few bytes as damage makes them; at times something else altogether."""
    if dice.random() < 0.01:
        return dice.randbytes(dice.randrange(600))
    return damaged(dice, seed, words=BITS, cut_off=0.3)


def readers(folder: Path) -> list[Reader]:
    """Every command that reads what others wrote."""
    records = [path.read_bytes() for path in sorted((ROOT / "examples").glob("*.json"))]
    ledger = str(folder / "unit.sqlite")
    here = ["--ledger", ledger, "--by", "JN"]
    packaged = ROOT / "mobicard" / "rules"
    record = str(ROOT / "examples" / "03-hip-day-two.json")
    staff = (ROOT / "examples" / "hands" / "staff.toml").read_bytes()
    quiet(["--ledger", ledger, "--by", "JN", "ledger", "new"])
    quiet([*here, "stay", "admit", "5N-11"])
    quiet([*here, "record", "5N-11", record])
    export, bundle, copy = folder / "export.jsonl", folder / "bundle.json", folder / "copy.sqlite"
    quiet([*here, "ledger", "backup", str(copy)])
    quiet([*here, "ledger", "export", str(export)])
    quiet([*here, "export", "--fhir", "--out", str(bundle)])
    messages = [adt(event, "V1", "5N^1^A").encode() for event in ("A01", "A02", "A03", "A08", "A17", "A40")]
    lists = [
        (ROOT / "examples" / "beds.csv").read_bytes(),
        "Bett;Nachname;Gewicht (kg);Status\n5N-1;Doe;80,5;belegt\n5N-2;;;frei\n".encode("utf-16"),
    ]
    mapping = b'[columns]\nbed = "{Unit}-{Room}{Bed}"\nvisit = "Account No"\n[options]\nweight_unit = "lb"\n'
    scheme = b'[levels.REMAIN]\nword = "WAIT"\nsub_line = "in bed until cleared"\n'
    again = folder / "again.sqlite"

    def restored(path: str) -> list[str]:
        for one in folder.glob("again.sqlite*"):
            one.unlink()
        return ["ledger", "restore", path, str(again)]

    lines = [b"\n".join(json.dumps(json.loads(one)).encode() for one in records[:3])]
    return [
        Reader("record", records, lambda path: ["plan", path], 30),
        Reader("toml record", [TOML], lambda path: ["plan", path], 8, ".toml"),
        Reader("json lines", lines, lambda path: ["plan", "--lines", path], 10, ".jsonl"),
        Reader("bundle", [bundle.read_bytes()], lambda path: ["plan", "--fhir", path], 10),
        Reader("recorded", records, lambda path: [*here, "record", "5N-11", path], 4),
        Reader("bed list", lists, lambda path: [*here, "census", path], 10, ".csv"),
        Reader("messages", messages, lambda path: [*here, "census", path], 10, ".hl7"),
        Reader(
            "mapping",
            [mapping],
            lambda path: [*here, "census", str(ROOT / "examples" / "beds.csv"), "--map", path],
            4,
            ".toml",
        ),
        Reader(
            "policy",
            [(packaged / "policy.toml").read_bytes()],
            lambda path: ["--policy", path, "plan", record],
            6,
            ".toml",
        ),
        Reader(
            "inventory",
            [(packaged / "inventory.toml").read_bytes()],
            lambda path: ["--inventory", path, "plan", record],
            4,
            ".toml",
        ),
        Reader("scheme", [scheme], lambda path: ["--scheme", path, "plan", record], 1, ".toml"),
        Reader(
            "staff", [staff], lambda path: [*here, "hands", "--plain", "--json", "--staff", path], 3, ".toml"
        ),
        Reader("export", [export.read_bytes()], restored, 2, ".jsonl"),
        Reader("ledger", [copy.read_bytes()], lambda path: ["--ledger", path, "stay", "list"], 2, ".sqlite"),
    ]


def quiet(words: list[str]) -> None:
    """Run a command that must work."""
    code, said = answered(words)
    assert code == 0, said


def answered(words: list[str]) -> tuple[int, str]:
    """Exit code and all that was said."""
    out, err = io.TextIOWrapper(io.BytesIO(), "utf-8"), io.TextIOWrapper(io.BytesIO(), "utf-8")
    with redirect_stdout(out), redirect_stderr(err):
        code = run(words)
        out.flush()
        err.flush()
    said = out.buffer.getvalue() + err.buffer.getvalue()  # type: ignore[attr-defined]
    return code, said.decode("utf-8", "surrogateescape")


def fault_of(words: list[str]) -> str:
    """What was wrong with the answer, or nothing."""
    signal.alarm(LIMIT_S)
    try:
        code, said = answered(words)
    except Hung:
        return f"hung for {LIMIT_S} s"
    except BaseException as crash:
        return f"crashed: {type(crash).__name__}: {crash}"
    finally:
        signal.alarm(0)
    if code not in (0, 1, 2):
        return f"exit code {code}"
    if not said.strip():
        return "silent"
    if "unexpected" in said:
        return f"unexpected: {said.strip().splitlines()[-1][:200]}"
    return f"steers: {found[0]!r}" if (found := STEERS.search(said)) else ""


def over(_signal: int, _frame: FrameType | None) -> None:
    raise Hung


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--count", type=int, default=20_000)
    asked.add_argument("--seed", type=int, default=18)
    asked.add_argument("--only")
    said = asked.parse_args()
    signal.signal(signal.SIGALRM, over)
    folder = Path(tempfile.mkdtemp(prefix="mobicard-fuzz-"))
    os.environ |= {name: str(folder) for name in ("HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME")}
    os.environ |= {"TMPDIR": str(folder), "TZ": "UTC"}
    there = [one for one in readers(folder) if said.only in (None, one.name)]
    turns = [one for one in there for _ in range(one.weight)]
    tried, faults, began = Counter[str](), [], time.monotonic()
    for number in range(said.count):
        dice = random.Random(f"{said.seed}:{number}")
        reader = turns[number % len(turns)]
        path = folder / f"input{reader.suffix}"
        path.write_bytes(damage(dice.choice(reader.seeds), dice))
        tried[reader.name] += 1
        if fault := fault_of(reader.words(str(path))):
            faults.append((number, reader.name, fault))
            path.rename(folder / f"fault-{number}{reader.suffix}")
            print(f"{number} {reader.name}: {fault}", flush=True)
    print(
        f"{dict(tried)}\nseed {said.seed}: {sum(tried.values())} inputs, {len(faults)} faults, "
        f"{time.monotonic() - began:.0f} s; {folder}"
    )
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
