"""Pages into PDF: laid out or drawn, tagged, joined, always the same bytes; each part loaded on use."""

from typing import TYPE_CHECKING

from mobicard.lazy import lazily

if TYPE_CHECKING:
    from mobicard.paper.pdf.layout import APT_LINE as APT_LINE
    from mobicard.paper.pdf.layout import PdfUnavailable as PdfUnavailable
    from mobicard.paper.pdf.write import batches as batches
    from mobicard.paper.pdf.write import write_pdf as write_pdf

__getattr__ = lazily(__name__, {"layout": "APT_LINE PdfUnavailable", "write": "batches write_pdf"})
