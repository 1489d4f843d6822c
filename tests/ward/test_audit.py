"""The audit of a bed or a person is what the whole audit says of them, by index."""

from __future__ import annotations

from datetime import timedelta

import pytest

from mobicard.ward import Clock, Ward, WardRefused
from mobicard.ward.reader.audit import audit
from tests.records import assessed


@pytest.fixture
def lived(ward: Ward) -> Ward:
    """Two stays in one bed after the other, a third elsewhere, who moves in too."""
    first = ward.stays.admit("5N-01")
    ward.save(first.stay, assessed("5N-01"), first.version)
    ward.stays.discharge(ward.find("5N-01"))
    ward.stays.admit("5n-01")
    third = ward.stays.admit("5N-03")
    ward.save(third.stay, assessed("5N-03"), third.version)
    ward.stays.swap(ward.find("5N-01"), ward.find("5N-03"))
    ward.stays.admit("5N-09")
    return ward


def test_of_a_bed_it_is_every_stay_ever_in_it_however_it_was_written(lived: Ward) -> None:
    of_bed = audit(lived, "5N-01")
    stays = {line.stay for line in of_bed}
    assert len(stays) == 3
    assert of_bed == [line for line in audit(lived) if line.stay in stays]
    with pytest.raises(WardRefused, match="no stay was ever in 5N-77"):
        audit(lived, "5N-77")


def test_of_the_last_stay_alone_it_is_who_lies_there_or_of_an_empty_bed_who_lay_there(lived: Ward) -> None:
    """Who left, and who lies elsewhere since: neither is passed over for the other."""
    lies, elsewhere = lived.find("5N-01"), lived.find("5N-03")
    assert lies
    assert elsewhere
    assert {line.stay for line in audit(lived, "5n-01", last=True)} == {lies.stay}
    lived.clock = Clock.fixed(lived.now + timedelta(hours=1))
    lived.stays.discharge(lies)
    assert {line.stay for line in audit(lived, "5N-01", last=True)} == {lies.stay, elsewhere.stay}
    with pytest.raises(WardRefused, match="no stay was ever in 5N-77"):
        audit(lived, "5N-77", last=True)


def test_of_a_person_it_is_what_they_did(lived: Ward) -> None:
    by = audit(lived)[0].by
    assert audit(lived, person=by) == [line for line in audit(lived) if line.by == by]
    assert audit(lived, person="ZZ") == []


def test_since_a_time_it_leaves_out_what_was_before(lived: Ward) -> None:
    every = audit(lived)
    assert audit(lived, since=every[0].at) == every
    assert audit(lived, "5N-01", since=lived.now.replace(year=lived.now.year + 1)) == []
