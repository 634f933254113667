"""What a material or film is good for, in a line: its use, its class by the code, and how it takes up water."""

import pytest
from drydown.plugins import materials
from drydown.wording.trade import good_for


def test_every_entry_has_a_line_in_both_units():
    for name in materials():
        entry = materials().get(name)
        for system in ("SI", "US"):
            line = good_for(entry, system)
            assert 5 < len(line) < 170, (name, line)
            assert "e-" not in line and "nan" not in line, (name, line)


@pytest.mark.parametrize(
    ("name", "said"),
    [  # International Residential Code, table R702.7(1): polyethylene I, kraft facing II, latex paint III (from memory)
        ("polyethylene 0.15 mm", "class I: next to no vapour passes"),
        ("kraft paper facing", "class II: little vapour passes"),
        ("latex paint", "class III: some vapour passes"),
        ("diffusion-open underlay", "open to vapour"),
        ("clay brick", "takes up water fast"),
        ("steel sheet", "no vapour passes; takes up no water"),
        ("mineral wool", "0.036 W/(m K)"),
    ],
)
def test_what_is_said(name, said):
    assert said in good_for(materials().get(name), "SI")


def test_perms_for_those_who_think_in_them():
    assert "perm" in good_for(materials().get("latex paint"), "US")
    assert "sd" not in good_for(materials().get("latex paint"), "US")
