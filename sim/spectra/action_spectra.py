"""Published action spectra as formulas."""

import numpy as np

from sim.spectra.arrays import FloatArray


def erythema(wavelength_nm: FloatArray, constant_nm: float = 140.0) -> FloatArray:
    """Return the erythema action spectrum between 250 and 400 nm.

    Parameters
    ----------
    wavelength_nm : (n,) float [nm]
    constant_nm : float [nm]
        140 in CIE S 007/E:1998 and ISO/CIE 17166:2019, continuous at 328 nm; 139 in the paper of 1987.

    References
    ----------
    .. [1] CIE S 007/E:1998 = ISO/CIE 17166:2019, Erythema reference action spectrum and standard erythema
       dose.
    .. [2] A. R. Webb et al., Photochem. Photobiol. 87 (2011) 483-486, on the two constants.
    """
    uvb = 10 ** (0.094 * (298.0 - wavelength_nm))
    uva = 10 ** (0.015 * (constant_nm - wavelength_nm))
    return np.where(wavelength_nm <= 298.0, 1.0, np.where(wavelength_nm <= 328.0, uvb, uva))


def actinic(wavelength_nm: FloatArray) -> FloatArray:
    """Return the published fit to the actinic hazard S(wavelength) between 210 and 400 nm.

    Notes
    -----
    The limits are set on the table of IEC 62471:2006. Against that table (as remembered, not read again) the
    fit is 11 % low at 295 to 297 nm and 25 % high at 315 to 320 nm.

    References
    ----------
    .. [1] ICNIRP, Guidelines on limits of exposure to ultraviolet radiation, Health Phys. 87 (2004) 171-186,
       equations 2a to 2c.
    """
    short = 0.959 ** (270.0 - wavelength_nm)
    # Below 270 nm this branch is not used; the maximum keeps its root real there.
    middle = 1 - 0.36 * (np.maximum(wavelength_nm - 270.0, 0.0) / 20) ** 1.64
    long = 0.3 * 0.736 ** (wavelength_nm - 300.0) + 10 ** (2 - 0.0163 * wavelength_nm)
    return np.where(wavelength_nm <= 270.0, short, np.where(wavelength_nm <= 300.0, middle, long))
