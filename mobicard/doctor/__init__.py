"""Doctor: looks over the facility's files and this machine, and says of each what stands and what to do.

``run_doctor(Setup(...)) -> list[Finding]`` with every path as a value; ``findings_of(station)`` takes them
from a station's settings. A finding is ok, warn or fail, one sentence, and what to do. Nothing is changed or
made, and whatever a check runs into becomes a finding, never a traceback.
"""

from mobicard.doctor.finding import Finding
from mobicard.doctor.run import findings_of, run_doctor
from mobicard.doctor.subject import Machine, Setup

__all__ = ["Finding", "Machine", "Setup", "findings_of", "run_doctor"]
