"""The one place that imports fpdf2: slow to import, and it warns that Pillow is missing, which vectors never need."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING

from ..errors import MissingExtraError

if TYPE_CHECKING:
    from fpdf import FPDF


def pdf_document() -> FPDF:
    """A new document in millimetres, without a page. Raises MissingExtraError."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            from fpdf import FPDF, ViewerPreferences
        except ImportError as error:
            raise _missing() from error
    pdf = FPDF(unit="mm")
    pdf.viewer_preferences = ViewerPreferences(print_scaling="None", display_doc_title=True)
    return pdf


def letter_widths(font: str) -> dict[str, int]:
    """Thousandths of the size that each character of one of PDF's own fonts takes. Raises MissingExtraError."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            from fpdf.fonts import CORE_FONTS_CHARWIDTHS
        except ImportError as error:
            raise _missing() from error
    return CORE_FONTS_CHARWIDTHS[font]


def _missing() -> MissingExtraError:
    return MissingExtraError("fpdf2", "Paper for the set", "Install fpdf2 (pip install fpdf2)")
