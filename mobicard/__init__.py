"""mobicard: how to move this patient, now, and why.

facts      what was observed (pydantic models; no I/O, no clock)
rules      the protocol: small pure functions, their numbers and their sources
derive     the plan that follows from the facts, every line with its reasons
scheme     the one source of level words, colours and shapes
inflow     files and pipes read within a limit of time and size
outflow    files written whole and private
paper      door card, bedside card, handoff: HTML and PDF
ledger     who recorded what, when: append-only
exchange   bed lists in, open formats out
hands      the shift's moves against its people and lifts
ward       what the front ends can do; terminal and cli call only this
"""

__version__ = "0.1.0"
