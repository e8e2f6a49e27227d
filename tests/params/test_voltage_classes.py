"""Classes of highest voltage for equipment (IEC 60071-1 and IEC 60502-2, from memory, to be checked)."""

from itertools import pairwise

import pytest

from sim.params.voltage_classes import CLASSES_KV, find_class


# nominal voltages and the highest voltage for equipment they are built with (IEC 60038, from memory, to be checked)
@pytest.mark.parametrize("nominal, highest", [(3.3, 3.6), (6.6, 7.2), (11.0, 12.0), (15.0, 17.5), (22.0, 24.0),
                                              (33.0, 36.0), (66.0, 72.5), (110.0, 123.0), (132.0, 145.0),
                                              (220.0, 245.0), (400.0, 420.0)])
def test_class_of_a_nominal_voltage(nominal, highest):
    assert find_class(nominal) == highest and find_class(highest) == highest


def test_classes_ascend_and_beyond_them_the_voltage_is_its_own():
    assert all(low < high for low, high in pairwise(CLASSES_KV))
    assert find_class(900.0) == 900.0
