"""How many door cards a unit prints in a week, with boxes to initial and without (``tests/bench/week.py``).

Every bed is looked at once a shift. ``--same`` of the looks find nothing changed, ``--leave`` of the patients
leave in a shift and another comes. The clerk hangs what no longer matches twice a shift.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from mobicard.ledger import Ledger
from mobicard.ward import Clock, Settings, Ward
from tests.records import assessed

START = datetime(2026, 3, 2, 7, 0)
CHANGES = (
    {"standing": "supported"}, {"standing": "steady"}, {"standing": "unable"},
    {"directions": "with_cues"}, {"directions": "reliable"}, {"lines": [{"kind": "IV line"}]}, {"lines": []},
    {"behavior": "unpredictable"}, {"behavior": "calm"},
)  # fmt: skip


@dataclass
class Unit:
    """A unit's ward, its beds and who decides by chance."""

    ward: Ward
    beds: int
    same: float
    leave: float
    chance: random.Random

    def admit(self, bed: str) -> None:
        """A new patient, looked at at once."""
        view = self.ward.stays.admit(bed)
        self.ward.save(view.stay, assessed(bed), view.version)

    def shift(self, start: datetime, printed: Counter[str]) -> None:
        """Each bed looked at at its minute; the clerk comes after two and after eight hours."""
        looks = [(start + timedelta(minutes=self.chance.randint(5, 660)), n) for n in range(self.beds)]
        walks = [(start + timedelta(hours=hours), -1) for hours in (2, 8)]
        for at, number in sorted(looks + walks):
            self.ward.clock = Clock.fixed(at)
            if number < 0:
                self.walk(printed, f"{at:%a}")
            else:
                self.look(f"5N-{number + 1:02}")

    def walk(self, printed: Counter[str], day: str) -> None:
        """The clerk prints and hangs what no longer matches."""
        jobs = self.ward.doors.jobs()
        printed[day] += sum(1 for job in jobs if job.hang)
        self.ward.doors.confirm_hung(jobs)

    def look(self, bed: str) -> None:
        """One patient: left, changed in one fact, or the same."""
        view = self.ward.find(bed)
        if self.chance.random() < self.leave:
            self.ward.stays.discharge(view)
            self.admit(bed)
        else:
            found = {} if self.chance.random() < self.same else self.chance.choice(CHANGES)
            self.ward.save(view.stay, self.ward.assessed_now(view.record.changed(**found)), view.version)


def week(beds: int, same: float, leave: float, strip: int, seed: int) -> Counter[str]:
    """The doors printed on each day of a week that starts with every card just hung."""
    with tempfile.TemporaryDirectory() as folder:
        config = Path(folder) / "config"
        config.mkdir()
        (config / "policy.toml").write_text(f"[door]\nstrip = {strip}\n")
        ledger = Ledger.open(f"sqlite:///{folder}/ledger.sqlite")
        ward = Ward(
            ledger, Settings.found(config_dir=config), Clock.fixed(START), by="JN", drafts=Path(folder)
        )
        unit = Unit(ward, beds, same, leave, random.Random(seed))
        for number in range(beds):
            unit.admit(f"5N-{number + 1:02}")
        ward.doors.confirm_hung(ward.doors.jobs())
        printed: Counter[str] = Counter()
        for number in range(14):
            unit.shift(START + timedelta(hours=12 * number), printed)
        ledger.close()
    return printed


def main() -> None:
    """Print the week with boxes and without."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--beds", type=int, default=24)
    asked.add_argument("--same", type=float, default=0.8)
    asked.add_argument("--leave", type=float, default=0.08)
    asked.add_argument("--seed", type=int, default=7)
    given = asked.parse_args()
    for strip in (4, 0):
        days = week(given.beds, given.same, given.leave, strip, given.seed)
        says = ", ".join(f"{day} {count}" for day, count in days.items())
        print(f"strip {strip}: {sum(days.values())} cards in the week ({says})")


if __name__ == "__main__":
    main()
