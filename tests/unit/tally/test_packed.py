"""Packed irradiance comes back to the last bit, in less room, and damage to it is told."""

from pathlib import Path

import numpy as np
import pytest

from sim.tally import result as stored
from sim.tally.packed import pack, unpack
from sim.tally.result import ResultError, load_result
from tests.support.synthetic_result import terrarium


def test_any_values_come_back_to_the_last_bit() -> None:
    rng = np.random.Generator(np.random.Philox(5))
    values = rng.standard_normal((4, 7, 2, 5)).astype(np.float32) * np.float32(10.0) ** rng.integers(
        -44, 38, (4, 7, 2, 5)
    )
    values = values.astype(np.float32)
    values[:, 3] = 0.0
    values[1, :, 1] = 0.0
    values[..., 2] = 0.0
    assert np.array_equal(values.view(np.int32), unpack(pack(values)).view(np.int32))
    assert unpack(pack(values[..., :1])).shape == (4, 7, 2, 1)


def test_a_large_result_takes_a_fraction_of_the_room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    result, plain, packed = terrarium(replicates=8), tmp_path / "plain.npz", tmp_path / "packed.npz"
    result.save(plain)
    monkeypatch.setattr(stored, "PACKED_FROM", 1)
    result.save(packed)
    assert 0.5 * plain.stat().st_size > packed.stat().st_size
    back = load_result(packed)
    assert np.array_equal(result.irradiance, back.irradiance)
    assert result.groups == back.groups


def test_a_damaged_piece_is_refused_in_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stored, "PACKED_FROM", 1)
    path = tmp_path / "result.npz"
    terrarium(replicates=4).save(path)
    with np.load(path) as arrays:
        kept = {key: arrays[key] for key in arrays.files}
    kept["irradiance/pieces"] = kept["irradiance/pieces"][::-1]
    np.savez(path, allow_pickle=False, **kept)
    with pytest.raises(ResultError, match="not a result file"):
        load_result(path)


def test_results_of_the_format_before_are_read(tmp_path: Path) -> None:
    path = tmp_path / "result.npz"
    terrarium(replicates=4).save(path)
    with np.load(path) as arrays:
        kept = {key: arrays[key] for key in arrays.files if key != "energy/samples"}
    kept["header"] = np.array(str(kept["header"]).replace('"format": 2', '"format": 1'))
    np.savez(path, allow_pickle=False, **kept)
    back = load_result(path)
    assert (back.meta.format, back.energy.samples) == (1, None)
