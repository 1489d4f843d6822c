"""Pages into PDF: laid out or drawn, tagged, joined, always the same bytes."""

from mobicard.paper.pdf.layout import APT_LINE, PdfUnavailable
from mobicard.paper.pdf.write import batches, write_pdf

__all__ = ["APT_LINE", "PdfUnavailable", "batches", "write_pdf"]
