"""Whether a level may be set by own judgement, and why not."""

from __future__ import annotations

from mobicard.facts.words import Level
from mobicard.ward.recording import Recording
from mobicard.ward.views import BedView

NO_REASON = "more help, to be on the safe side"
"""What is kept as the reason when somebody raises a level and gives none."""


def why_not_set(ward: Recording, view: BedView, level: Level) -> str:
    """Why this level may not be set for this bed now, in words; empty when it may. Raising is free."""
    plan, looks = view.plan, ward.settings.scheme.looks
    if level is plan.derived_level and not plan.expired:
        return f"{looks[level].word} is what follows from the record already."
    if level.rank >= plan.derived_level.rank:
        return ""
    if plan.after_fall is not None:
        return f"{plan.after_fall.says}. No judgement lowers that: After a fall goes on with it."
    if plan.expired:
        return "The assessment no longer holds. Assess again first; then judge."
    why = ward.why_not_judged(view, level)
    return (
        f"No judgement lowers {looks[plan.derived_level].word} to {looks[level].word}: {why}" if why else ""
    )
