"""Spectra in text files: what is read, and one clear line for what is not."""

from pathlib import Path

import pytest

from sim.spectra.spectrum import Spectrum


def written(folder: Path, text: str) -> Path:
    path = folder / "lamp.csv"
    path.write_bytes(text.encode("utf-8"))
    return path


@pytest.mark.parametrize(
    "text",
    [
        "300,1\n305,2\n310,0\n",
        "wavelength_nm,value\n300,1\n305,2\n310,0",
        "# a lamp\n\nwavelength_nm , value\n300 , 1 # start\n  305, 2.0\n310, 0e0\n",
        "\ufeffwavelength_nm;value\r\n300;1\r\n305;2\r\n310;0\r\n",
        "nm\tW\n300\t1\n305\t2\n310\t0\n",
        "300 1\n305   2\n310 0\n",
        "Wavelength (nm), Irradiance at 30 cm (W/m2/nm)\n300, 1\n305, 2\n310, 0\n",
        "wavelength power\n300 1\n305 2\n310 0\n",
        "nm;µW\n300;1,0\n305,00;2,0\n310;0,000\n",
        '"nm","W"\n"300","1"\n"305","2"\n"310","0"\n',
    ],
)
def test_a_table_is_read_whatever_its_dress(tmp_path: Path, text: str) -> None:
    spectrum = Spectrum.read_csv(written(tmp_path, text))
    assert (300.0, 310.0) == (spectrum.wavelength_nm[0], spectrum.wavelength_nm[-1])
    assert spectrum.density_at([300.0, 305.0]).tolist() == [1.0, 2.0]
    assert (0.0, 2.0) == (spectrum.density[-1], spectrum.density.max())


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("a,b\n300,1\n305,nan\n", r"lamp\.csv:3: NaN or infinity"),
        ("300,1\n305,inf\n", r"lamp\.csv:2: NaN or infinity"),
        ("300,1\n305,-0.5\n", r"lamp\.csv:2: value -0\.5 is negative"),
        ("# x\n300,1\n300,2\n", r"lamp\.csv:3: wavelength 300 is not above the one before it, 300"),
        ("300,1\n299,2\n", r"lamp\.csv:2: wavelength 299 is not above"),
        ("300,1\n305,high\n", r"lamp\.csv:2: 'high' is not a number"),
        ("3OO,1\n305,2\n310,2\n", r"lamp\.csv:1: '3OO' is not a number"),
        ("a,b\nc,d\n300,1\n", r"lamp\.csv:2: 'c' is not a number"),
        ("300,0,5\n305,0,7\n", r"lamp\.csv:1: a row has two columns, .*; found 3; .* decimals stand after a point"),
        ("300;1.000,5\n305;0,7\n", r"lamp\.csv:1: '1\.000\.5' is not a number"),
        ("300 0,5\n305 0,7\n", r"lamp\.csv:1: '300 0' is not a number \(write it with a decimal point\)"),
        ("300\n305\n", r"lamp\.csv:1: a row has two columns, .*; found 1"),
        ("0.300,1\n0.305,2\n", r"lamp\.csv:1: wavelength 0\.3 is not between .* give nanometres"),
        ("a,b\n300,1\n", r"lamp\.csv: a spectrum needs at least two rows .*; found 1"),
        ("", r"lamp\.csv: a spectrum needs at least two rows .*; found 0"),
    ],
)
def test_a_fault_is_named_with_its_line(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        Spectrum.read_csv(written(tmp_path, text))


def test_a_file_that_is_no_text_is_named(tmp_path: Path) -> None:
    path = tmp_path / "lamp.csv"
    path.write_bytes(b"\xff\xfe3\x000\x000\x00")
    with pytest.raises(ValueError, match=r"lamp\.csv: not a UTF-8 text file"):
        Spectrum.read_csv(path)


def test_a_missing_file_is_an_os_error(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError, match="nowhere"):
        Spectrum.read_csv(tmp_path / "nowhere.csv")
