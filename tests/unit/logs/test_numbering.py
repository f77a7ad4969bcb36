"""Ring numbers by the chain of cycles, the keyed number and the chainage."""

import numpy as np

from tunnelwright.logs.context import RecordContext
from tunnelwright.logs.numbering import numbered

NAN = float("nan")
CONTEXT = RecordContext(ring_length_m=1.5, first_ring_number=41)


def _numbered(keyed: list[float], chainage_m: list[float] | None = None):
    return numbered(np.array(keyed), np.full(len(keyed), NAN) if chainage_m is None else np.array(chainage_m), CONTEXT)


def test_slips_of_a_finger() -> None:
    # R11 of the method page.
    found = _numbered([41, 42, 42, 44, 45, 64, 47])
    assert found.ring_number.tolist() == [41, 42, 43, 44, 45, 46, 47]
    assert np.flatnonzero(found.corrected).tolist() == [2, 5]
    assert not found.conflict.any()


def test_rings_that_ran_unseen_need_number_and_chainage() -> None:
    chainage = [100.0 + 1.5 * at for at in (0, 1, 2, 6, 7, 8)]
    both = _numbered([41, 42, 43, 47, 48, 49], chainage)
    assert both.ring_number.tolist() == [41, 42, 43, 47, 48, 49]
    assert both.missing == [44, 45, 46]
    keyed_only = _numbered([41, 42, 43, 47, 48, 49], [100.0 + 1.5 * at for at in range(6)])
    assert keyed_only.missing == []
    assert keyed_only.conflict.sum() == 3


def test_a_frozen_number_against_the_chain() -> None:
    found = _numbered([41, 42, 43, 43, 43, 43, 43], [100.0 + 1.5 * at for at in range(7)])
    assert found.ring_number.tolist() == [41, 42, 43, 44, 45, 46, 47]
    assert found.corrected[3:].all()


def test_nobody_keyed_anything() -> None:
    found = _numbered([NAN] * 4, [100.0, 101.5, 106.0, 107.5])
    assert found.ring_number.tolist() == [41, 42, 45, 46]
    assert found.missing == [43, 44]


def test_no_cycle_at_all() -> None:
    assert _numbered([]).ring_number.tolist() == []
