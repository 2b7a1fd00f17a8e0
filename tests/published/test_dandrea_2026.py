"""D. D'Andrea et al., Procedia Structural Integrity 76, 2026, sect. 3.2: laser-sintered polyamide 12.

Largest stress at 1e6 cycles: 29.3 MPa along the layers at ratio 0.1, 16.8 MPa along Z at ratio 0 (told after another group).
Mapping: the first is a point of the curve, brought to ratio −1 by modified Goodman with the catalogue's strength, here by
hand, so the row sees that step, strength and interpolation, not the material; the second lies in the band across layers,
which joins it with another laboratory's finding that the limit does not hang on the direction.
"""

from __future__ import annotations

from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case
from lobewright.published.designs import belt_drive
from lobewright.published.material_cases import ROOM_K
from lobewright.strength.coupon import reversed_amplitude
from lobewright.strength.material import Direction
from lobewright.strength.material_data import strength_data


@every_row("dandrea_2026")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_pieces_built_upright_lie_in_the_band_across_layers() -> None:
    data = strength_data(belt_drive("T5", 60), "pa12_powder_bed", Direction.ACROSS_LAYERS, ROOM_K)
    upright = reversed_amplitude(8.4, 0.0, data.ultimate_mpa.middle)
    middle = float(data.curve.amplitude_mpa[1])
    assert data.curve.cycles[1] == 1e6
    assert middle / data.curve.spread < upright < middle
