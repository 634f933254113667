"""The contract, in one line."""

from drydown.testing import check_catalogue
from estuary_materials import catalogue


def test_catalogue():
    check_catalogue(catalogue())
