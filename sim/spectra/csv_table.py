"""Two-column text tables: wavelength and value."""

import math
import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from sim.spectra.arrays import FloatArray

_BY_COMMA, _BY_OTHERS = re.compile(r"\s*,\s*"), re.compile(r"\s*[;\t]\s*")
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)")
_PLAUSIBLE_NM = (100.0, 100_000.0)


def read_csv_table(path: str | Path) -> tuple[FloatArray, FloatArray]:
    """Return the two columns of a text table of a non-negative function of wavelength.

    Parameters
    ----------
    path : str or Path
        A UTF-8 file. Columns are separated by a semicolon or tab, and then a comma may stand before decimals; or by a
        comma, or by spaces where there is none of these. Fields may stand in double quotes; blank lines and lines that
        start with "#" are skipped; one header line may come first, none of whose columns is a number.

    Returns
    -------
    wavelength_nm : (m,) float, increasing [nm]
    value : (m,) float, >= 0

    Raises
    ------
    ValueError
        With file and line, if a row is not two numbers, a value is negative or not finite, wavelengths do not
        increase or cannot be nanometres; with the file, if there are fewer than two rows.
    OSError
        If the file cannot be read.
    """
    path = Path(path)
    rows: list[tuple[float, float]] = []
    for number, fields in _rows(path):
        try:
            rows.append(_row(fields, rows[-1][0] if rows else None))
        except ValueError as error:
            raise ValueError(f"{path}:{number}: {error}") from None
    if len(rows) < 2:
        raise ValueError(f"{path}: a spectrum needs at least two rows of wavelength_nm, value; found {len(rows)}")
    table = np.array(rows, dtype=np.float64)
    return table[:, 0].copy(), table[:, 1].copy()


def _rows(path: Path) -> Iterator[tuple[int, list[str]]]:
    """Yield line number and fields of every row that should hold numbers."""
    try:
        lines = path.read_text(encoding="utf-8-sig").splitlines()
    except UnicodeDecodeError:
        raise ValueError(f"{path}: not a UTF-8 text file; save the table as CSV in UTF-8") from None
    may_be_header = True
    for number, line in enumerate(lines, start=1):
        text = line.partition("#")[0].strip()
        if not text:
            continue
        fields = _fields(text)
        if not (may_be_header and not any(_is_number(field) for field in fields)):
            yield number, fields
        may_be_header = False


def _fields(text: str) -> list[str]:
    if _BY_OTHERS.search(text):
        # Where something else parts the columns, a comma parts decimals, as in half of the world's spreadsheets.
        fields = [_DECIMAL_COMMA.sub(".", field) for field in _BY_OTHERS.split(text)]
    else:
        fields = _BY_COMMA.split(text) if "," in text else text.split()
    return [field[1:-1] if len(field) > 1 and field[0] == field[-1] == '"' else field for field in fields]


def _is_number(field: str) -> bool:
    """Tell whether a field reads as a number, NaN and infinity included."""
    try:
        float(field)
    except ValueError:
        return False
    return True


def _row(fields: list[str], previous_nm: float | None) -> tuple[float, float]:
    """Return the two numbers of a row; the ValueError says what is wrong, without the place."""
    if len(fields) != 2:
        raise ValueError(
            f"a row has two columns, wavelength_nm and value; found {len(fields)}; "
            "where a comma parts them, decimals stand after a point"
        )
    for field in fields:
        if not _is_number(field):
            raise ValueError(f"{field!r} is not a number (write it with a decimal point)")
    wavelength, value = float(fields[0]), float(fields[1])
    if not (math.isfinite(wavelength) and math.isfinite(value)):
        raise ValueError("NaN or infinity; leave the row out or give a number")
    low, high = _PLAUSIBLE_NM
    if not low <= wavelength <= high:
        raise ValueError(f"wavelength {wavelength:g} is not between {low:g} and {high:g}; give nanometres")
    if value < 0:
        raise ValueError(f"value {value:g} is negative; clip a measured spectrum at zero")
    if previous_nm is not None and wavelength <= previous_nm:
        message = f"wavelength {wavelength:g} is not above the one before it, {previous_nm:g}"
        raise ValueError(f"{message}; sort the rows, each wavelength once")
    return wavelength, value
