"""Action spectra against the numbers of their standards."""

import numpy as np
import pytest

from sim.spectra.weighting import WEIGHTINGS

# CIE S 007/E:1998 = ISO/CIE 17166:2019, evaluated by hand from the published branches.
ERYTHEMA = {
    298: 1.0,
    300: 0.6486344,
    305: 0.2197860,
    310: 0.07447320,
    313: 0.03890451,
    315: 0.02523481,
    320: 8.550667e-3,
    325: 2.897344e-3,
    328: 1.513561e-3,
    340: 1.000000e-3,
    350: 7.079458e-4,
    365: 4.216965e-4,
    400: 1.258925e-4,
}
# McKinlay & Diffey, CIE Research Note 6 (1987) 17-22.
ERYTHEMA_1987 = {340: 9.660509e-4, 400: 1.216186e-4}
# CIE 174:2006, table.
PREVITAMIN_D3 = {
    280: 0.474,
    290: 0.878,
    295: 0.983,
    298: 1.000,
    300: 0.951,
    305: 0.634,
    310: 0.220,
    315: 0.034,
    320: 4.36e-3,
    330: 7.8e-5,
}
# ICNIRP, Health Phys. 87 (2004) 171-186, eq. 2a-2c, evaluated by hand; not the table of IEC 62471.
ACTINIC_FIT = {280: 0.8845, 295: 0.4809, 297: 0.4111, 300: 0.3000, 305: 0.0659, 310: 0.01488, 315: 0.00376}


@pytest.mark.parametrize(
    ("name", "expected", "tolerance"),
    [
        ("erythema", ERYTHEMA, 1e-6),
        ("uvi", ERYTHEMA, 1e-6),
        ("erythema-1987", ERYTHEMA_1987, 1e-6),
        ("previtamin-d3", PREVITAMIN_D3, 1e-12),
        ("actinic", ACTINIC_FIT, 2e-3),
    ],
)
def test_weights_are_those_of_the_standard(name: str, expected: dict[float, float], tolerance: float) -> None:
    weights = WEIGHTINGS[name](list(expected))
    assert weights == pytest.approx(list(expected.values()), rel=tolerance)


def test_erythema_is_one_from_250_to_298_nm_and_zero_outside_250_to_400_nm() -> None:
    weights = WEIGHTINGS["erythema"]([249.9, 250.0, 270.0, 298.0, 400.1])
    assert weights.tolist() == [0.0, 1.0, 1.0, 1.0, 0.0]


def test_only_the_constant_140_is_continuous_at_328_nm() -> None:
    # Webb et al., Photochem. Photobiol. 87 (2011) 483-486: 139 leaves a step of -3.39 %.
    around = [328.0, np.nextafter(328.0, 329.0)]
    below, above = WEIGHTINGS["erythema"](around)
    assert above == pytest.approx(below, rel=1e-9)
    below, above = WEIGHTINGS["erythema-1987"](around)
    assert above / below - 1 == pytest.approx(-0.0339, abs=5e-5)


def test_actinic_fit_leaves_the_table_where_its_source_line_says() -> None:
    # Table of IEC 62471:2006, quoted from memory: 295 nm 0.54, 297 nm 0.46, 315 nm 0.003, 320 nm 0.0010.
    ratios = WEIGHTINGS["actinic"]([295.0, 297.0, 315.0, 320.0]) / [0.54, 0.46, 0.003, 0.0010]
    assert ratios == pytest.approx([0.89, 0.89, 1.25, 1.26], abs=0.006)
    assert "11 % low at 295-297 nm" in WEIGHTINGS["actinic"].source
    assert "25 % high at 315-320 nm" in WEIGHTINGS["actinic"].source


def test_previtamin_d3_is_tabulated_every_nanometre_and_linear_between() -> None:
    weighting = WEIGHTINGS["previtamin-d3"]
    assert weighting.breakpoints_nm == tuple(float(at) for at in range(252, 331))
    assert weighting([310.5])[0] == pytest.approx((0.220 + 0.156) / 2, rel=1e-12)
