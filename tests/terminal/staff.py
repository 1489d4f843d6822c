"""A staff list for tests of what each role may do in the terminal."""

from __future__ import annotations

from mobicard.ward import Ward


def signed_in(ward: Ward, role: str) -> None:
    """Give the ward a staff list and sign in RR, who has this role."""
    at = ward.clock.utc()
    ward.demo = False
    ward.ledger.staff.add("KK", "keeper", "482913", by="KK", at=at)
    ward.sign_in("KK", "482913")
    ward.ledger.staff.add("RR", role, "772913", by="KK", at=at)
    ward.sign_in("RR", "772913")
