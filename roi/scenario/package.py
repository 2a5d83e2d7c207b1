"""An .xlsx package from outside, opened so that it can do no harm, and what it holds beside values.

A package is refused when it is no plain file, unpacks to too much, or has a part that declares a document type (which is where
entities come from: no spreadsheet program writes one). So entities can neither be expanded nor fetch anything, whichever XML
libraries are installed. Sizes in a package are claims: what is unpacked is counted as it is read. Sizes are bytes.
Which sheets are read and what cells mean is left to others; values alone are read, formulas by their stored results.
"""

from __future__ import annotations

import re
import struct
import warnings
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from xml.parsers import expat

from roi.scenario.limits import LARGEST_FILE, read_whole
from roi.scenario.placed import Unfit, placed
from roi.scenario.problems import BadInput, Problem

LARGEST_UNPACKED = 2_000_000_000  # all that is read of a package: a million rows of 20 cells take half of it
LARGEST_WHOLE = 20_000_000  # of a part that is taken whole: the list of sheets, the styles
LARGEST_BEFORE_SHEETS = 300_000_000  # all that is read before the first sheet, the list of texts above all
MOST_PARTS = 2_000
STEEPEST = 200  # unpacked to packed, of a part above STEEP_FROM: numbers come to 15, one text repeated to 40
STEEP_FROM = 10_000_000
# Elements that no row answers for. The library keeps what it doesn't know until a sheet ends, some 300 bytes each.
MOST_ELEMENTS = 1_000_000
MOST_ELEMENTS_WHOLE = 200_000  # of a part taken whole: three times as many as a workbook can have looks
MOST_ELEMENTS_BEFORE_SHEETS = 6_000_000
ELEMENTS_A_ROW, ELEMENTS_A_VALUE = 60, 4
MOST_ROWS = 1_048_576  # the most a sheet can have
MOST_COLUMNS = 1_000
# Of a sheet, counted by the widths of its rows, empty cells among them: the most rows of nine cells fit.
MOST_CELLS = 10_000_000
_PROLOG = 65_536  # within which the first element of a part begins
_OLD_KIND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_TYPES = "[Content_Types].xml"
_BOOK = "xl/workbook.xml"
SAVE_AS = "open it in a spreadsheet program and save it as .xlsx"

# What is left unread, and how the names or kinds of parts tell that it is there.
_BESIDE = (
    ("macros", ("vbaproject", "macroenabled", "macrosheet")),
    ("links to other files or programs", ("externallink",)),
    ("data connections", ("connections.xml", "connections+xml", "querytable")),
    ("embedded objects", ("/embeddings/", "oleobject", "activex", "ctrlprop")),
)
_HIDDEN = re.compile(rb"""<(?:\w+:)?sheet\s[^>]*\bstate\s*=\s*["'](?:hidden|veryHidden)["']""")


class _Parts(list[zipfile.ZipInfo]):
    """The list of parts, which doesn't grow beyond MOST_PARTS: a list alone can fill the memory."""

    def append(self, part: zipfile.ZipInfo) -> None:
        if len(self) >= MOST_PARTS:
            raise _TooMuch(f"has more than {MOST_PARTS:,} parts")
        super().append(part)


class _TooMuch(Unfit):
    """A limit is passed, or there is what no workbook has; says which."""


class Package(zipfile.ZipFile):
    """The parts of an .xlsx file. Every way of reading one counts what comes out, and stops at `allowed` in all."""

    def __init__(self, path: Path) -> None:
        self.read_so_far, self.allowed = 0, LARGEST_BEFORE_SHEETS
        self.elements, self.elements_allowed = 0, MOST_ELEMENTS_BEFORE_SHEETS
        self._size = path.stat().st_size
        self._looked_at: set[str] = set()
        self._being_read: set[_Counted] = set()
        super().__init__(path)
        try:
            self._check()
        except BaseException:
            self.close()
            raise

    def __setattr__(self, name: str, value: Any) -> None:
        super().__setattr__(name, _Parts(value) if name == "filelist" else value)

    def _check(self) -> None:
        parts = self.infolist()
        names = [part.filename.lower() for part in parts]
        if sum(part.compress_size for part in parts) > self._size:
            raise _TooMuch("has parts that lie over one another")
        if len(set(names)) < len(names):
            twice = next(name for name in names if names.count(name) > 1)
            raise _TooMuch(f"holds the part {twice[:60]!r} twice")
        if sum(part.file_size for part in parts) > LARGEST_UNPACKED:
            raise _TooMuch(f"unpacks to more than {LARGEST_UNPACKED // 1_000_000:,} MB")
        for part in parts:
            if part.flag_bits & 1:
                raise _TooMuch(f"holds {part.filename[:60]!r} locked by a password")
            if part.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
                raise _TooMuch(f"holds {part.filename[:60]!r} packed in a way that workbooks don't use")
            if part.file_size > max(STEEP_FROM, STEEPEST * part.compress_size):
                raise _TooMuch(
                    f"holds {part.filename[:60]!r}, which unpacks to more than {STEEPEST} times its size"
                )

    def open(self, name: Any, mode: Any = "r", pwd: bytes | None = None, **more: Any) -> Any:
        """A part to be read in pieces, counted, once it is seen to declare no document type."""
        told = name if isinstance(name, str) else name.filename
        if told not in self._looked_at:
            self._refuse_document_types(told)
            self._looked_at.add(told)
        part = _Counted(super().open(name, mode, pwd), self)
        self._being_read.add(part)
        return part

    def close(self) -> None:
        """Close it, and parts that were left open when reading one failed: the file is held until then."""
        for part in list(self._being_read):
            part.close()
        super().close()

    def done_with(self, part: _Counted) -> None:
        """A part is closed."""
        self._being_read.discard(part)

    def read(self, name: Any, pwd: bytes | None = None) -> bytes:
        """A part whole, if it isn't larger than LARGEST_WHOLE."""
        with self.open(name) as part:
            content: bytes = part.read()
        return content

    def begin_sheets(self) -> None:
        """From now on sheets are read, whose rows answer for their elements."""
        self.allowed = LARGEST_UNPACKED
        self.elements, self.elements_allowed = 0, MOST_ELEMENTS

    def count(self, chunk: bytes) -> None:
        """Add to what has been read. Raises when that comes to too much."""
        self.read_so_far += len(chunk)
        self.elements += chunk.count(b"<") - chunk.count(b"</")
        if self.elements > self.elements_allowed:
            raise _TooMuch("holds a million and more elements that are no cells")
        if self.read_so_far > self.allowed:
            raise _TooMuch(f"unpacks to more than {self.allowed // 1_000_000:,} MB")

    def _refuse_document_types(self, name: str) -> None:
        """Look at a part's beginning, up to its first element: a document type can stand nowhere else."""
        parser = expat.ParserCreate()
        parser.StartDoctypeDeclHandler = _declared
        parser.StartElementHandler = _begun
        with super().open(name) as part:
            try:
                for chunk in iter(lambda: part.read(4_096), b""):
                    parser.Parse(chunk, False)
                    if part.tell() > _PROLOG:
                        break
            except _Begun:
                return
            except _Declared:
                raise _TooMuch(f"declares a document type in {name[:60]!r}, as no workbook does") from None
            except expat.ExpatError as fault:
                raise ValueError(f"{name[:60]}: {fault}") from None
        raise ValueError(f"{name[:60]} holds no XML")


class _Declared(Exception):
    """A document type is declared."""


class _Begun(Exception):
    """The first element begins."""


def _declared(*_: object) -> None:
    raise _Declared


def _begun(*_: object) -> None:
    raise _Begun


class _Counted:
    """A part being read, in pieces of a size asked for or, without one, whole."""

    def __init__(self, part: Any, package: Package) -> None:
        self._part, self._package = part, package

    def read(self, size: int | None = -1) -> bytes:
        if size is not None and size >= 0:
            chunk: bytes = self._part.read(size)
            self._package.count(chunk)
            return chunk
        pieces, length = [], 0
        for piece in iter(lambda: self.read(65_536), b""):
            pieces.append(piece)
            length += len(piece)
            if length > LARGEST_WHOLE:
                raise _TooMuch(
                    f"holds {self._part.name[:60]!r}, which unpacks to more than {LARGEST_WHOLE:,} bytes"
                )
        content = b"".join(pieces)
        if content.count(b"<") - content.count(b"</") > MOST_ELEMENTS_WHOLE:
            raise _TooMuch(f"holds {self._part.name[:60]!r} of more than {MOST_ELEMENTS_WHOLE:,} elements")
        return content

    def close(self) -> None:
        self._part.close()
        self._package.done_with(self)

    def __enter__(self) -> _Counted:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


@contextmanager
def faults_told(path: Path, mend: str = SAVE_AS) -> Iterator[None]:
    """Every way in which a package can be broken, or too much, raised as BadInput. `mend` is for what is too much."""
    from openpyxl.utils.exceptions import InvalidFileException

    try:
        if path.is_file() and path.stat().st_size > LARGEST_FILE:
            raise BadInput([Problem(path.name, f"is larger than {LARGEST_FILE // 1_000_000} MB", mend)])
        with warnings.catch_warnings():
            # The library warns of styles and validations it drops; values are all that is read.
            warnings.simplefilter("ignore")
            yield
    except Unfit as fault:
        raise BadInput([Problem(path.name, str(fault), mend)]) from None
    except zipfile.BadZipFile as fault:
        raise BadInput([_what_it_is(path, fault)]) from None
    # What the library raises on parts that are no XML, or XML of another kind: it checks little by itself.
    except (
        InvalidFileException, LookupError, ValueError, TypeError, AttributeError, SyntaxError, ArithmeticError, RuntimeError,
        EOFError, zlib.error, struct.error,
    ) as fault:  # fmt: skip
        said = str(fault).splitlines()[0][:200] if str(fault) else type(fault).__name__
        raise BadInput(
            [Problem(path.name, f"is not a readable .xlsx workbook ({said})", _mend(path))]
        ) from None
    except OSError as fault:
        # The library's own word for a package without a workbook.
        if fault.filename is None and fault.errno is None:
            raise BadInput(
                [Problem(path.name, f"is not a readable .xlsx workbook ({fault})", _mend(path))]
            ) from None
        what = f"can't be read: {fault.strerror or fault}"
        raise BadInput(
            [Problem(str(path), what, "check that the file may be read and is not locked by another program")]
        ) from None


def open_book(path: Path) -> Any:
    """The library's workbook over a package: sheets read when asked for, values only, nothing followed. Close it.

    To be called, and its sheets to be read, within `faults_told`.
    """
    from openpyxl.reader.excel import ExcelReader

    package = Package(path)
    try:
        reader = ExcelReader(path, read_only=True, data_only=True, keep_links=False)
        reader.archive.close()
        reader.archive = package
        # Charts and pictures on sheets of their own would be taken in whole.
        reader.read_chartsheet = lambda *_: None
        reader.read()
        # The library leaves out sheets whose part is missing, so that another would be read in their place.
        for sheet, part in reader.parser.find_sheets():
            if part.target not in reader.valid_files:
                raise _TooMuch(f"lists the sheet {str(sheet.name)[:40]!r}, which is missing in it")
        if not reader.wb.worksheets:
            raise _TooMuch("holds no sheet of cells")
    except BaseException:
        package.close()
        raise
    package.begin_sheets()
    return reader.wb


def rows_of(page: Any) -> Iterator[tuple[Any, ...]]:
    """The rows of a sheet from the top, each as wide as its last cell, whatever extent the sheet states.

    Cells beyond MOST_COLUMNS may be there, as some programs dress a whole row, but hold nothing. Rows that are left out, as
    empty ones may be, are empty. A row or cell that states a place not below or right of the one before it is refused: which
    of the two holds can't be told.
    """
    package, cells = page.parent._archive, 0
    for number, row in enumerate(placed(page), 1):
        cells += len(row)
        package.elements_allowed += ELEMENTS_A_ROW + ELEMENTS_A_VALUE * (len(row) - row.count(None))
        if number > MOST_ROWS:
            raise _TooMuch(f"has more than {MOST_ROWS:,} rows on the sheet {page.title[:40]!r}")
        if cells > MOST_CELLS:
            raise _TooMuch(f"has more than {MOST_CELLS:,} cells on the sheet {page.title[:40]!r}")
        if len(row) > MOST_COLUMNS:
            if set(row[MOST_COLUMNS:]) != {None}:
                raise _TooMuch(
                    f"has more than {MOST_COLUMNS:,} cells in row {number:,} on the sheet {page.title[:40]!r}"
                )
            row = row[:MOST_COLUMNS]
        yield row


def unread(path: Path) -> str:
    """What a workbook holds that is neither run nor followed nor read, as a sentence; "" where it holds nothing of the kind.

    Raises BadInput where the package can't be opened.
    """
    with faults_told(path), Package(path) as package:
        names = package.namelist()
        kinds = package.read(_TYPES).decode("latin-1") if _TYPES in names else ""
        known = (" ".join(names) + kinds).lower()
        found = [what for what, signs in _BESIDE if any(sign in known for sign in signs)]
        hidden = _BOOK in names and _HIDDEN.search(package.read(_BOOK))
    if not found and not hidden:
        return ""
    listed = [*found, *(["hidden sheets"] if hidden else [])]
    told = ", ".join(listed[:-1]) + (" and " if len(listed) > 1 else "") + listed[-1]
    end = "They are not run or followed, and are not in what is written."
    if hidden:
        end += " A hidden sheet is read only where it is one that this program reads."
    return f"{path.name} holds {told}. {end}"


def _what_it_is(path: Path, fault: Exception) -> Problem:
    """What a file is that isn't a package, from its beginning."""
    content = read_whole(path, LARGEST_FILE)
    if content.startswith(_OLD_KIND):
        if "EncryptedPackage".encode("utf-16-le") in content:
            what, mend = (
                "it is locked by a password",
                "open it in a spreadsheet program and save it without one",
            )
        else:
            what, mend = "it is a workbook of the old kind, .xls", SAVE_AS
    elif b"\0" in content[:4_096] or content.startswith(b"PK") or not content:
        what, mend = f"{fault}" if content else "it is empty", SAVE_AS
    elif content.lstrip()[:1] == b"<":
        what, mend = "it is a web page or XML", SAVE_AS
    else:
        what, mend = "it is a text file", "let its name end in .csv if it is one, or save it as .xlsx"
    return Problem(path.name, f"is not a readable .xlsx workbook: {what}", mend)


def _mend(path: Path) -> str:
    """How to mend a package that opens but is no workbook of this kind."""
    try:
        with Package(path) as package:
            names = package.namelist()
            kind = package.infolist()[0].filename == "mimetype" if names else False
    except (OSError, _TooMuch, zipfile.BadZipFile, NotImplementedError):
        return SAVE_AS
    if kind or "META-INF/manifest.xml" in names:
        return "it looks like an OpenDocument file (.ods): " + SAVE_AS
    if "xl/workbook.bin" in names:
        return "it is a binary workbook (.xlsb): " + SAVE_AS
    return SAVE_AS


__all__ = ["Package", "faults_told", "open_book", "rows_of", "unread"]
