"""What last year's invoices say, in words: which part of a bill follows time, and the litres a square metre it stands for.

Only of methods that state an invoice for chemistry or waste.
"""

from __future__ import annotations

from roi.engine.column import Column
from roi.engine.evaluate import Values, extend
from roi.engine.operations import at_least, when
from roi.engine.words import Number, Sentence, Words
from roi.model.invoices import USUAL_CHEMISTRY, USUAL_SOURCE
from roi.model.sheet import MethodSheet
from roi.model.study import Study

LABEL = ", as invoiced"  # ends the name of every sentence here
_BILLS = {"chemistry": "chemistry", "waste": "waste disposal"}


def as_invoiced(study: Study, column: Column) -> list[Sentence]:
    """Add to a column the lines that the sentences speak of, and build the sentences."""
    stating = [
        sheet for sheet in study.methods.values() if any(f"invoice.{b}" in sheet.lines for b in _BILLS)
    ]
    if stating:
        column.heading("Figures about last year's invoices")
    return [s for sheet in stating for s in _sentences(sheet, column, study.scenario.currency)]


def _sentences(sheet: MethodSheet, column: Column, currency: str) -> list[Sentence]:
    """One a bill and one of the litres, each short enough for a line across a page."""
    short, lines = sheet.method.short, sheet.lines
    found: list[Sentence] = []
    for bill, words in _BILLS.items():
        if f"invoice.{bill}" not in lines:
            continue
        invoice = lines[f"invoice.{bill}"]
        share = when(at_least(0, invoice), 0, lines[f"invoice.{bill}.time"] / invoice * 100)
        part = column.line(f"{short}, {words} as invoiced, per cent that follows time", "1", share)
        pieces = (
            Words(f"{short}: of {words} as invoiced, "),
            Number(invoice, 0, "", f" {currency} a year, "),
            Number(part, 0, "", " % follows time and the rest the work."),
        )
        found.append(Sentence(f"{short}, {words}{LABEL}", pieces))
    if "invoice.implied" in lines:
        low, high = USUAL_CHEMISTRY
        usual = f" L of chemistry a square metre; usual {low:g} to {high:g} ({USUAL_SOURCE})."
        litres = Number(lines["invoice.implied"], 2, f"{short}: as invoiced, ", usual)
        found.append(Sentence(f"{short}, litres{LABEL}", (litres,)))
    return found


def told(study: Study, values: Values) -> list[str]:
    """The sentences with computed values."""
    column = Column("Words", "words")
    sentences = as_invoiced(study, column)
    known = extend(values, [column])
    return [sentence.say(known) for sentence in sentences]


__all__ = ["LABEL", "as_invoiced", "told"]
