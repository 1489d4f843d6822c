"""One entry that cannot be read is named and held aside; the other beds go on, and a copy can be taken."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from mobicard.ledger import Ledger
from mobicard.ledger.entry import chain_hash, digest_of
from mobicard.ledger.keeping.known_end import end_of
from mobicard.ward import Clock, Settings, Ward
from tests.conftest import MORNING
from tests.ledger.places import Writer

DEEP = '{"a":' * 3000 + "1" + "}" * 3000


@pytest.fixture
def slip_in(ledger: Ledger, write: Writer, sql: Callable[[str], Any]) -> Callable[..., int]:
    """Put an entry in that fits the chain, past every check, as whoever owns file or server can."""
    for number in (1, 2, 3):
        write.admit(f"s{number}", f"4W-{number}")
        write.record(f"s{number}", f"4W-{number}", standing="steady")
    if ledger.on_server:
        sql("ALTER TABLE entry DISABLE TRIGGER ALL")
    else:
        for name in ("entry_in_order", "entry_kept", "entry_found"):
            sql(f"DROP TRIGGER {name}")

    def put(**said: Any) -> int:
        last = end_of(ledger)
        row: dict[str, Any] = {
            **{"seq": last.seq + 1, "id": "f" * 32, "stay": "s2", "version": 3, "kind": "record"},
            **{"at": "2026-03-02T07:30:00.000000+00:00", "by": "JN", "schema": 1},
            **{"body": '{"record":{"bed":"4W-2"}}', "prev": last.hash},
            **said,
        }
        row["hash"] = chain_hash(row, digest_of(row["body"]))
        sql(
            "INSERT INTO entry VALUES ({seq}, '{id}', '{stay}', {version}, '{kind}', '{at}', '{by}', "
            "{schema}, '{body}', '{prev}', '{hash}')".format(**row)
        )
        sql(f"UPDATE chain SET seq = {row['seq']}, hash = '{row['hash']}'")
        sql(f"UPDATE stay SET version = {row['version']} WHERE stay = '{row['stay']}'")
        sql(f"INSERT INTO slot VALUES ('s2', 'odd{row['seq']}', {row['seq']})")
        return int(row["seq"])

    return put


@pytest.mark.parametrize(
    "said",
    [
        {"at": "2026-03-02T23:zz:00.000000+00:00"},
        {"at": ""},
        {"body": "no JSON"},
        {"body": DEEP},
        {"kind": "fall", "body": DEEP},
        {"body": '{"record":{"bed":' + "9" * 5000 + "}}"},
    ],
    ids=["odd time", "no time", "no JSON", "deep", "deep fall", "long figure"],
)
def test_the_other_beds_go_on(
    ledger: Ledger, slip_in: Callable[..., int], tmp_path: Path, said: dict[str, str]
) -> None:
    seq = slip_in(**said)
    ward = Ward(ledger, Settings.found(config_dir=tmp_path), Clock.fixed(MORNING), by="JN", drafts=tmp_path)
    one, two, three = ward.board()
    assert [view.bed for view in (one, two, three)] == ["4W-1", "4W-2", "4W-3"]
    assert one.record.standing == three.record.standing == "steady"
    assert two.record.standing is None, "what is not known counts as not assessed"
    state = ledger.latest("s2")
    assert state is not None
    assert state.unreadable
    assert f"Entry {seq} " in state.unreadable or "another version" in state.unreadable
    assert ledger.export_jsonl(tmp_path / "all.jsonl") == seq


def test_a_record_after_it_counts_again(ledger: Ledger, slip_in: Callable[..., int]) -> None:
    slip_in(body=DEEP)
    slip_in(id="e" * 32, version=4, body='{"record":{"bed":"4W-2","standing":"unable"}}')
    state = ledger.latest("s2")
    assert state is not None
    assert state.record is not None
    assert (state.record.standing, state.unreadable) == ("unable", None)
