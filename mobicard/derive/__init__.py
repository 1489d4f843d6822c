"""Derive: what follows from the facts. Pure functions; the time is a parameter."""

from mobicard.derive.model import Plan, TaskPlan
from mobicard.derive.over_time.changes import changes
from mobicard.derive.plan import plan_for, why_not_judged
from mobicard.rules.policy import Policy

__all__ = ["Plan", "Policy", "TaskPlan", "changes", "plan_for", "why_not_judged"]
