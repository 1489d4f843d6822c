"""Exports go out bed by bed: whatever the number of beds, one is spelled out at a time."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest

from mobicard.exchange.fhir.bundle_out import to_bundle
from mobicard.ward import BedView, Ward
from mobicard.ward.reader import exporting
from mobicard.ward.reader.stay_told import as_it_stands
from tests.records import assessed

BEDS = ("5N-01", "5N-02", "5N-03")


@pytest.fixture
def views(ward: Ward) -> list[BedView]:
    for bed in BEDS:
        view = ward.stays.admit(bed, "RT")
        ward.save(view.stay, assessed(bed, weight_kg=80), view.version)
    return ward.board()


def test_a_bundle_in_pieces_is_the_bundle_in_one(ward: Ward, views: list[BedView]) -> None:
    whole = to_bundle(
        [as_it_stands(ward, view) for view in views],
        timezone=ward.policy.shift.timezone,
        made_at=ward.now,
    )
    pieces = list(exporting.fhir_text(ward, views))
    assert "".join(pieces) == json.dumps(whole, indent=2, ensure_ascii=False) + "\n"
    assert len(pieces) == len(whole["entry"]) + 2
    none = json.loads("".join(exporting.fhir_text(ward, [])))
    assert none["entry"] == []


@pytest.mark.parametrize("text", [exporting.fhir_text, exporting.csv_text, exporting.line_text])
def test_the_first_bed_is_out_before_the_second_is_looked_at(
    ward: Ward, views: list[BedView], text: object
) -> None:
    taken: list[str] = []

    def asked() -> Iterator[BedView]:
        for view in views:
            taken.append(view.bed)
            yield view

    out = ""
    pieces = text(ward, asked())  # type: ignore[operator]
    while views[0].plan.bed not in out:
        out += next(pieces)
    assert taken == ["5N-01"]


def test_beds_told_one_by_one_are_the_boards_and_few_are_held(
    ward: Ward, views: list[BedView], monkeypatch: pytest.MonkeyPatch
) -> None:
    """However many beds there are: the next few are read once the ones before are told."""
    from mobicard.ward import beds

    monkeypatch.setattr(beds, "FEW", 2)
    asked: list[object] = []
    read = ward.ledger.beds
    monkeypatch.setattr(
        ward.ledger, "beds", lambda *words, **more: asked.append(more) or read(*words, **more)
    )
    told = ward.one_by_one()
    assert [next(told).bed, next(told).bed] == ["5N-01", "5N-02"]
    assert len(asked) == 2
    assert [view.bed for view in told] == ["5N-03"]
    assert list(ward.one_by_one()) == ward.board() == views
    assert [view.bed for view in ward.one_by_one(["5n-02", "9X"])] == ["5N-02"]


def test_every_bed_that_went_out_is_noted(ward: Ward, views: list[BedView]) -> None:
    for text in (exporting.fhir_text, exporting.csv_text, exporting.line_text):
        before = {view.stay: len(ward.ledger.history(view.stay)) for view in views}
        assert "".join(text(ward, iter(views)))
        for view in views:
            assert [one.kind for one in ward.ledger.history(view.stay)][before[view.stay] :] == ["seen"]
