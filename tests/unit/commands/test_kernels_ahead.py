"""Which programs compile which kernels beside a first run."""

import pytest

from sim.commands.kernels_ahead import OF_CARD, OF_CARD_WITH_SECTIONS, OF_FIXTURE, OF_RUN, _shares


@pytest.mark.parametrize("last", [OF_RUN, OF_FIXTURE, OF_CARD, OF_CARD_WITH_SECTIONS])
def test_one_program_alone_leaves_the_kernel_that_is_needed_first_to_the_command(last: tuple[str, ...]) -> None:
    (share,) = _shares(last, 1)
    assert list(share) == list(reversed(last[:-1]))


@pytest.mark.parametrize("last", [OF_RUN, OF_FIXTURE])
@pytest.mark.parametrize("programs", [0, 2, 3, 7])
def test_several_programs_take_one_kernel_each(last: tuple[str, ...], programs: int) -> None:
    shares = _shares(last, programs)
    assert [list(share) for share in shares] == [[kernel] for kernel in last[:programs]]
