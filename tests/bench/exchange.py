"""How the exchange grows with the beds, as ratios. By hand: python tests/bench/exchange.py"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from datetime import datetime

from mobicard.exchange.census.csv_list import read_census
from mobicard.exchange.census.hl7_messages import read_hl7
from mobicard.exchange.census.preview import preview, steps
from mobicard.exchange.census.rows import CurrentStay
from mobicard.exchange.fhir.bundle_in import from_bundle
from mobicard.exchange.fhir.bundle_out import to_bundle
from mobicard.exchange.fhir.resources import FhirStay
from mobicard.facts import read_record

NOW = datetime(2026, 3, 2, 8, 0)


def median_s(run: Callable[[], object], times: int = 5) -> float:
    """Median seconds of a few runs."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def census(beds: int) -> Callable[[], object]:
    """Read a list in which everybody moves one bed on, preview it and order the steps."""
    lines = ["Bed,Patient Name,Visit No,Wt (lb)"]
    lines += [f'W-{(n + 1) % beds},"DOE, JANE",V{n},{120 + n % 200}' for n in range(beds)]
    data = "\n".join(lines).encode()
    now = [CurrentStay(str(row.stay), f"W-{n}") for n, row in enumerate(read_census(data).rows)]
    return lambda: steps(preview(read_census(data), now, now=NOW))


def messages(beds: int) -> Callable[[], object]:
    """Read as many admissions from ADT messages."""
    text = "".join(
        f"MSH|^~\\&|A|B|C|D|202603020710||ADT^A01|{n}|P|2.5.1\rEVN|A01|202603020710\r"
        f"PID|1||M{n}||DOE^JANE\rPV1|1|I|W^{n}^A||||||||||||||||V{n}\r"
        for n in range(beds)
    )
    return lambda: read_hl7(text.encode())


def bundle(beds: int) -> Callable[[], object]:
    """Send and read back as many stays."""
    facts = {"weight_kg": 82, "standing": "supported", "help": {"chair": "minimal"}, "aids": ["cane"]}
    stays = [FhirStay(f"s{n}", read_record({"bed": f"W-{n}", **facts})) for n in range(beds)]
    return lambda: from_bundle(to_bundle(stays))


if __name__ == "__main__":
    for name, make in (("bed list", census), ("ADT messages", messages), ("FHIR there and back", bundle)):
        small, large = median_s(make(60)), median_s(make(600))
        print(f"{name}: 600 beds take {large / small:.1f} times what 60 take ({large * 1000:.0f} ms)")
