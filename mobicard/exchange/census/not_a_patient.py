"""Lines of a bed list that are no patient: totals, footers, headings said again, a free bed under a name.

The words are those seen in English, German, Spanish and French lists; common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from mobicard.exchange.census.mapping import heading_key, means_empty

_FOOTER = re.compile(
    r"(sub ?totals?|(grand )?totals?|gesamt|summe|zwischensumme|anzahl|insgesamt|suma|somme|census|page|seite"
    r"|pagina|printed|gedruckt|impreso|generated|created|erstellt|generado|run (date|time)|end of)\b"
)
_OF_A_BED = {"bed", "bett", "cama", "lit", "room", "zimmer", "no", "kein", "patient", "paciente", "is", "ist"}


def is_footer(cell: str) -> bool:
    """Whether a cell counts or signs the list: “Total: 24”, “Page 1 of 2”, “Printed ...”."""
    return bool(_FOOTER.match(heading_key(cell)))


def names_nobody(cell: str) -> bool:
    """Whether a cell where a patient stands has no word in it: blank, or a count."""
    return not re.search(r"[^\W\d_]", cell)


def is_heading(row: Sequence[str], headings: Sequence[str]) -> bool:
    """Whether a line says the headings again, as a list of several pages does."""
    said = [heading_key(cell) for cell in row if cell.strip()]
    return len(said) > 1 and said == [heading_key(cell) for cell in headings if cell.strip()]


def says_free(name: str) -> bool:
    """Whether a name cell says that the bed is free: all of its words do, or speak of a bed."""
    if heading_key(name) and means_empty(heading_key(name)):
        return True
    words = heading_key(name).split()
    free = [word for word in words if means_empty(word)]
    return bool(free) and all(word in free or word in _OF_A_BED for word in words)
