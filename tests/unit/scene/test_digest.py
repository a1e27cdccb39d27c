from pathlib import Path

from sim.scene.animal import Animal
from sim.scene.digest import digest_of


def test_order_of_keys_and_kind_of_sequence_do_not_count() -> None:
    assert digest_of({"a": 1, "b": (2, 3)}) == digest_of({"b": [2, 3], "a": 1})


def test_order_of_entries_and_all_else_count() -> None:
    digests = {digest_of(value) for value in ([1, 2], [2, 1], [1, 2.5], ["1", 2], None, {}, [], Animal())}
    assert len(digests) == 8


def test_rounding_of_units_does_not_count() -> None:
    assert 35 * 0.01 != 0.35
    assert digest_of(35 * 0.01) == digest_of(0.35)
    assert digest_of(0.35) != digest_of(0.35 + 1e-9)
    assert digest_of(-0.0) == digest_of(0.0)


def test_a_file_counts_by_its_content(tmp_path: Path) -> None:
    one, two = tmp_path / "one", tmp_path / "two"
    one.write_text("a")
    two.write_text("a")
    assert digest_of(one) == digest_of(two)
    two.write_text("b")
    assert digest_of(one) != digest_of(two)
