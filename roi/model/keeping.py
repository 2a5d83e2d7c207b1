"""What a challenger that is the same as the current method (`same_as`) keeps of it, and so neither leaves nor sells.

It keeps each machine that it has owned or rented too; plates and chemistry in stock, and full tanks, while it has every bath of
the current method. All other challengers keep nothing. Structure only: fixed when the columns are written.
"""

from __future__ import annotations

from roi.model.sheet import MethodSheet


def is_related(sheet: MethodSheet, old: MethodSheet) -> bool:
    """Whether a method starts from the `old` one."""
    return old.method.id in sheet.scenario.bases(sheet.method.id)


def displaced(sheet: MethodSheet, old: MethodSheet) -> tuple[str, ...]:
    """The old method's machines that the challenger doesn't keep, by name."""
    if not is_related(sheet, old):
        return old.names("equipment")
    kept = [n for n in old.names("equipment") if _there_already(sheet, n)]
    return tuple(name for name in old.names("equipment") if name not in kept)


def replaces_all(sheet: MethodSheet, old: MethodSheet) -> bool:
    """Whether nothing of the old equipment stays, so that sums stated for all of it apply."""
    if not is_related(sheet, old):
        return True
    return bool(old.names("equipment")) and displaced(sheet, old) == old.names("equipment")


def keeps_stock(sheet: MethodSheet, old: MethodSheet) -> bool:
    """Whether what is in stock and in the tanks is used up as before."""
    return is_related(sheet, old) and set(old.names("baths")) <= set(sheet.names("baths"))


def _there_already(sheet: MethodSheet, name: str) -> bool:
    return any(sheet.has("equipment", name, key) for key in ("years_left", "rental"))


__all__ = ["displaced", "is_related", "keeps_stock", "replaces_all"]
